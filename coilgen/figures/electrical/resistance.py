"""Direct-current resistance at 20 degC."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from coilgen.geometry.path import LARGEST_GAP
from coilgen.layout.coil import Strand, Via
from coilgen.layout.via_rows import ViaRow, via_rows
from coilgen.physics.circuit.resistance import barrel_resistance, ladder_resistance, trace_resistance
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import carried, factor, told

_MUCH = 0.3
"""Of the resistance of all traces, that leads have."""
_OF_BEND = 0.999
"""Of twice a bend's radius: the widest that a trace is taken there."""


def _resistance(case: Case) -> Answer:
    tolerance = case.design.tolerance
    least, usual = tolerance.plating
    traces = carried(
        lambda wider, thicker: _traces(case, wider) / thicker,
        told(0.0, "trace width", -tolerance.trace_width, tolerance.trace_width),
        factor("copper thickness", tolerance.copper_thickness),
    )
    barrels = carried(lambda wall: _barrels(case, wall), told(usual, "plating", least, usual))
    rows = carried(
        lambda wider, thicker, wall: _rows(case, wider, thicker, wall),
        told(0.0, "trace width", -tolerance.trace_width, tolerance.trace_width),
        factor("copper thickness", tolerance.copper_thickness),
        told(usual, "plating", least, usual),
    )
    found = carried(
        lambda flat, through, between, conducting: (flat + through + between) / conducting,
        traces,
        barrels,
        rows,
        factor("conductivity", tolerance.conductivity_of("copper")),
    )
    return spread_answer(
        found,
        "exact path with bends, arcs and leads at finished copper thickness, plated barrels of "
        f"{usual * 1e6:.0f} um; the band is that of width, thickness, plating and copper",
        () if case.values_only else tuple(_narrow_leads(case)),
    )


def _narrow_leads(case: Case) -> Iterator[str]:
    """What to know where leads, which carry what layers side by side share, have much of the resistance."""
    leads = sum(_trace(case, strand, 0.0) for strand in case.strands if strand.share == 1.0)
    share = leads / _traces(case, 0.0)
    if case.coil.parallel and share > _MUCH:
        whole = case.design.winding.turns % 1 == 0
        yield (
            f"Leads that carry the current of {len(case.coil.parallel)} layers in parallel on one layer have "
            f"{share:.0%} of the traces' resistance, and make as much of their heat"
            + ("." if whole else "; those of a whole number of turns are shorter.")
        )


def _traces(case: Case, wider: float) -> float:
    """All traces in series, those in parallel as one: the power of their shares of one ampere.

    wider: by so much on the finished width, m; the middle of the trace stays, and the shares.
    """
    return sum(_trace(case, strand, wider) * strand.share**2 for strand in case.strands)


def _trace(case: Case, strand: Strand, wider: float) -> float:
    width = strand.conductor.width
    # A bend of the least radius that was asked keeps an inner edge, however wide it is etched.
    round_bend = 2 * np.hypot(*(strand.conductor.start - strand.conductor.centre).T)
    etched = np.maximum(width + wider, 0.05 * width)
    etched = np.where(etched < round_bend, etched, np.fmin(etched, np.maximum(width, _OF_BEND * round_bend)))
    resistivity = case.design.board.stackup.metal.resistivity
    return trace_resistance(replace(strand.conductor, width=etched), resistivity)


def _barrels(case: Case, plating: float) -> float:
    """All layer changes in series, by the power of what passes their pieces; vias of one change in parallel.

    Those in rows between traces in series are left out.
    """
    in_rows = {place for row in _of_series(case) for place in row.places}
    changes: dict[tuple[int, ...], list[Via]] = {}
    for via in case.coil.vias:
        if via.at not in in_rows:
            changes.setdefault(via.joins, []).append(via)
    return sum(
        _mean_square(case, vias) / sum(1 / _barrel(case, via, plating) for via in vias)
        for vias in changes.values()
    )


def _mean_square(case: Case, vias: list[Via]) -> float:
    """Over the height of a layer change, of what one ampere through the coil lets pass there, A2.

    One where two layers are in series; less where layers side by side let in their shares one after another.
    """
    places, joins = [via.at for via in vias], sorted(vias[0].joins)
    let_in = dict.fromkeys(joins, 0.0)
    for share, trace in zip(case.shares, case.coil.traces, strict=True):
        for point, sign in ((trace.path.start, -1.0), (trace.path.end, 1.0)):
            if min(abs(point - at) for at in places) < LARGEST_GAP:
                let_in[trace.layer] += sign * share
    passing = np.cumsum([let_in[layer] for layer in joins])[:-1]
    height = -np.diff([case.design.board.stackup.height(layer) for layer in joins])
    return float(np.square(passing) @ height / height.sum())


def _barrel(case: Case, via: Via, plating: float) -> float:
    stackup = case.design.board.stackup
    heights = [stackup.height(layer) for layer in via.joins]
    length = max(heights) - min(heights)
    return float(barrel_resistance(length, via.drill, plating, stackup.metal.resistivity))


def _of_series(case: Case) -> tuple[ViaRow, ...]:
    side_by_side = case.coil.parallel
    return tuple(row for row in via_rows(case.coil) if not {row.before, row.after} & set(side_by_side))


def _rows(case: Case, wider: float, thicker: float, plating: float) -> float:
    """What rows of parallel vias have more than the pieces of their traces that count as passed once."""
    stackup, vias = case.design.board.stackup, {via.at: via for via in case.coil.vias}
    whole = 0.0
    for found in _of_series(case):
        traces = [case.coil.traces[k] for k in (found.before, found.after)]
        rails = [
            [
                stackup.metal.resistivity
                * piece.length
                / (max(trace.width + wider, 0.05 * trace.width) * stackup.copper[trace.layer - 1] * thicker)
                for piece in found.row
            ]
            for trace in traces
        ]
        rungs = [_barrel(case, vias[place], plating) for place in found.places]
        whole += ladder_resistance(rails[0], rails[1], rungs, back=found.back)
        whole -= 0.0 if found.back else sum(rails[0])
    return whole


FIGURES = (
    Quantity(
        name="resistance_20c",
        unit="ohm",
        says="resistance between the terminals at 20 degC, direct current",
        group="electrical",
        compute=_resistance,
        of="each",
    ),
)
