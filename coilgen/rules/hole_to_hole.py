"""Enough board between any two holes that the drill does not break through."""

from collections.abc import Iterable

import numpy as np

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.geometry.clearance import gaps, near_pairs
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._boundary import holes
from coilgen.rules._places import TOLERANCE, Place, Places, short_lengths
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Pairs of holes whose edges are near."""
    if len(art.holes) < 2:
        return ()
    limit = design.rules.limit("hole_to_hole")
    drilled = holes(art)
    near = gaps(drilled, drilled, near_pairs(drilled, limit - TOLERANCE))
    nothing = np.zeros(len(near), np.intp)
    found = Places(value=near.value, layer=nothing, at=near.at, kind=nothing)
    return short_lengths("hole_to_hole", limit, found, lambda place: _says(place, limit))


def _says(place: Place, limit: float) -> str:
    remedy = "drill smaller, use fewer vias, or give the winding more room"
    if place.value <= 0:
        return f"Two holes run into each other by {measured_mm(-place.value)}: {remedy}."
    return (
        f"The edges of two holes are {measured_mm(place.value, limit)} apart, under {in_mm(limit)}: {remedy}."
    )


RULE = Rule(name="hole_to_hole", says="least distance between the edges of two holes", unit="m", check=check)
