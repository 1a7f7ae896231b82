"""A row of a sweep, and a block of them computed exactly, wherever blocks are sent.

Whatever is heavy is imported late: worker processes set their number of threads before numba is loaded.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import islice
from threading import Lock
from typing import TYPE_CHECKING, Any

from coilgen.errors import DesignError
from coilgen.frozen import dataclass

if TYPE_CHECKING:
    from coilgen.study.evaluator import Evaluator
    from coilgen.study.plan import Plan

OK = "ok"
Block = tuple[int, ...]
ALONE = Lock()
"""Held while a block is computed: kernels do not bear several threads at once."""


@dataclass(frozen=True, kw_only=True)
class Row:
    """A combination by its number from 0: "ok" or its fault, and the figures in the plan's order.

    exact: computed as `coilgen figures` does, not screened.
    """

    number: int
    status: str
    exact: bool
    values: tuple[float | None, ...]


def block_rows(plan: Plan, block: Block) -> list[Row]:
    """The rows of a block, exact."""
    with ALONE:
        evaluator = _evaluator(plan)
        return [_row(plan, evaluator, number) for number in block]


def _row(plan: Plan, evaluator: Evaluator, number: int) -> Row:
    try:
        found = evaluator.of(plan.built(number))
        values, fault = found.values, found.fault
    except DesignError as error:
        values, fault = {}, error
    return Row(
        number=number,
        status=OK if fault is None else told(fault),
        exact=True,
        values=tuple(values.get(name) for name in plan.figures),
    )


def told(fault: DesignError) -> str:
    """All faults of a design on one line."""
    return "; ".join(str(each) for each in fault.faults)


_EVALUATORS: dict[str, Evaluator] = {}


def _evaluator(plan: Plan) -> Evaluator:
    """That of this process for a sweep; what earlier sweeps kept is let go."""
    from coilgen.study.evaluator import Evaluator

    if plan.identity not in _EVALUATORS:
        _EVALUATORS.clear()
        _EVALUATORS[plan.identity] = Evaluator(plan.figures)
    return _EVALUATORS[plan.identity]


def as_they_come(
    submit: Callable[[Block], Any],
    blocks: Iterator[Block],
    ahead: int,
    finished: Callable[[Sequence[Any]], Sequence[Any]],
) -> Iterator[list[Row]]:
    """Results of blocks, some handed out ahead. finished: waits for some of the tasks, and gives those."""
    tasks = [submit(block) for block in islice(blocks, ahead)]
    while tasks:
        done = finished(tasks)
        tasks = [task for task in tasks if task not in done]
        for task in done:
            tasks += [submit(block) for block in islice(blocks, 1)]
            yield task.result()
