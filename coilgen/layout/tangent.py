"""Outlines of four sides that run into each other without a corner.

A spiral's level falls by a quarter of the pitch from side to side. So that each side still runs into the
next, the centres of its arcs lie aside of the outline's, each by another part of a small rectangle of
circumference pitch: arcs of one side are concentric from turn to turn, so that the pitch is exact everywhere
and the path has no kinks. Such a spiral measures its size across the two sides beside the one in which it
starts; elsewhere it is larger or smaller by at most half a pitch.
"""

from dataclasses import replace

from coilgen.layout.outline import Outline, heading
from coilgen.layout.shape import Sizes
from coilgen.layout.sides import Bend, Side


def tangent(sides: tuple[Side, ...], *, first: float, pitch: float, joint: tuple[float, float]) -> Outline:
    """The outline of four tangent sides; joint: how far east and south the normal of side 0's end points."""
    aside = tuple(pitch * part / 4 for part in joint)
    wound = tuple(_moved(side, number, aside[number % 2]) for number, side in enumerate(sides))
    return Outline(sides=sides, first=first, pitch=pitch, tangent=True, wound=wound, stray=max(aside))


def half_sizes(sizes: Sizes) -> tuple[float, float]:
    """Half axes, east and south, of the outermost centre line, with which a spiral that starts in the south
    measures its sizes over the copper in both directions."""
    across, along = ((size - sizes.width) / 2 for size in sizes.outer)
    return across + sizes.pitch / 2, along + sizes.pitch / 4


def _moved(side: Side, number: int, aside: float) -> Side:
    """A side as a spiral has it: the centre of an arc moved aside; a straight one moves along itself."""
    if not isinstance(side, Bend):
        return side
    return replace(side, centre=side.centre - heading(4, number) * aside)
