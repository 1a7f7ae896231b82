"""A design and its variants side by side, one row for each.

Whatever is heavy is imported late: worker processes set their number of threads before numba is loaded.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import replace
from functools import cache
from threading import Thread
from typing import TYPE_CHECKING, Any

from coilgen.errors import DesignError, Fault, UnsolvedError, shown
from coilgen.frozen import dataclass
from coilgen.processors import processors
from coilgen.study.comparison_columns import Column, Value, columns_of, first_height
from coilgen.study.comparison_verdict import cannot

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

    from coilgen.design.design import Design
    from coilgen.result.figure import Case
    from coilgen.study.memory import Memory

BASE = "as designed"
"""What the row of the design itself is called."""


@dataclass(frozen=True, kw_only=True)
class Row:
    """One variant: its value in every column by name, what it cannot do, and what to know of it."""

    name: str
    values: Mapping[str, Value]
    cautions: tuple[str, ...]
    cannot: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """The design's own row, then one for each variant; columns that apply to none of them are left out.

    height: of the flux densities, the design's first probe height on both sides, m.
    """

    name: str
    height: float
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]

    @property
    def best(self) -> Mapping[str, tuple[str, ...]]:
        """Names of the best rows of each column that has a direction, of those that can do all.

        Empty where all are alike, and where no row can.
        """
        able = [row for row in self.rows if not row.cannot]
        return {column.name: _best(column, able) for column in self.columns if column.best}


def _best(column: Column, rows: list[Row]) -> tuple[str, ...]:
    told = {row.name: value for row in rows if (value := row.values[column.name]) is not None}
    size = {name: abs(value) if "size" in (column.best or "") else value for name, value in told.items()}
    if len(set(size.values())) < 2:
        return ()
    wanted = (max if (column.best or "").startswith("largest") else min)(size.values())
    return tuple(name for name, value in size.items() if value == wanted)


def compare(
    design: Design,
    *,
    workers: int = 1,
    progress: Callable[[int, int], None] | None = None,
    wanted: Callable[[], bool] = lambda: True,
) -> Comparison:
    """The design beside its variants.

    workers: how many processes share the work. More than one start afresh, so a script that asks for them
    must be guarded by `if __name__ == "__main__"`. The rows are the same for every number of workers.
    progress: called with the number of finished rows and of all rows. wanted: asked before each result, by
    more workers than one now and then; AbandonedError once nobody waits, when they have ended too.

    DesignError for a design without variants, and for every variant that has no room for its parts.
    """
    if not design.variant:
        raise DesignError.at("variant", "none given; add a [[variant]] table with a name and what it changes")
    named = _named(design)
    _refuse_without_room(named)
    rows = tuple(_rows([*named.items()], workers, progress or _unheard, wanted))
    applying = [
        column
        for column in columns_of(named.values())
        if any(row.values.get(column.name) is not None for row in rows)
    ]
    return Comparison(
        name=design.name,
        height=first_height(design),
        columns=tuple(applying),
        rows=tuple(
            replace(row, values={column.name: row.values.get(column.name) for column in applying})
            for row in rows
        ),
    )


def _unheard(finished: int, count: int) -> None:
    """Progress that nobody asked for."""


def _named(design: Design) -> dict[str, Design]:
    """The design and its variants, all probed at the design's own heights.

    A variant may have taken the name that the design's own row bears otherwise.
    """
    probed = {"probe": design.probe, "variant": ()}
    variants = {variant.name: variant.design.unchecked(**probed) for variant in design.variant}
    numbered = (f"{BASE} ({number})" for number in range(2, len(variants) + 3))
    candidates = (BASE, design.name, f"{design.name}, {BASE}", *numbered)
    own = next(name for name in candidates if name not in variants)
    return {own: design.unchecked(**probed), **variants}


def _refuse_without_room(named: Mapping[str, Design]) -> None:
    """Raises DesignError with what has no room, each with its variant; what the design lacks itself once."""
    from coilgen.job import draw

    found: list[Fault] = []
    own: tuple[Fault, ...] = ()
    for number, (name, design) in enumerate(named.items()):
        try:
            draw(design)
        except DesignError as error:
            if number == 0:
                own = error.faults
                found += own
            else:
                found += [_of_variant(name, fault) for fault in error.faults if fault not in own]
    if found:
        raise DesignError(found)


def _of_variant(name: str, fault: Fault) -> Fault:
    return Fault(key=f"variant {shown(name)}: {fault.key}".removesuffix(": "), says=fault.says)


def _rows(
    named: list[tuple[str, Design]],
    workers: int,
    progress: Callable[[int, int], None],
    wanted: Callable[[], bool],
) -> Iterator[Row]:
    count = min(workers, len(named))
    if count > 1:
        yield from _by_processes(named, count, progress, wanted)
        return
    from coilgen.study.memory import Memory

    memory = Memory(_KEPT)
    for finished, (name, design) in enumerate(named, start=1):
        yield _row(name, design, memory, wanted)
        progress(finished, len(named))


def _by_processes(
    named: list[tuple[str, Design]],
    count: int,
    progress: Callable[[int, int], None],
    wanted: Callable[[], bool],
) -> list[Row]:
    """Rows in the order of the designs, whichever ends first.

    Processes are spawned: forking one that runs threads may hang. Designs with the most cores take longest
    and begin first, so that none of the processors waits at the end.
    """
    spawned = multiprocessing.get_context("spawn")
    left, leave = spawned.Pipe(duplex=False)
    threads = max(1, processors() // count)
    pool = ProcessPoolExecutor(count, mp_context=spawned, initializer=_begin, initargs=(threads, left))
    try:
        longest_first = sorted(named, key=lambda each: -len(each[1].core))
        tasks = {name: pool.submit(_row_of_begun, name, design) for name, design in longest_first}
        _follow(tasks.values(), progress, wanted)
        return [tasks[name].result() for name, _ in named]
    finally:
        leave.close()
        pool.shutdown(cancel_futures=True)
        left.close()


_PATIENCE = 0.1
"""Seconds between two looks at whether rows are still waited for."""


def _follow(
    tasks: Iterable[Future[Any]], progress: Callable[[int, int], None], wanted: Callable[[], bool]
) -> None:
    """Tells how many are finished; the first that fails ends it with what it raised."""
    waiting = {*tasks}
    count = len(waiting)
    while waiting:
        if not wanted():
            from coilgen.study.memory import AbandonedError

            raise AbandonedError
        done, waiting = wait(waiting, _PATIENCE, FIRST_COMPLETED)
        for number, task in enumerate(done, start=1):
            task.result()
            progress(count - len(waiting) - len(done) + number, count)


def prepare(threads: int) -> None:
    """In a worker: its share of the processors, a silent end when the user interrupts, and with its parent.

    Otherwise it would wait for ever for tasks of a parent that was killed.
    """
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    os.environ["NUMBA_NUM_THREADS"] = str(threads)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


_BEGUN: list[Connection] = []


def _begin(threads: int, left: Connection) -> None:
    """In a worker; left: at its end once nobody waits for rows."""
    prepare(threads)
    _BEGUN.append(left)


def _row_of_begun(name: str, design: Design) -> Row:
    return _row(name, design, wanted=lambda: not _BEGUN[-1].poll())


_KEPT = 3
"""Variants whose results are kept for those to come."""


@cache
def _memory() -> Memory:
    """What the variants that a process computes have in common."""
    from coilgen.study.memory import Memory

    return Memory(_KEPT)


def _row(
    name: str,
    design: Design,
    memory: Memory | None = None,
    wanted: Callable[[], bool] = lambda: True,
) -> Row:
    """memory: of rows before, if not that of the process."""
    from coilgen.job import remarks
    from coilgen.result.caution import ranked
    from coilgen.study.evaluator import RememberedCase, sharing_case

    case = sharing_case(design, memory or _memory(), wanted=wanted)
    values = {column.name: _read(column, case) for column in columns_of((design,))}
    verdict = _verdict(case)
    raised = [caution for figure in case.told for caution in figure.cautions]
    told = remarks(design, case.coil, case.art)
    if isinstance(case, RememberedCase):
        case.forget()
    return Row(name=name, values=values, cautions=ranked([*raised, *told]), cannot=verdict)


def _read(column: Column, case: Case) -> Value:
    """None too where a solver gives up."""
    try:
        return column.read(case)
    except UnsolvedError:
        return None


def _verdict(case: Case) -> tuple[str, ...]:
    """What a variant cannot do; one that no solver can judge cannot be chosen."""
    try:
        found = cannot(case)
    except UnsolvedError:
        found = ()
    return (*found, *dict.fromkeys(str(error) for error in case.unsolved.values()))
