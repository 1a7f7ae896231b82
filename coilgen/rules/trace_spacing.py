"""Copper of one layer that is not joined there keeps its distance, between turns of the one net too.

Layout tools do not check the spacing inside a net, and a coil is one net.
"""

from collections.abc import Iterable

import numpy as np

from coilgen.artwork.art import Art
from coilgen.artwork.copper_pieces import copper
from coilgen.artwork.gaps import unjoined_gaps
from coilgen.design.design import Design
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import TOLERANCE, Place, Places, short_lengths
from coilgen.units import in_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Gaps between turns, leads, pads and passing vias."""
    limit = design.rules.limit("trace_spacing")
    board = copper(art)
    gaps = unjoined_gaps(board, limit - TOLERANCE)
    found = Places(
        value=gaps.value,
        layer=board.strokes.sheet[gaps.first],
        at=gaps.at,
        kind=np.add(board.disc[gaps.first], board.disc[gaps.second], dtype=np.intp),
    )
    return short_lengths("trace_spacing", limit, found, lambda place: _says(place, limit))


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
    if place.value <= 0:
        return f"{who} overlap by {in_mm(-place.value)}, a short: {remedy}."
    return f"{who} are {in_mm(place.value)} apart, under {in_mm(limit)}: {remedy}, or choose a finer shop."


RULE = Rule(
    name="trace_spacing",
    says="least distance between pieces of copper that are not joined on their layer",
    unit="m",
    check=check,
)
