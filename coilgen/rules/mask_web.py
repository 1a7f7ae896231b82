"""Enough solder mask or coverlay between two openings that it holds."""

from collections.abc import Iterable
from itertools import combinations

from coilgen.artwork.art import Art, Opening
from coilgen.design.design import Design
from coilgen.geometry.closed import holds
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import Place, places, short_lengths
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Pairs of openings of one side that are near."""
    limit = design.rules.limit("mask_web")
    found = places(
        Place(
            value=_between(one, other),
            at=(one.at + other.at) / 2,
            layer=1 if one.side == "top" else art.copper_layers,
        )
        for one, other in combinations(art.openings, 2)
        if one.side == other.side
    )
    return short_lengths("mask_web", limit, found, lambda place: _says(place, limit))


def _between(one: Opening, other: Opening) -> float:
    """Mask left between two openings, m; of a window and a round one beside it."""
    if one.window is None and other.window is None:
        return abs(one.at - other.at) - (one.diameter + other.diameter) / 2
    window, disc = (one, other) if one.window else (other, one)
    apart = min(piece.distance(disc.at) for piece in window.path.segments)
    return (-apart if holds(window.path, disc.at) else apart) - disc.diameter / 2


def _says(place: Place, limit: float) -> str:
    remedy = "raise terminals.pitch, or make terminals.pad smaller"
    if place.value <= 0:
        return f"Two openings in the mask run into each other by {measured_mm(-place.value)}: {remedy}."
    web = measured_mm(place.value, limit)
    return f"{web} of mask is left between two openings, under {in_mm(limit)}: {remedy}."


RULE = Rule(name="mask_web", says="least solder mask left between two openings", unit="m", check=check)
