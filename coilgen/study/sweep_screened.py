"""Rows of a sweep that the screen tells."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from typing import TYPE_CHECKING, overload

from coilgen.study.screen.screen import NO_ROOM, Screened, screen
from coilgen.study.sweep_block import ALONE, OK, Row, told

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.study.plan import Plan

_BLOCK = 1000


class Combinations(Sequence["Design"]):
    """The designs of a sweep, each built when it is taken."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan

    def __len__(self) -> int:
        return self._plan.count

    @overload
    def __getitem__(self, row: int) -> Design: ...

    @overload
    def __getitem__(self, row: slice) -> Sequence[Design]: ...

    def __getitem__(self, row: int | slice) -> Design | Sequence[Design]:
        if isinstance(row, slice):
            return [self._plan.built(each) for each in range(self._plan.count)[row]]
        return self._plan.built(row)


def screen_of(plan: Plan) -> Screened:
    """Of all rows, whichever are wanted: they are the same after a stop."""
    with ALONE:
        return screen(Combinations(plan), plan.figures)


def rows_told(plan: Plan, found: Screened, wanted: Iterable[int]) -> Iterator[list[Row]]:
    """Block by block."""
    left = iter(wanted)
    while block := [*islice(left, _BLOCK)]:
        yield [_row(plan, found, row) for row in block]


def _row(plan: Plan, found: Screened, row: int) -> Row:
    values = [float(found.figures[name][row]) for name in plan.figures]
    return Row(
        number=row,
        status=_status(found, row),
        exact=bool(found.exact[row]),
        values=tuple(None if math.isnan(value) else value for value in values),
    )


def _status(found: Screened, row: int) -> str:
    if found.fits[row]:
        return OK
    return told(found.faults[row]) if row in found.faults else NO_ROOM
