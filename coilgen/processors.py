"""The processors of this machine, and tasks of one run that forked processes take part in.

Threads would share one interpreter: two that compute figures take longer than one after the other.
"""

from __future__ import annotations

import os
import pickle
import signal
import struct
import sys
import warnings
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager, suppress
from threading import Condition, Thread
from typing import Any, BinaryIO

from coilgen.frozen import dataclass

Task = Callable[[], Any]
_HEAD = struct.Struct("<HQ")
"""Of an answer: the task's number and the length of what was found, 0 where it failed."""
_MOMENT = 1e-3
"""s, in which who hears the others' answers, a thread besides, takes its turn."""
_beside = 0
"""Processes that share the work with this one just now."""


def processors() -> int:
    """How many processors this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)  # not on every system
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def together() -> bool:
    """Whether other processes share the work: threads besides would only take turns with them."""
    return _beside > 0


@dataclass(frozen=True)
class _Token:
    """Lies in a pipe: who takes it does the task, and no other process or thread can."""

    read: int
    write: int

    @classmethod
    def laid(cls) -> _Token:
        read, write = os.pipe()
        os.set_blocking(read, False)
        os.write(write, b"1")
        return cls(read, write)

    def taken(self) -> bool:
        """Takes it; whether it was there."""
        try:
            return bool(os.read(self.read, 1))
        except BlockingIOError:
            return False

    def close(self) -> None:
        os.close(self.read)
        os.close(self.write)


class Shared:
    """Tasks by name, each begun once: by a process beside this one, or here by who finds it `mine`.

    workers: processes that share them, this one counted; one where they cannot be forked safely.
    """

    def __init__(self, workers: int) -> None:
        self.tasks: dict[str, Task] = {}
        self.workers = workers if sys.platform == "linux" else 1
        self.tokens: dict[str, _Token] = {}
        self._team: list[_Worker] = []
        self._threads: list[Thread] = []
        self._answers: dict[int, bytes] = {}
        self._news = Condition()
        self._at_work = 0

    def add(self, tasks: Mapping[str, Task]) -> None:
        """More of them, which nobody begins yet."""
        for name, task in tasks.items():
            self.tokens[name] = _Token.laid()
            self.tasks[name] = task

    def begin(self, names: Collection[str]) -> None:
        """Other processes begin these tasks in their order, with all that this one knows by now.

        What none begins, as where the system allows no more processes, is done here.
        """
        global _beside
        for _ in range(min(self.workers - 1, len(names))):
            with _interrupts_later() as before:
                worker = _forked(self, names, before)
                if worker is None:
                    return
                self._team.append(worker)
                with self._news:
                    self._at_work += 1
                    _beside += 1
                thread = Thread(target=self._hear, args=(worker.answers,), daemon=True)
                self._threads.append(thread)
                thread.start()

    def mine(self, name: str) -> bool:
        """Whether the task is to be done here: True once, if nobody began it."""
        return self.tokens[name].taken()

    def spare(self, among: Collection[str]) -> str | None:
        """The last of some tasks that nobody began, to be done here from now on."""
        return next((name for name in reversed(self.tasks) if name in among and self.mine(name)), None)

    def done(self, name: str) -> Any:
        """What a task finds, wherever it is done."""
        found = None if self.mine(name) else self.answer(name)
        return self.tasks[name]() if found is None else found

    def there(self, name: str) -> bool:
        """Whether a task that another process began is done, or has failed."""
        number = self._number(name)
        with self._news:
            return self._news.wait_for(lambda: number in self._answers or not self._at_work, _MOMENT)

    def answer(self, name: str) -> Any:
        """What another process found for a task; None where it failed: done here, it tells why."""
        number = self._number(name)
        with self._news:
            # Now and then anew: an interrupt that comes just before a wait would be seen at its end only.
            while not self._news.wait_for(lambda: number in self._answers or not self._at_work, 0.2):
                pass
            found = self._answers.pop(number, b"")
        return pickle.loads(found) if found else None

    def end(self) -> None:
        """Ends the other processes, whatever they do."""
        for worker in self._team:
            worker.end()
        for thread in self._threads:
            thread.join()
        for worker in self._team:
            worker.answers.close()
        for token in self.tokens.values():
            token.close()

    def _number(self, name: str) -> int:
        return [*self.tasks].index(name)

    def _hear(self, answers: BinaryIO) -> None:
        """Takes a process's answers as they come."""
        global _beside
        while len(head := answers.read(_HEAD.size)) == _HEAD.size:
            number, length = _HEAD.unpack(head)
            found = answers.read(length)
            if len(found) == length:
                with self._news:
                    self._answers[number] = found
                    self._news.notify_all()
        with self._news:
            self._at_work -= 1
            _beside -= 1
            self._news.notify_all()


@dataclass(frozen=True)
class _Worker:
    """A process beside this one. answers: what it finds; alive: closed once this process ends, in any way."""

    process: int
    answers: BinaryIO
    alive: int

    def end(self) -> None:
        with suppress(ProcessLookupError):
            os.kill(self.process, signal.SIGKILL)
        with suppress(ChildProcessError):
            os.waitpid(self.process, 0)
        os.close(self.alive)


@contextmanager
def shared(tasks: Mapping[str, Task], workers: int) -> Iterator[Shared]:
    """Tasks that other processes begin in their order while inside; they end with it, whatever ends it.

    workers: processes with this one. Nothing that a task changes is seen here but what it returns; that, and
    every digit, is as if it were done here.
    """
    found = Shared(workers)
    try:
        found.add(tasks)
        found.begin(tasks)
        yield found
    finally:
        found.end()


@contextmanager
def _interrupts_later() -> Iterator[Collection[int]]:
    """Interrupts wait, so that a process and who hears it are begun and noted, or not at all.

    Tells the signals that waited before.
    """
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield before
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _forked(shared: Shared, names: Collection[str], waiting: Collection[int]) -> _Worker | None:
    """Another process at work, which interrupts end in silence; None where the system allows no more.

    waiting: signals that wait in it.
    """
    hear, tell = os.pipe()
    watch, alive = os.pipe()
    with warnings.catch_warnings():
        # Threads besides only wait: for answers, for rows of kernels, for a step that takes long.
        warnings.simplefilter("ignore", DeprecationWarning)
        try:
            process = os.fork()
        except OSError:
            for end in (hear, tell, watch, alive):
                os.close(end)
            return None
    if not process:
        try:
            if signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:
                signal.signal(signal.SIGINT, signal.SIG_DFL)
            signal.pthread_sigmask(signal.SIG_SETMASK, waiting)
            os.close(alive)
            Thread(target=_end_after, args=(watch,), daemon=True).start()
            _work(shared, names, tell)
        finally:
            os._exit(0)
    os.close(tell)
    os.close(watch)
    return _Worker(process=process, answers=os.fdopen(hear, "rb"), alive=alive)


def _end_after(watch: int) -> None:
    """Ends this process once nobody holds the other end."""
    os.read(watch, 1)
    os._exit(1)


def _work(shared: Shared, names: Collection[str], tell: int) -> None:
    global _beside
    _beside = 1
    with os.fdopen(tell, "wb") as told:
        for number, (name, task) in enumerate(shared.tasks.items()):
            if name in names and shared.tokens[name].taken():
                try:
                    found = pickle.dumps(task(), pickle.HIGHEST_PROTOCOL)
                except Exception:  # raised again where it is asked for, in the first process
                    found = b""
                told.write(_HEAD.pack(number, len(found)) + found)
                told.flush()
