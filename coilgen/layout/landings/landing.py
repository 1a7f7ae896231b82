"""Landings: rows of pads where the current changes layers, or a lead comes in."""

from itertools import pairwise

from coilgen.frozen import dataclass
from coilgen.geometry.point import Point
from coilgen.layout.outline import Anchor


@dataclass(frozen=True)
class Landing:
    """A row of pads along one side (parallel vias, or the single landing of a lead), counter-clockwise."""

    side: int
    points: tuple[Point, ...]

    @property
    def first(self) -> Anchor:
        """Where the current arrives."""
        return Anchor(self.side, self.points[0])

    @property
    def last(self) -> Anchor:
        """Where the current leaves."""
        return Anchor(self.side, self.points[-1])


@dataclass(frozen=True, kw_only=True)
class LayerChanges:
    """changes[k]: where layer k + 1's spiral begins and layer k's ends; changes[0] is terminal 1's landing.

    exit: terminal 2's landing outside the winding, or None when terminal 2 is a pad inside.
    """

    changes: tuple[Landing, ...]
    exit: Landing | None

    def feet(self, layer: int) -> tuple[Anchor, Anchor]:
        """Where an inward spiral starts and ends whose mirror image, reversed, an outward layer is."""
        start, end = self.changes[layer - 1].last, self.changes[layer].first
        return (start, end) if layer % 2 else (end.mirrored(), start.mirrored())

    @property
    def steps(self) -> tuple[int, ...]:
        """Sides that each layer's spiral travels."""
        return tuple(after.side - before.side for before, after in pairwise(self.changes))
