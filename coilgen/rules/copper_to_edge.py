"""Copper keeps away from the board's edge and from unplated holes, where cutter and drill would bare it."""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from coilgen.artwork.art import Art, Hole
from coilgen.artwork.copper_pieces import copper
from coilgen.design.design import Design
from coilgen.geometry.clearance import Strokes
from coilgen.geometry.closed import circle
from coilgen.geometry.isometry import Isometry
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._boundary import near_boundary
from coilgen.rules._places import Place, Places, all_of, short_lengths
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Copper near or beyond the outline, where there is one, and near or in unplated holes."""
    limit, strokes = design.rules.limit("copper_to_edge"), copper(art).strokes
    if art.outline is not None:
        found = near_boundary(strokes, art.outline, limit, inside=True)
        yield from short_lengths("copper_to_edge", limit, found, lambda place: _says(place, limit, _EDGE))
    found = all_of(_at(hole, strokes, limit) for hole in art.holes if not hole.plated)
    yield from short_lengths("copper_to_edge", limit, found, lambda place: _says(place, limit, _HOLE))


def _at(hole: Hole, strokes: Strokes, limit: float) -> Places:
    """Copper near a hole, all of it told at the hole's centre."""
    wall = circle(hole.diameter).moved(Isometry(shift=hole.at))
    found = near_boundary(strokes, wall, limit, inside=False)
    return replace(found, at=np.full(len(found), hole.at))


_EDGE = (
    "Copper reaches {} over the board's edge",
    "the board's edge",
    "enlarge the board, or bring terminals and winding in",
)
_HOLE = (
    "An unplated hole cuts through copper",
    "an unplated hole",
    "move the hole, make it smaller, or keep winding and leads off it",
)


def _says(place: Place, limit: float, of: tuple[str, str, str]) -> str:
    past, what, remedy = of
    if place.value < 0:
        return f"{past.format(measured_mm(-place.value))}: {remedy}."
    return f"Copper is {measured_mm(place.value, limit)} from {what}, under {in_mm(limit)}: {remedy}."


RULE = Rule(
    name="copper_to_edge",
    says="least distance of copper from the board's edge and from unplated holes",
    unit="m",
    check=check,
)
