"""The processors of this machine, and tasks of one run that forked processes take part in.

Threads would share one interpreter: two that compute figures take longer than one after the other.
"""

from __future__ import annotations

import os
import pickle
import signal
import struct
import sys
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from concurrent.futures import Future
from contextlib import contextmanager, suppress
from threading import Thread
from typing import Any, BinaryIO

from coilgen.frozen import dataclass

Task = Callable[[], Any]
_HEAD = struct.Struct("<HQ")
"""Of an answer: the task's number and the length of what was found, 0 where it failed."""
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
    """Tasks by name, each begun once: by a process beside this one, or here by who finds it `mine`."""

    def __init__(self, tasks: Mapping[str, Task]) -> None:
        self.tasks = dict(tasks)
        self.tokens = [_Token.laid() for _ in tasks]
        self._answers = {name: Future[bytes]() for name in tasks}

    def mine(self, name: str) -> bool:
        """Whether the task is to be done here: True once, if nobody began it."""
        return self.tokens[[*self.tasks].index(name)].taken()

    def spare(self, among: Collection[str]) -> str | None:
        """The last of some tasks that nobody began, to be done here from now on."""
        return next((name for name in reversed(self.tasks) if name in among and self.mine(name)), None)

    def done(self, name: str) -> Any:
        """What a task finds, wherever it is done."""
        found = None if self.mine(name) else self.answer(name)
        return self.tasks[name]() if found is None else found

    def there(self, name: str) -> bool:
        """Whether a task that another process began is done, or has failed."""
        return self._answers[name].done()

    def answer(self, name: str) -> Any:
        """What another process found for a task; None where it failed: done here, it tells why."""
        found = self._answers[name].result()
        return pickle.loads(found) if found else None

    def hear(self, workers: Sequence[_Worker]) -> list[Thread]:
        """Threads that take the processes' answers as they come."""
        global _beside
        _beside = len(workers)
        threads = [Thread(target=self._hear, args=(worker.answers,), daemon=True) for worker in workers]
        for thread in threads:
            thread.start()
        return threads

    def _hear(self, answers: BinaryIO) -> None:
        global _beside
        while len(head := answers.read(_HEAD.size)) == _HEAD.size:
            number, length = _HEAD.unpack(head)
            found = answers.read(length)
            if len(found) == length:
                [*self._answers.values()][number].set_result(found)
        _beside -= 1
        if not _beside:
            for future in self._answers.values():
                if not future.done():
                    future.set_result(b"")


@dataclass(frozen=True)
class _Worker:
    """A process beside this one. answers: what it finds; alive: closed once this process ends, in any way."""

    process: int
    answers: BinaryIO
    alive: int

    def end(self) -> None:
        with suppress(ProcessLookupError):
            os.kill(self.process, signal.SIGKILL)
        os.waitpid(self.process, 0)
        os.close(self.alive)


@contextmanager
def shared(tasks: Mapping[str, Task], workers: int) -> Iterator[Shared]:
    """Tasks that other processes begin in their order while inside; they end with it, whatever ends it.

    workers: processes with this one. Where processes cannot be forked safely it stays alone. Nothing that a
    task changes is seen here but what it returns; that, and every digit, is as if it were done here.
    """
    found = Shared(tasks)
    count = min(workers - 1, len(tasks)) if sys.platform == "linux" else 0
    team: list[_Worker] = []
    threads: list[Thread] = []
    try:
        while len(team) < count:
            team.append(_forked(found))
        threads += found.hear(team)
        yield found
    finally:
        for worker in team:
            worker.end()
        for thread in threads:
            thread.join()
        for worker in team:
            worker.answers.close()
        for token in found.tokens:
            token.close()


def _forked(shared: Shared) -> _Worker:
    """Interrupts wait until the new process would end of them in silence."""
    hear, tell = os.pipe()
    watch, alive = os.pipe()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        process = os.fork()
        if not process:
            try:
                signal.signal(signal.SIGINT, signal.SIG_DFL)
                signal.pthread_sigmask(signal.SIG_SETMASK, before)
                os.close(alive)
                Thread(target=_end_after, args=(watch,), daemon=True).start()
                _work(shared, tell)
            finally:
                os._exit(0)
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
    os.close(tell)
    os.close(watch)
    return _Worker(process=process, answers=os.fdopen(hear, "rb"), alive=alive)


def _end_after(watch: int) -> None:
    """Ends this process once nobody holds the other end."""
    os.read(watch, 1)
    os._exit(1)


def _work(shared: Shared, tell: int) -> None:
    global _beside
    _beside = 1
    with os.fdopen(tell, "wb") as told:
        for number, (token, task) in enumerate(zip(shared.tokens, shared.tasks.values(), strict=True)):
            if token.taken():
                try:
                    found = pickle.dumps(task(), pickle.HIGHEST_PROTOCOL)
                except Exception:  # raised again where it is asked for, in the first process
                    found = b""
                told.write(_HEAD.pack(number, len(found)) + found)
                told.flush()
