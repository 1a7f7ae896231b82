"""A search at the next finer shop: its limits, ranges that ended at the old ones, and what was learned."""

from __future__ import annotations

from dataclasses import replace

from coilgen.design.capability import finer_shop
from coilgen.design.design import Design
from coilgen.design.key_paths import of_any_winding
from coilgen.design.optimizing import Span
from coilgen.design.sweeping import Axis
from coilgen.frozen import dataclass
from coilgen.study.memory import Memory
from coilgen.study.search.problem import Problem, Tried

_SHOP = "rules.shop"
_LIMITS = {"winding.trace_width": "trace_width", "winding.trace_spacing": "trace_spacing"}
"""Keys whose ranges end where the shop's limit of this name does."""
_SAME = 1 + 1e-9
_MILLI = 1e-3
"""Ranges of lengths are told in mm."""


@dataclass(frozen=True, kw_only=True)
class Finer:
    """The best design at the finer shop, and what the keys may be there."""

    shop: str
    design: Design
    axes: tuple[Axis | Span, ...]
    best: Tried

    @property
    def says(self) -> str:
        """In words."""
        return f"finer shop, {self.shop}"

    def of(self, asked: Problem) -> Problem:
        """The problem there; estimates begin with the runs so far, which count."""
        there = replace(
            asked,
            design=self.design,
            search=replace(asked.search, axes=self.axes),
            elsewhere=asked.spent,
            _runs={},
            _rooms={},
            _memory=Memory(),
            _last=None,
        )
        return replace(there, hints=_hints(asked, self.best, there.run(self.best.point)))


def finer(asked: Problem, best: Tried) -> Finer | None:
    """Where the next finer shop is another; None where there is none, or where shops are what varies."""
    shop = finer_shop(asked.design.rules.shop)
    if shop is None or any(axis.key == _SHOP for axis in asked.axes):
        return None
    design = asked.design.changed({**asked.changes(best.point), _SHOP: shop})
    axes = tuple(_widened(axis, asked.design, design) for axis in asked.axes)
    return Finer(shop=shop, design=design, axes=axes, best=best)


def _widened(axis: Axis | Span, here: Design, there: Design) -> Axis | Span:
    """A range that begins at the shop's limit, or under it, begins at the other's."""
    limit = _LIMITS.get(of_any_winding(axis.key))
    if limit is None or not isinstance(axis, Span) or axis.low > _SAME * here.rules.limit(limit) / _MILLI:
        return axis
    return replace(axis, low=min(axis.low, there.rules.limit(limit) / _MILLI))


def _hints(asked: Problem, here: Tried, there: Tried) -> tuple[Tried, ...]:
    """All whole runs, their values changed as those of the best design are by the other shop."""
    if not there.whole:
        return ()
    goals = [_ratio(*pair) for pair in zip(here.goals, there.goals, strict=True)]
    judged = [_ratio(*pair) for pair in zip(here.judged, there.judged, strict=True)]
    return tuple(
        replace(run, goals=_scaled(run.goals, goals), judged=_scaled(run.judged, judged))
        for run in asked.runs
        if run.whole
    )


def _ratio(here: float | None, there: float | None) -> float:
    return there / here if here and there else 1.0


def _scaled(values: tuple[float | None, ...], ratios: list[float]) -> tuple[float | None, ...]:
    return tuple(None if value is None else value * by for value, by in zip(values, ratios, strict=True))
