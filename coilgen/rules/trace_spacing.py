"""Copper of one layer that is not joined there keeps its distance, between turns of the one net too.

Layout tools do not check the spacing inside a net, and a coil is one net.
"""

from collections.abc import Iterable

import numpy as np

from coilgen.artwork.art import Art
from coilgen.artwork.copper_pieces import copper
from coilgen.artwork.gaps import unjoined_gaps
from coilgen.design.design import Design
from coilgen.geometry.clearance import Gaps
from coilgen.geometry.distance import Index
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._between import between_nets, by_nets, named, one_layer, where_told
from coilgen.rules._places import TOLERANCE, Place, Places, short_lengths, shorted
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Gaps between turns, leads, pads and passing vias."""
    limit = design.rules.limit("trace_spacing")
    board = copper(art)
    found = unjoined_gaps(board, limit - TOLERANCE)
    apart = between_nets(board, found)
    gaps = found.where(~apart)
    within = Places(
        value=gaps.value,
        layer=board.strokes.sheet[gaps.first],
        at=gaps.at,
        kind=np.add(board.disc[gaps.first], board.disc[gaps.second], dtype=np.intp),
    )
    yield from short_lengths("trace_spacing", limit, within, lambda place: _says(place, limit))
    for nets, each in by_nets(board, found.where(apart)):
        yield _between(nets, each, board.strokes.sheet[each.first], limit, _apart(design))


_BETWEEN = (
    ("Two runs of trace", "raise winding.trace_spacing, or move the lead"),
    (
        "A pad and a trace that does not end on it",
        "make via.pad or terminals.pad smaller, or give the winding more room",
    ),
    ("Two pads", "raise terminals.pitch, make the pads smaller, or use fewer vias"),
)


def _says(place: Place, limit: float) -> str:
    who, remedy = _BETWEEN[place.kind]
    short = shorted(place.value)
    if short is not None:
        return f"{who} {short}: {remedy}."
    apart = measured_mm(place.value, limit)
    return f"{who} are {apart} apart, under {in_mm(limit)}: {remedy}, or choose a finer shop."


def _apart(design: Design) -> str:
    """How windings of a board come farther apart; the coils of an array by what places them."""
    if design.array is None:
        return "move them apart, or the lead or pad in the way to another side"
    if design.array.pitch is not None:
        return "raise array.pitch"
    return "raise array.radius" if design.array.radius is not None else "lower winding.angle"


def _between(nets: tuple[str, str], near: Gaps, layers: Index, limit: float, remedy: str) -> Finding:
    """The worst of what two windings, or a winding and a hole, lack of their distance."""
    value = float(near.value[0])
    how = shorted(value) or f"are {measured_mm(value, limit)} apart, under {in_mm(limit)}"
    return Finding(
        rule="trace_spacing",
        value=value,
        limit=limit,
        unit="m",
        layer=one_layer(layers),
        at=complex(near.at[0]),
        says=f"{named(nets)} {how}: {remedy}.{where_told(layers)}",
    )


RULE = Rule(
    name="trace_spacing",
    says="least distance between pieces of copper that are not joined on their layer",
    unit="m",
    check=check,
)
