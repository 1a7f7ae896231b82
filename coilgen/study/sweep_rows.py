"""Rows of a sweep, computed in blocks: here, by processes of this machine, or by a cluster's workers.

Whatever is heavy is imported late: worker processes set their number of threads before numba is loaded.
"""

from __future__ import annotations

import math
import multiprocessing
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from itertools import islice
from typing import TYPE_CHECKING, Any

from coilgen.processors import processors
from coilgen.study.compare import prepare
from coilgen.study.sweep_block import Block, Row, as_they_come, block_rows

if TYPE_CHECKING:
    from coilgen.study.plan import Plan
    from coilgen.study.screen.screen import Screened

LARGEST_BLOCK = 100
"""Rows of a block: few enough to see them come, many enough that handing them over costs nothing."""
_ROUNDS = 8
"""Blocks for each worker, at least, so that none of them waits long at the end."""
_AHEAD = 3
"""Blocks handed to each worker ahead of time."""


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
