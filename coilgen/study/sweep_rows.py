"""Rows of a sweep, computed in blocks: here, by processes of this machine, or by a cluster's workers.

Whatever is heavy is imported late: worker processes set their number of threads before numba is loaded.
"""

from __future__ import annotations

import math
import multiprocessing
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from itertools import islice
from threading import Lock
from typing import TYPE_CHECKING, Any

from coilgen.errors import DesignError
from coilgen.study.compare import prepare, processors

if TYPE_CHECKING:
    from coilgen.study.evaluator import Evaluator
    from coilgen.study.plan import Plan
    from coilgen.study.screen.screen import Screened

OK = "ok"
LARGEST_BLOCK = 100
"""Rows of a block: few enough to see them come, many enough that handing them over costs nothing."""
_ROUNDS = 8
"""Blocks for each worker, at least, so that none of them waits long at the end."""
_AHEAD = 3
"""Blocks handed to each worker ahead of time."""

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


def rows(
    plan: Plan,
    wanted: Iterable[int],
    *,
    workers: int = 1,
    cluster: str | None = None,
    screened: Callable[[Screened], None] | None = None,
) -> Iterator[list[Row]]:
    """The wanted rows, block by block as they come. screened: is told what the screen found.

    The screen itself is of this process, so that the same exact rows are learned from; what it leaves goes to
    the workers.
    """
    if plan.screened:
        from coilgen.study.sweep_screened import rows_told, screen_of

        if cluster is not None:
            from coilgen.study.sweep_cluster import refuse_without_workers

            refuse_without_workers(cluster)
        found = screen_of(plan)
        if screened is not None:
            screened(found)
        wanted = [*wanted]
        yield from rows_told(plan, found, (row for row in wanted if found.told[row]))
        wanted = [row for row in wanted if not found.told[row]]
    yield from _exact(plan, wanted, workers, cluster)


def _exact(plan: Plan, wanted: Iterable[int], workers: int, cluster: str | None) -> Iterator[list[Row]]:
    blocks = _blocks(plan, wanted, workers if cluster is None else 0)
    if cluster is not None:
        from coilgen.study.sweep_cluster import by_cluster

        yield from by_cluster(plan, blocks, cluster)
    elif workers > 1:
        yield from _by_processes(plan, blocks, workers)
    else:
        for block in blocks:
            yield block_rows(plan, block)


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


def _blocks(plan: Plan, wanted: Iterable[int], workers: int) -> Iterator[Block]:
    """The wanted rows in the plan's order, those of one copper together. workers: 0 for a cluster's."""
    rest = set(wanted)
    most = LARGEST_BLOCK if workers == 0 else math.ceil(len(rest) / max(1, workers) / _ROUNDS)
    size = max(1, min(most, LARGEST_BLOCK))
    alike = plan.alike()
    if alike < size:
        size -= size % alike
    ordered = (row for row in plan.order() if row in rest)
    while block := tuple(islice(ordered, size)):
        yield block


def _by_processes(plan: Plan, blocks: Iterator[Block], workers: int) -> Iterator[list[Row]]:
    """Processes are spawned: forking one that runs threads may hang."""
    pool = ProcessPoolExecutor(
        workers,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_begin,
        initargs=(max(1, processors() // workers), plan),
    )
    try:
        yield from as_they_come(
            lambda block: pool.submit(_of_begun, block), blocks, _AHEAD * workers, wait_any
        )
    finally:
        pool.shutdown(cancel_futures=True)


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


def wait_any(tasks: Sequence[Future[Any]]) -> Sequence[Future[Any]]:
    """Those that are finished, once there are some."""
    return [*wait(tasks, return_when=FIRST_COMPLETED).done]


_BEGUN: list[Plan] = []


def _begin(threads: int, plan: Plan) -> None:
    """In a worker: its share of the processors, and the plan, which is handed over once."""
    prepare(threads)
    _BEGUN.append(plan)


def _of_begun(block: Block) -> list[Row]:
    return block_rows(_BEGUN[-1], block)
