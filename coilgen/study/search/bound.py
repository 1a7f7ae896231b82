"""Goals and limits of a search as numbers: how far a value is beyond one, and what sizes of forces mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilgen.frozen import dataclass
from coilgen.units import readable

if TYPE_CHECKING:
    from coilgen.design.optimizing import Goal
    from coilgen.result.figure import Case
    from coilgen.study.search.wanted import Wanted

FORCES = ("force_on_magnet", "force_reversed", "force_at_rest", "force_constant", "pull_on_target")
"""Figures whose size counts where nothing else is told: their sign is a direction."""


@dataclass(frozen=True, kw_only=True)
class Bound:
    """A limit in the figure's unit: at least (side -1) or at most (side 1) that much."""

    of: Wanted
    side: int
    limit: float
    sure: bool

    @property
    def says(self) -> str:
        """The limit as a person reads it, here and wherever it is told."""
        end = "at most" if self.side > 0 else "at least"
        sure = " at the far end of its band" if self.sure else ""
        return f"{self.of.name} {end} {readable(self.limit, self.of.unit, 4)}{sure}"

    @property
    def scale(self) -> float:
        """What a margin is counted in; temperatures in tens of degrees."""
        return 10.0 if self.of.unit == "degC" else abs(self.limit) or 1.0

    def excess(self, value: float) -> float:
        """How far a value is beyond the limit, in the scale; negative within."""
        return self.side * (value - self.limit) / self.scale

    def judged(self, case: Case) -> float | None:
        """The value, or the far end of its band. A force's size is meant by a limit on it."""
        value = self.of.read(case)
        if value is None:
            return None
        ends = (self.of.band(case) if self.sure else None) or (value, value)
        low, high = size(*ends) if self.of.figure in FORCES else ends
        return high if self.side > 0 else low


def reached(goal: Goal, of: Wanted, case: Case) -> float | None:
    """The value of a goal's figure, or its size where that counts."""
    value = of.read(case)
    return abs(value) if value is not None and is_sized(goal) else value


def is_sized(goal: Goal) -> bool:
    """Whether the size of a goal's figure counts, not its sign."""
    return goal.figure in FORCES if goal.magnitude is None else goal.magnitude


def size(low: float, high: float) -> tuple[float, float]:
    """Least and largest size within a band."""
    sizes = abs(low), abs(high)
    return (0.0 if low < 0 < high else min(sizes)), max(sizes)
