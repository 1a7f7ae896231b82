"""Enough copper round every plated hole that a drill a little off its place stays within it."""

from collections.abc import Iterable

from coilgen.artwork.art import Art, Hole
from coilgen.design.design import Design
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import Place, places, short_lengths
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Plated holes whose ring is narrow on some layer, or that have no pad at all."""
    limit = design.rules.limit("annular_ring")
    found = places(place for hole in art.holes if hole.plated for place in _rings(art, hole))
    return short_lengths("annular_ring", limit, found, lambda place: _says(place, limit))


def _rings(art: Art, hole: Hole) -> Iterable[Place]:
    """The narrowest part of the ring on each layer with a pad round the hole's centre; 0 without any pad."""
    widest: dict[int, float] = {}
    for pad in art.pads:
        aside = abs(pad.at - hole.at)
        if aside < pad.diameter / 2:
            ring = (pad.diameter - hole.diameter) / 2 - aside
            widest[pad.layer] = max(ring, widest.get(pad.layer, ring))
    if not widest:
        return [Place(value=0.0, at=hole.at, kind=hole.terminal or 0)]
    return [
        Place(value=ring, at=hole.at, layer=layer, kind=hole.terminal or 0) for layer, ring in widest.items()
    ]


def _says(place: Place, limit: float) -> str:
    part = "terminals" if place.kind else "via"
    ring = f"has a ring of {measured_mm(place.value, limit)}" if place.layer else "has no pad"
    return (
        f"A plated hole {ring}, under {in_mm(limit)}: enlarge {part}.pad, or drill smaller with {part}.drill."
    )


RULE = Rule(name="annular_ring", says="least width of copper round a plated hole", unit="m", check=check)
