"""Where cores, magnet and target stand at the board, and whether they fit."""

import math
from functools import cached_property

from coilgen.design.board import Pocket
from coilgen.design.bodies import RECTANGULAR, Core, Magnet, Target
from coilgen.design.mounting import BasePlate
from coilgen.errors import Fault
from coilgen.frozen import dataclass
from coilgen.geometry.point import Point
from coilgen.units import in_mm


@dataclass(frozen=True, kw_only=True)
class Standing:
    """Heights of a body's lower and upper face, m."""

    bottom: float
    top: float


Lying = tuple[Point, float]
"""Centre, m, and turn counter-clockwise about it, deg."""
CENTRED: Lying = (0j, 0.0)


@dataclass(frozen=True, kw_only=True)
class Stood:
    """One body of a core: the core's number, 1 first, where its faces are, and how it lies."""

    number: int
    core: Core
    standing: Standing
    centre: Point
    turn: float


@dataclass(frozen=True, kw_only=True)
class Stand:
    """Where cores stand on a board of a thickness (m): those of a face one upon the other, in their order.

    wider: m, by how much the gap of each core is wider than told; left out where all are as told.
    above, below: of stiffeners on the top and on the bottom, beneath what stands there.
    pockets: where they lie, each with the cores of the pocket in it.
    """

    cores: tuple[Core, ...]
    thickness: float
    wider: tuple[float, ...] = ()
    above: float = 0.0
    below: float = 0.0
    pockets: tuple[Lying, ...] = (CENTRED,)

    @cached_property
    def bodies(self) -> tuple[Stood, ...]:
        """All that stand there, in the order of the cores: one of a face, one in each pocket."""
        return tuple(
            Stood(number=number, core=core, standing=standing, centre=centre, turn=turn)
            for number, (core, standing) in enumerate(zip(self.cores, self.standing, strict=True), start=1)
            for centre, turn in (self.pockets if core.place == "pocket" else (CENTRED,))
        )

    @cached_property
    def standing(self) -> tuple[Standing, ...]:
        """For each core."""
        found, reached = [], {"top": self.bare("top"), "bottom": self.bare("bottom")}
        for core, wider in zip(self.cores, self.wider or (0.0,) * len(self.cores), strict=True):
            if core.place == "pocket":
                top = core.rise or 0.0
                found.append(Standing(bottom=top - core.thickness, top=top))
                continue
            found.append(_beyond(reached[core.place], core.place, (core.gap or 0.0) + wider, core.thickness))
            reached[core.place] = found[-1].top if core.place == "top" else found[-1].bottom
        return tuple(found)

    def bare(self, place: str) -> float:
        """Height of the board's own face on a side, or of its stiffener's, m."""
        return self.above if place == "top" else -self.thickness - self.below

    def face(self, place: str) -> float:
        """Height of the outermost face on a side, of the board, its stiffener or a core, m."""
        bare = self.bare(place)
        if place == "top":
            return max(bare, *(each.top for each in self.standing), bare)
        return min(bare, *(each.bottom for each in self.standing), bare)

    def of(self, body: Magnet | Target, wider: float = 0.0) -> Standing:
        """Where a magnet or a target stands, its gap wider (m) than told."""
        return _beyond(self.face(body.place), body.place, body.gap + wider, body.thickness)

    def faults(self) -> list[Fault]:
        """Cores that would stand in one another."""
        found = []
        for one, core in enumerate(self.cores):
            for other in range(one):
                depth = self._overlap(one, other)
                if depth > 0.0:
                    key, advice = _MOVES["pocket" if core.place == "pocket" else "face"]
                    says = f"stands {in_mm(depth)} in core {other + 1}; {advice}"
                    found.append(Fault(key=f"core {one + 1}.{key}", says=says))
        return found

    def _overlap(self, one: int, other: int) -> float:
        """How far two cores' heights overlap, m; 0 where one fits through the other's hole."""
        a, b = self.standing[one], self.standing[other]
        depth = min(a.top, b.top) - max(a.bottom, b.bottom)
        first, second = self.cores[one], self.cores[other]
        clear = depth <= 1e-9 or _within(first, second.hole) or _within(second, first.hole)
        return 0.0 if clear else depth


_MOVES = {
    "pocket": (
        "rise",
        "shorten it, change its rise, or make a ring of the other with a hole it goes through",
    ),
    "face": ("gap", "widen its gap, shorten the other, or make it a ring whose hole the other goes through"),
}
"""Key and advice for a core that stands in another."""


_METAL = 1.0
"""ohm m: metals are far below, ferrites and powder in polymer above."""


def is_metal(body: Core | BasePlate) -> bool:
    """Whether it conducts well enough to short what touches it."""
    if isinstance(body, BasePlate):
        return bool(body.facts["resistivity"] < _METAL)
    return body.material.resistivity < _METAL


def covers(body: Core | BasePlate, at: Point, radius: float) -> bool:
    """Whether a body on a face lies over any of a disc of the board, m."""
    x, y = abs(at.real), abs(at.imag)
    if body.width is not None:
        beside = complex(max(0.0, x - body.width / 2), max(0.0, y - (body.depth or body.width) / 2))
        return abs(beside) < radius
    hole = body.hole if isinstance(body, Core) else 0.0
    return abs(at) - radius < (body.diameter or 0.0) / 2 and abs(at) + radius > hole / 2


def _within(core: Core, hole: float) -> bool:
    """Whether a core fits through a round hole of this diameter, m."""
    across = math.hypot(*core.size) if core.form in RECTANGULAR else core.size[0]
    return across <= hole


def fits(core: Core, pocket: Pocket) -> bool:
    """Whether a core in the middle goes into a pocket; for some shapes whether it surely does."""
    least = pocket.least * (1 + 1e-9)
    if core.form not in RECTANGULAR:
        return core.size[0] <= least
    if pocket.shape in ("square", "rectangular"):
        return all(own <= size * (1 + 1e-9) for own, size in zip(core.size, pocket.sizes, strict=True))
    return math.hypot(*core.size) <= least


def _beyond(face: float, place: str, gap: float, thickness: float) -> Standing:
    if place == "top":
        return Standing(bottom=face + gap, top=face + gap + thickness)
    return Standing(bottom=face - gap - thickness, top=face - gap)
