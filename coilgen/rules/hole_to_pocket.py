"""Drilled holes keep away from the pocket's edge, so that the wall between them does not break."""

from collections.abc import Iterable
from dataclasses import replace

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._boundary import holes, near_pockets
from coilgen.rules._places import Place, short_lengths
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Holes whose edge comes near to the pocket, or into it."""
    if not art.pockets or not art.holes:
        return ()
    limit = design.rules.limit("hole_to_pocket")
    return tuple(finding for role, remedy in _REMEDIES.items() for finding in _of(art, role, limit, remedy))


_REMEDIES = {
    "via": "make pocket.size smaller, winding.inner_size larger, or via.drill smaller",
    "terminals": "make pocket.size smaller, or terminals.drill smaller",
    "hole": "move the hole (hole.at), or make hole.diameter or pocket.size smaller",
}
"""For a hole of each table of the design."""


def _of(art: Art, role: str, limit: float, remedy: str) -> tuple[Finding, ...]:
    """Findings of the holes of one table."""
    drilled = holes(replace(art, holes=tuple(hole for hole in art.holes if hole.role == role)))
    found = near_pockets(drilled, art, limit)
    return short_lengths("hole_to_pocket", limit, found, lambda place: f"{_says(place, limit)}: {remedy}.")


def _says(place: Place, limit: float) -> str:
    if place.value < 0:
        return f"A hole reaches {measured_mm(-place.value)} into the pocket"
    return f"A hole's edge is {measured_mm(place.value, limit)} from the pocket, under {in_mm(limit)}"


RULE = Rule(
    name="hole_to_pocket",
    says="least distance of a hole's edge from the pocket's edge",
    unit="m",
    check=check,
)
