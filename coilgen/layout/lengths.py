"""The lengths a winding is laid out with, taken from the design once; layout frame of outline.py, metres."""

import math
from functools import cached_property

from coilgen.design.board import Pocket
from coilgen.design.design import Design
from coilgen.design.keys import Size, pair
from coilgen.design.winding import Winding
from coilgen.frozen import dataclass
from coilgen.geometry.closed import circle, holds, regular_polygon
from coilgen.geometry.path import Path
from coilgen.layout.corner import SHARP, Corner
from coilgen.layout.outline import Outline
from coilgen.layout.shape import Sector, Shape, Sizes, shape_named

ON_ARC = 0.01
"""Share by which rows on arcs are longer than their chords at least: room for their curvature."""

QUARTERS = {"south": 0, "east": 1, "north": 2, "west": 3}
"""Quarter turns from the frame of the layout, whose terminals stand in the south, to the board's."""

ALONG = {"south": 1, "east": 1, "north": -1, "west": -1}
"""Whether the layout's way east is that of the board's x, or y, or against it."""


def _sector(told: Winding | Pocket, middle: float | None) -> Sector | None:
    if told.inner_radius is None or told.outer_radius is None or told.angle is None or middle is None:
        return None
    return Sector(
        inner_radius=told.inner_radius, outer_radius=told.outer_radius, angle=told.angle, middle=middle
    )


