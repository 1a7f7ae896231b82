"""Copper keeps away from the board's edge, where the cutter would bare it."""

from collections.abc import Iterable

from coilgen.artwork.art import Art
from coilgen.artwork.copper_pieces import copper
from coilgen.design.design import Design
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._boundary import near_boundary
from coilgen.rules._places import Place, short_lengths
from coilgen.units import in_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Copper near or beyond the outline; nothing on a board without one."""
    if art.outline is None:
        return ()
    limit = design.rules.limit("copper_to_edge")
    found = near_boundary(copper(art).strokes, art.outline, limit, inside=True)
    return short_lengths("copper_to_edge", limit, found, lambda place: _says(place, limit))


def _says(place: Place, limit: float) -> str:
    remedy = "enlarge the board, or bring terminals and winding in"
    if place.value < 0:
        return f"Copper reaches {in_mm(-place.value)} over the board's edge: {remedy}."
    return f"Copper is {in_mm(place.value)} from the board's edge, under {in_mm(limit)}: {remedy}."


RULE = Rule(
    name="copper_to_edge", says="least distance of copper from the board's edge", unit="m", check=check
)
