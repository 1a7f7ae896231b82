"""Copper keeps away from the pocket's edge, where the cutter would bare it."""

from collections.abc import Iterable

from coilgen.artwork.art import Art
from coilgen.artwork.copper_pieces import copper
from coilgen.design.design import Design
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._boundary import near_pockets
from coilgen.rules._places import Place, short_lengths
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Copper near or over the pocket; nothing on a board without one."""
    if not art.pockets:
        return ()
    limit = design.rules.limit("copper_to_pocket")
    found = near_pockets(copper(art).strokes, art, limit)
    return short_lengths("copper_to_pocket", limit, found, lambda place: _says(place, limit))


def _says(place: Place, limit: float) -> str:
    remedy = "make pocket.size smaller, or winding.inner_size larger"
    if place.value < 0:
        return f"Copper reaches {measured_mm(-place.value)} into the pocket: {remedy}."
    return f"Copper is {measured_mm(place.value, limit)} from the pocket, under {in_mm(limit)}: {remedy}."


RULE = Rule(
    name="copper_to_pocket", says="least distance of copper from the pocket's edge", unit="m", check=check
)
