"""Drilled holes keep away from the pocket's edge, so that the wall between them does not break."""

from collections.abc import Iterable

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
    found = near_pockets(holes(art), art, limit)
    return short_lengths("hole_to_pocket", limit, found, lambda place: _says(place, limit))


def _says(place: Place, limit: float) -> str:
    remedy = "make pocket.size smaller, winding.inner_size larger, or via.drill smaller"
    if place.value < 0:
        return f"A hole reaches {measured_mm(-place.value)} into the pocket: {remedy}."
    return (
        f"A hole's edge is {measured_mm(place.value, limit)} from the pocket, under {in_mm(limit)}: {remedy}."
    )


RULE = Rule(
    name="hole_to_pocket",
    says="least distance of a hole's edge from the pocket's edge",
    unit="m",
    check=check,
)
