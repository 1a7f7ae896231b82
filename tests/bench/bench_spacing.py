"""How fast the spacing check is, against shapely's pairwise distances and against the number of turns."""

import time
from functools import partial

import numpy as np
import shapely
from rich.console import Console
from rich.table import Table

from coilgen.artwork.art import Art
from coilgen.artwork.copper_pieces import copper
from coilgen.artwork.gaps import unjoined_gaps
from coilgen.catalogue import specimens
from coilgen.design.reading import read_text
from coilgen.geometry.arc import Arc
from coilgen.job import draw

SHAPES = ("round", "square", "hexagonal")
TURNS = (10, 20, 40, 80, 160)
SAGITTA = 1e-6  # m: chords a thousand times coarser than our nanometre, in shapely's favour
LIMIT = 0.15e-3


def board(shape: str, layers: int, turns: int):
    outer = 12 + 0.6 * turns
    text = f"""
        name = "bench"
        [winding]
        shape = "{shape}"
        layers = {layers}
        turns = {turns}
        trace_width = "0.15 mm"
        trace_spacing = "0.15 mm"
        outer_size = "{outer} mm"
    """
    design = read_text(text)
    return (design, *draw(design))


def fastest(job, repeats: int = 5) -> float:
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return min(times)


def check(art: Art, reach: float):
    return unjoined_gaps(copper(art), reach)


def chords(segment):
    count = 1
    if isinstance(segment, Arc):
        count = max(1, int(np.ceil(abs(segment.sweep) / np.sqrt(8 * SAGITTA / segment.radius))))
    points = [segment.at(k / count) for k in range(count + 1)]
    return shapely.LineString([(point.real, point.imag) for point in points])


def layer_shapes(art: Art, stroked: bool):
    for layer in range(1, art.copper_layers + 1):
        lines = [(chords(s), t.width / 2) for t in art.traces_on(layer) for s in t.path.segments]
        discs = [(shapely.Point(pad.at.real, pad.at.imag), pad.diameter / 2) for pad in art.pads_on(layer)]
        if stroked:
            yield np.array([shape.buffer(half) for shape, half in lines + discs])
        else:
            yield np.array([shape for shape, _ in lines + discs])


def pairwise(layers, most: int) -> float:
    """Seconds for all pairs of all layers; of more than `most` a layer a sample is timed and scaled."""
    seconds = 0.0
    for shapes in layers:
        first, second = np.triu_indices(len(shapes), 1)
        step = max(1, len(first) // most)
        start = time.perf_counter()
        shapely.distance(shapes[first[::step]], shapes[second[::step]])
        seconds += (time.perf_counter() - start) * len(first) / len(first[::step])
    return seconds


def found(rule, case):
    return list(rule.check(*case))


def against_shapely() -> Table:
    table = Table(title="8 layers of 60 turns: the check, and shapely.distance over all pairs of a layer")
    for heading in ("shape", "pieces", "ms", "ms at twice the limit", "centre lines", "outlines"):
        table.add_column(heading, justify="right")
    for shape in SHAPES:
        _, _, art = board(shape, 8, 60)
        own = fastest(partial(check, art, LIMIT - 1e-9))
        wide = fastest(partial(check, art, 2 * LIMIT))
        lines = pairwise(layer_shapes(art, stroked=False), 30_000 if shape == "square" else 3_000)
        outlines = pairwise(layer_shapes(art, stroked=True), 3_000)
        table.add_row(
            shape,
            str(sum(len(trace.path.segments) for trace in art.traces) + len(art.pads)),
            f"{own * 1e3:.1f}",
            f"{wide * 1e3:.1f}",
            f"{lines * 1e3:.0f} ms = {lines / own:.0f} x",
            f"{outlines * 1e3:.0f} ms = {outlines / own:.0f} x",
        )
    return table


def growth() -> Table:
    table = Table(title="2 layers: spacing check against turns, ms at the limit / at twice the limit")
    for heading in ("turns", *SHAPES):
        table.add_column(heading, justify="right")
    for turns in TURNS:
        cells = []
        for shape in SHAPES:
            _, _, art = board(shape, 2, turns)
            times = [fastest(partial(check, art, reach)) for reach in (LIMIT - 1e-9, 2 * LIMIT)]
            cells.append(" / ".join(f"{seconds * 1e3:.2f}" for seconds in times))
        table.add_row(str(turns), *cells)
    return table


def all_rules() -> Table:
    table = Table(title="8 layers of 40 turns: every rule")
    for heading in ("shape", "ms", "slowest"):
        table.add_column(heading, justify="right")
    for shape in SHAPES:
        case = board(shape, 8, 40)
        rules = specimens("coilgen.rules", "RULE")
        times = {name: fastest(partial(found, rule, case)) for name, rule in rules.items()}
        slowest = max(times, key=times.get)
        table.add_row(shape, f"{sum(times.values()) * 1e3:.1f}", f"{slowest} {times[slowest] * 1e3:.1f}")
    return table


if __name__ == "__main__":
    for table in (against_shapely(), growth(), all_rules()):
        Console().print(table)
