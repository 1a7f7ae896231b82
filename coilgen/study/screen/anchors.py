"""Exact runs of a few designs that the screen learns from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from coilgen.errors import DesignError
from coilgen.frozen import dataclass
from coilgen.layout.landings.layer_changes import fits
from coilgen.layout.lengths import Lengths
from coilgen.layout.shape import shape_named
from coilgen.study.evaluator import RULES_BROKEN, Evaluator, RememberedCase, broken, number, rules

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.result.figure import Case

OF_BODIES = (
    "inductance_in_place", "core_inductance", "core_inductance_at_rest", "core_inductance_small_signal",
    "pull_on_target", "lift_margin", "holding_current", "force_constant", "force_at_rest", "force_on_magnet",
    "force_reversed",
)  # fmt: skip
"""Figures that take long where there are cores or a target."""
_LARGEST = ("board_size", "drill_aspect_ratio", "layer_count")
"""Rules that limit a number from above."""


@dataclass(frozen=True, kw_only=True)
class Run:
    """An exact run: figures asked for and learned from by name, findings by rule; or why it is not built."""

    values: dict[str, float | None]
    broken: dict[str, int]
    fault: DesignError | None = None


class Anchors:
    """Exact runs by place, each computed once."""

    def __init__(self, designs: Sequence[Design], figures: Sequence[str], learned: Sequence[str]) -> None:
        self.designs = designs
        self.figures, self.learned = tuple(figures), tuple(learned)
        self.runs: dict[int, Run] = {}
        self.whole: set[int] = set()
        self._evaluator = Evaluator(figures)

    def run(self, row: int, *, bodies: bool = False) -> Run:
        """Of a design by its place. bodies: with what takes long where there are cores or a target."""
        design = self.designs[row]
        bodies = bodies or not (design.core or design.target)
        if row not in self.runs or (bodies and row not in self.whole):
            self.runs[row] = self._computed(design, bodies)
            self.whole |= {row} if bodies or self.runs[row].fault else set()
        return self.runs[row]

    def case(self, row: int) -> Case:
        """Of a design by its place."""
        return self._evaluator.case(self.designs[row])

    def _computed(self, design: Design, bodies: bool) -> Run:
        try:
            case = self._evaluator.case(design)
            found = dict(broken(case)) if RULES_BROKEN in self.figures else {}
            names = dict.fromkeys((*self.figures, *self.learned))
            asked = [name for name in names if bodies or name not in OF_BODIES]
            return Run(values={name: number(case, name) for name in asked}, broken=found)
        except DesignError as error:
            return Run(values={}, broken={}, fault=error)

    def has_room(self, row: int) -> bool:
        """Whether there is room inside the winding for its layer changes and pocket."""
        design = self.designs[row]
        return fits(Lengths(design, shape_named(design.winding.shape)))

    def margin(self, row: int, rule: str, reach: float) -> float | None:
        """How far the worst place is within a rule's limit, `reach` at most; negative where it is broken.

        None for a rule whose limit is no number of its own.
        """
        design = self.designs[row]
        if rule not in design.rules.limits:
            return None
        case = self._evaluator.case(design)
        assert isinstance(case, RememberedCase)
        limit, side = design.rules.limit(rule), 1.0 if rule in _LARGEST else -1.0
        stricter = design.unchecked(rules=design.rules.unchecked(**{rule: limit - side * reach}))
        worst = [side * (limit - each.value) for each in rules()[rule].check(stricter, *case.drawn)]
        return min(worst, default=reach)
