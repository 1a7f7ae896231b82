"""Small results made by hand, for every export to write."""

import math
import sys
from collections.abc import Iterator
from pathlib import Path as FilePath

import pytest

from coilgen.artwork.art import Art, Hole, Opening, Pad, Stroke
from coilgen.design.design import Design
from coilgen.geometry.arc import Arc
from coilgen.geometry.closed import circle, rectangle, regular_polygon
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.lettering import lettering
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path, joined
from coilgen.geometry.point import direction
from coilgen.layout.coil import Coil, Terminal, Trace, Via
from coilgen.result.figure import Figure
from coilgen.result.result import Result

sys.path.insert(0, str(FilePath(__file__).parent))

WIDTH, PITCH, OUTER, TURNS = 0.2e-3, 0.4e-3, 5e-3, 3
DESIGNS = {
    "optical-shutter": {"layers": 2, "stackup": "rigid-2-layer-1.6mm"},
    "drawer-latch": {"layers": 4, "stackup": "rigid-4-layer-1.6mm"},
    "stator-pole": {"layers": 1, "stackup": "flex-1-layer"},
}
BOARDS = {
    1: {"outline": "round", "size": 24},
    2: {"outline": "round", "size": 24},
    4: {"outline": "rectangle", "width": 26, "height": 24, "corner_radius": 2},
}
POCKETS = {
    2: {"size": 3},
    4: {"shape": "hexagonal", "size": 3, "corner_radius": 0.5},
}


def spiral(quarters: int = 0, mirrored: bool = False) -> Path:
    """Tangent quarter arcs from (OUTER, 0) inwards, counter-clockwise; mirrored about y and then turned."""
    return Path(tuple(_quarter_arcs())).moved(Isometry(mirrored=mirrored, quarters=quarters))


def _quarter_arcs() -> Iterator[Arc]:
    centre, radius = 0j, OUTER
    for quarter in range(4 * TURNS):
        yield Arc(centre, radius, quarter * math.pi / 2, math.pi / 2)
        centre += PITCH / 4 * direction((quarter + 1) * math.pi / 2)
        radius -= PITCH / 4


def lead(path: Path, *, start: complex | None = None, end: complex | None = None) -> Path:
    """The path with straight leads from and to other places."""
    before = () if start is None else (Line(start, path.start),)
    after = () if end is None else (Line(path.end, end),)
    return joined(before, path.segments, after)


def traces_and_vias(layers: int, places: tuple[complex, complex]) -> tuple[list[Path], list[Via]]:
    inward, outward = spiral(), spiral(quarters=2, mirrored=True).reversed()
    if layers == 1:
        return [lead(inward, start=places[0], end=places[1])], []
    inner = [_via(spiral(quarters=turned).end, (1 + 2 * turned, 2 + 2 * turned)) for turned in (0, 1)]
    if layers == 2:
        return [lead(inward, start=places[0]), lead(outward, end=places[1])], inner[:1]
    crossing = _via(6e-3 * direction(math.pi / 4), (2, 3))
    third = lead(spiral(quarters=1), start=crossing.at)
    fourth = lead(outward.moved(Isometry(quarters=1)), end=places[1])
    paths = [lead(inward, start=places[0]), lead(outward, end=crossing.at), third, fourth]
    return paths, [inner[0], crossing, inner[1]]


def _via(at: complex, joins: tuple[int, int]) -> Via:
    return Via(at=at, drill=0.3e-3, pad=0.6e-3, joins=joins)


def coil_of(layers: int) -> Coil:
    places = (8.1e-3 - 1.2345678e-3j, complex(-1e-3, 8e-3) if layers == 4 else 8.1e-3 + 2e-3j)
    if layers == 1:
        places = (places[0], 0.5e-3 + 0.25e-3j)
    paths, vias = traces_and_vias(layers, places)
    traces = tuple(Trace(layer=k, path=path, width=WIDTH) for k, path in enumerate(paths, 1))
    drill = 0.0 if layers == 1 else 1e-3
    terminals = tuple(
        Terminal(number=k, at=at, pad=1.8e-3, drill=drill, layer=1) for k, at in enumerate(places, 1)
    )
    return Coil(traces=traces, vias=tuple(vias), terminals=terminals, pockets=(), turns=TURNS * layers)


