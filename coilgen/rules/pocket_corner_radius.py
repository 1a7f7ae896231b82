"""No inner corner of the pocket sharper than the cutter is round."""

import cmath
import math
from collections.abc import Iterable

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.geometry.arc import Arc
from coilgen.geometry.path import Path
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import Place, places, short_lengths
from coilgen.units import in_mm, measured_mm

_BEND = 1e-6


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Corners and arcs of the pocket that no cutter of the shop can leave."""
    if not art.pockets:
        return ()
    limit = design.rules.limit("pocket_corner_radius")
    found = places(place for pocket in art.pockets for place in (*_arcs(pocket), *_sharp_corners(pocket)))
    return short_lengths("pocket_corner_radius", limit, found, lambda place: _says(place, limit))


def _arcs(pocket: Path) -> Iterable[Place]:
    for segment in pocket.segments:
        if isinstance(segment, Arc) and segment.sweep * pocket.swept_area > 0:
            yield Place(value=segment.radius, at=segment.at(0.5))


def _sharp_corners(pocket: Path) -> Iterable[Place]:
    """Corners that bend the way the path runs round, seen from the pocket's inside."""
    before = pocket.segments[-1]
    for segment in pocket.segments:
        bend = cmath.phase(segment.start_heading * before.end_heading.conjugate())
        if math.copysign(bend, bend * pocket.swept_area) > _BEND:
            yield Place(value=0.0, at=segment.start)
        before = segment


def _says(place: Place, limit: float) -> str:
    what = "An inner corner of the pocket is sharp" if place.value == 0 else "The pocket bends"
    radius = "" if place.value == 0 else f" with a radius of {measured_mm(place.value, limit)}"
    return (
        f"{what}{radius}; the cutter leaves {in_mm(limit)}: raise pocket.corner_radius to that, "
        "or make the pocket round and large enough."
    )


RULE = Rule(
    name="pocket_corner_radius",
    says="least inner radius the cutter leaves in the pocket",
    unit="m",
    check=check,
)