@dataclass(frozen=True)
class Lengths:
    """A design with its shape, and every derived length that the layout needs."""

    design: Design
    shape: Shape

    @property
    def layers(self) -> int:
        """Wound copper layers."""
        return self.design.winding.layers

    @property
    def parallel(self) -> bool:
        """Whether the layers carry the current side by side."""
        return self.design.winding.connection == "parallel" and self.layers > 1

    @property
    def spirals(self) -> int:
        """Spirals that the current passes one after another."""
        return 1 if self.parallel else self.layers

    @property
    def turns(self) -> float:
        """Turns of one layer."""
        return self.design.winding.turns

    @property
    def width(self) -> float:
        """Of the trace."""
        return self.design.winding.trace_width

    @cached_property
    def gap(self) -> float:
        """Between copper that is not joined: the asked spacing or the shop's, whichever is larger."""
        return max(self.design.winding.trace_spacing, self.design.rules.limit("trace_spacing"))

    @property
    def pitch(self) -> float:
        """Turn to turn."""
        return self.width + self.design.winding.trace_spacing

    @property
    def corner(self) -> Corner:
        """How corners are made."""
        return Corner(self.design.winding.corner, self.design.winding.corner_size)

    @cached_property
    def outline(self) -> Outline:
        """Of the winding, whose curves and rows are told by their levels (see sides.py)."""
        winding = self.design.winding
        sizes = Sizes(
            outer=self.outer,
            width=self.width,
            pitch=self.pitch,
            corner=self.corner,
            sector=_sector(winding, winding.ring),
        )
        return self.shape.outline(sizes)

    @property
    def outer(self) -> tuple[float, float]:
        """Over the copper, across and along the terminals' side."""
        return self._framed(self.design.winding.outer_size)

    def _framed(self, size: Size) -> tuple[float, float]:
        """Sizes in x and y of the board as the layout has them, its terminals in the south."""
        x, y = pair(size)
        return (y, x) if QUARTERS[self.design.terminals.side] % 2 else (x, y)

    @property
    def edges(self) -> tuple[float, float]:
        """Levels of the outer and the inner edge of the winding's copper, seen as rings."""
        falls = self.pitch / 2 if self.outline.tangent else 0.0
        outer = self.first - falls + self.width / 2
        return outer, outer - self.width - (self.turns - 1) * self.pitch

    @property
    def first(self) -> float:
        """Level of the outermost centre line."""
        return self.outline.first

    @property
    def stray(self) -> float:
        """How far a turn may stray from its level about the coil's centre."""
        return self.outline.stray

    def last(self, steps: int) -> float:
        """Level of the innermost centre line after so many sides."""
        return self.outline.level(steps)

    def base_side(self, layer: int) -> int:
        """The side nearest to where a layer's spiral ends, counted on from the start of layer 1."""
        return math.floor(layer * self.turns * self.outline.count + 0.5)

    @property
    def via_half(self) -> float:
        """Half of the copper's size across a layer change."""
        return max(self.design.via.pad, self.width) / 2

    @property
    def hole_gap(self) -> float:
        """Between the edges of two holes."""
        return self.design.rules.limit("hole_to_hole")

    @property
    def via_step(self) -> float:
        """Between parallel vias of one layer change."""
        via = self.design.via
        return max(via.pad + self.gap, via.drill + self.hole_gap)

    @property
    def terminal_half(self) -> float:
        """Half of the copper's size across a terminal."""
        return max(self.design.terminals.pad, self.width, self.lead_width) / 2

    @property
    def terminal_gap(self) -> float:
        """Round a terminal's pad: its mask opening must not bare other copper."""
        return max(self.gap, self.design.rules.limit("mask_opening"))

    @property
    def lead_width(self) -> float:
        """Of leads in a tail, and to terminals where there is room."""
        return self.design.terminals.lead_width or self.width

    @cached_property
    def tracks(self) -> tuple[float, float] | None:
        """Where leads run down a tail, in the west and in the east; None without one."""
        tail = self.design.tail
        if tail is None:
            return None
        mirrored = -1 if self.design.winding.direction == "clockwise" else 1
        middle = tail.offset * mirrored * ALONG[tail.side]
        beside = max(self.lead_width + (tail.lead_spacing or self.gap), self.width + self.gap)
        apart = 0.0 if tail.leads == "above" else beside
        return middle - apart / 2, middle + apart / 2

    @property
    def bridge(self) -> int | None:
        """The unwound layer on which an odd number of layers finds its way out.

        None: no need or none left.
        """
        spare = self.layers + 1
        return spare if self.spirals % 2 and spare <= self.design.board.stackup.layers else None

    @property
    def ends_inside(self) -> bool:
        """Whether terminal 2 is a pad inside the winding, for want of a layer to leave on."""
        return self.spirals % 2 == 1 and self.bridge is None

    @property
    def outer_changes(self) -> bool:
        """Whether layers change outside the winding too."""
        return self.spirals > 2

    @property
    def outer_half(self) -> float:
        """Half of the copper's size in the outer row of layer changes and lead landings."""
        return self.via_half if self.outer_changes else self.width / 2

    @property
    def outer_row(self) -> float:
        """Level of the outer row."""
        return self.first + self.stray + self.width / 2 + self.gap + self.outer_half

    def inner_row(self, last: float, half: float) -> float:
        """Level of the inner row of pads of a half size, inside an innermost centre line."""
        return last - self.stray - self.width / 2 - self.gap - half

    def reach(self, side: int, level: float, row: float) -> tuple[float, float]:
        """Between which distances along a side, told at a row's level, a place may stand, its stub clear of
        the corners of the turn at a level."""
        low, high = self.outline.reach(side, level, self.corner, row)
        if row < level:
            begin, end = self.outline.unfolded(side, level, self.width, self.gap)
            low, high = max(low, begin), min(high, end)
        return low + self.pitch / 8 + 2 * self.stray, high - self.pitch / 8 - 2 * self.stray

    @property
    def slack(self) -> float:
        """Room for the curvature of a row.

        Round rows bend away from the straight distances used to fill them.
        """
        curved = self.outline.curved
        return ON_ARC * (2 * self.via_half + self.gap) if curved else 0.0

    @cached_property
    def pocket(self) -> Path | None:
        """Outline of the core pocket."""
        pocket = self.design.pocket
        if pocket is None:
            return None
        if pocket.shape == "round":
            return circle(pair(pocket.size)[0])
        corners = {"square": 4, "hexagonal": 6}.get(pocket.shape)
        if corners is not None:
            return regular_polygon(corners, pair(pocket.size)[0], pocket.corner_radius)
        return self._cut(pocket)

    @cached_property
    def pocket_lies_inside(self) -> bool:
        """Whether the pocket stays within the copper; asked of sectors, whose sizes do not tell it."""
        pocket, told, level = self.pocket, self.design.pocket, self.edges[1]
        if pocket is None or told is None or not (told.ring or self.design.winding.ring):
            return True
        if not self.outline.exists(level):
            return False
        edge = self.outline.closed(level)
        return all(holds(edge, piece.at(k / 4)) for piece in pocket.segments for k in range(4))

    def _cut(self, pocket: Pocket) -> Path:
        """The outline of a pocket of two sizes, or of a sector: of the winding's ring where it has one."""
        corner = Corner("rounded", pocket.corner_radius) if pocket.corner_radius else SHARP
        sizes = Sizes(
            outer=self._framed(pocket.size),
            width=0.0,
            pitch=0.0,
            corner=corner,
            sector=_sector(pocket, self.design.winding.ring or pocket.ring),
        )
        outline = shape_named(pocket.shape).outline(sizes)
        return outline.closed(outline.first, corner)