def art_of(coil: Coil, layers: int) -> Art:
    through = [(via.at, via.pad, via.drill, None) for via in coil.vias]
    through += [(t.at, t.pad, t.drill, t.number) for t in coil.terminals if t.drill]
    pads = [
        Pad(layer=k, at=at, diameter=pad, terminal=terminal)
        for k in range(1, layers + 1)
        for at, pad, _, terminal in through
    ]
    pads += [Pad(layer=1, at=t.at, diameter=t.pad, terminal=t.number) for t in coil.terminals if not t.drill]
    holes = [Hole(at=at, diameter=drill, plated=True, terminal=number) for at, _, drill, number in through]
    if layers == 4:
        holes.append(Hole(at=-9.25e-3 - 9.25e-3j, diameter=2.2e-3, plated=False, terminal=None))
    sides = ("top",) if layers == 1 else ("top", "bottom")
    return Art(
        copper_layers=layers,
        traces=coil.traces,
        pads=tuple(pads),
        holes=tuple(holes),
        openings=tuple(Opening(side=s, at=t.at, diameter=1.9e-3) for s in sides for t in coil.terminals),
        legend=tuple(
            Stroke(path=path, width=0.15e-3)
            for terminal in coil.terminals
            for path in lettering(str(terminal.number), 1e-3, terminal.at + 2e-3)
        ),
        outline={1: circle(24e-3), 2: circle(24e-3), 4: rectangle(26e-3, 24e-3, corner_radius=2e-3)}[layers],
        pockets={1: (), 2: (circle(3e-3),), 4: (regular_polygon(6, 3e-3, corner_radius=0.5e-3),)}[layers],
    )


def figure(name: str, value: float, unit: str, band: tuple[float, float] | None = None) -> Figure:
    return Figure(
        name=name, unit=unit, says=name, group="electrical", value=value, model="", band=band, cautions=()
    )


def reading(frequency: float, inductance: tuple[float, float], loss: tuple[float, float]) -> dict[str, float]:
    """A row of what a meter reads, sound and with a turn shorted."""
    row = {"frequency": frequency, "inductance": inductance[0], "inductance_shorted": inductance[1]}
    return row | {"loss_ratio": loss[0], "loss_ratio_shorted": loss[1]}


FIGURES = (
    figure("smallest_width", 0.2e-3, "m"),
    figure("smallest_spacing", 0.2e-3, "m"),
    figure("resistance_20c", 0.7654, "ohm", (0.65, 0.88)),
    figure("inductance", 1.23e-6, "H", (1.17e-6, 1.29e-6)),
    figure(
        "shorted_turn",
        [
            reading(1e4, (1.23e-6, 1.2e-6), (1.0, 0.99)),
            reading(1e5, (1.23e-6, 1.1e-6), (1.002, 1.2)),
            reading(1e6, (1.23e-6, 0.9e-6), (1.1, 2.0)),
        ],
        "table",
    ),
)


def result_of(name: str) -> Result:
    asked = DESIGNS[name]
    winding = {"shape": "round", "turns": TURNS, "trace_width": 0.2, "trace_spacing": 0.2, "outer_size": 10.2}
    design = Design.model_validate(
        {
            "name": name,
            "note": "a note for the fab",
            "winding": winding | {"layers": asked["layers"]},
            "board": {"stackup": asked["stackup"], **BOARDS[asked["layers"]]},
            **({"pocket": POCKETS[asked["layers"]]} if asked["layers"] > 1 else {}),
        }
    )
    coil = coil_of(asked["layers"])
    return Result(
        design=design,
        coil=coil,
        art=art_of(coil, design.board.stackup.layers),
        findings=(),
        figures={figure.name: figure for figure in FIGURES},
        cautions=("The coil gets hot.",),
    )


@pytest.fixture(scope="session", params=DESIGNS)
def result(request: pytest.FixtureRequest) -> Result:
    """A result of two, four and one copper layers in turn."""
    return result_of(request.param)


@pytest.fixture(scope="session")
def two_layers() -> Result:
    return result_of("optical-shutter")


@pytest.fixture(scope="session")
def four_layers() -> Result:
    return result_of("drawer-latch")


@pytest.fixture(scope="session")
def flexible() -> Result:
    return result_of("stator-pole")
