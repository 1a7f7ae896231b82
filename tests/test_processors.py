"""Tasks that forked processes take part in: each begun once, failures, interrupts, ends of all sorts."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from coilgen.processors import shared, together

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="processes are forked on Linux alone")
WAITING = """
import os, signal, time
from coilgen.processors import shared
signal.signal(signal.SIGINT, signal.default_int_handler)  # what a shell begins behind others ignores it
def long():
    print(os.getpid(), flush=True)
    time.sleep(60)
with shared({"long": long}, 2) as others:
    others.answer("long")
"""


def _noted(folder: Path, name: str) -> tuple[str, int]:
    (folder / f"{name} {os.getpid()}").touch()
    return name, os.getpid()


def _tasks(folder: Path) -> dict[str, Callable[[], object]]:
    return {name: partial(_noted, folder, name) for name in "abcd"}


@pytest.mark.parametrize("workers", [1, 2, 3, 9])
def test_each_task_is_begun_once(tmp_path: Path, workers: int) -> None:
    found = {}
    with shared(_tasks(tmp_path), workers) as others:
        for name, task in others.tasks.items():
            found[name] = task() if others.mine(name) else others.answer(name)
    assert [found[name][0] for name in "abcd"] == [*"abcd"]
    assert sorted(path.name.split()[0] for path in tmp_path.iterdir()) == [*"abcd"]
    if workers == 1:
        assert {process for _, process in found.values()} == {os.getpid()}


def test_another_process_does_what_nobody_begins_here(tmp_path: Path) -> None:
    with shared(_tasks(tmp_path), 2) as others:
        answers = [others.answer(name) for name in "abcd"]
        assert not any(others.mine(name) for name in "abcd")
        assert others.spare("abcd") is None
    assert len({process for _, process in answers} | {os.getpid()}) == 2
    assert not together()


def test_large_answers_arrive_whole() -> None:
    with shared({"large": lambda: b"x" * 5_000_000, "small": lambda: 1}, 2) as others:
        assert others.answer("small") == 1
        assert len(others.answer("large")) == 5_000_000


def _fails() -> None:
    raise ValueError("no answer")


def _dies() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


@pytest.mark.parametrize("task", [_fails, _dies, lambda: lambda: None])
def test_what_fails_elsewhere_is_left_to_this_process(task: Callable[[], object]) -> None:
    with shared({"it": task}, 2) as others:
        assert others.answer("it") is None


def test_where_no_process_may_be_forked_all_is_done_here(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused() -> int:
        raise BlockingIOError("Resource temporarily unavailable")

    monkeypatch.setattr(os, "fork", refused)
    opened = len([*Path("/proc/self/fd").iterdir()])
    with shared({"it": os.getpid}, 3) as others:
        assert not together()
        assert others.done("it") == os.getpid()
    assert len([*Path("/proc/self/fd").iterdir()]) == opened


def test_tasks_may_be_added_while_others_are_done() -> None:
    with shared({"first": lambda: 1}, 2) as others:
        others.add({"later": lambda: 2, "here": lambda: 3})
        others.begin(["later"])
        assert [others.answer("later"), others.answer("first")] == [2, 1]
        assert others.mine("here")


def test_processes_end_with_what_they_are_for(tmp_path: Path) -> None:
    begun = tmp_path / "begun"
    with pytest.raises(KeyError), shared({"long": partial(_waits, begun)}, 2):
        _until(lambda: begun.exists() and bool(begun.read_text()))
        assert together()
        raise KeyError("told elsewhere")
    assert not _alive(int(begun.read_text()))


def _waits(begun: Path) -> None:
    begun.write_text(str(os.getpid()))
    time.sleep(60)


@pytest.mark.parametrize("ended_by", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_no_process_outlives_the_first(ended_by: signal.Signals) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", WAITING], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as first:
        assert first.stdout is not None
        other = int(first.stdout.readline())
        first.send_signal(ended_by)
        _, told = first.communicate(timeout=20)
    assert first.returncode != 0
    assert told.count(b"Traceback") == (1 if ended_by == signal.SIGINT else 0)
    _until(lambda: not _alive(other))


def _until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + 20
    while not true():
        assert time.monotonic() < end
        time.sleep(0.02)


def _alive(process: int) -> bool:
    """Those that ended but were not waited for do not count."""
    try:
        state = Path(f"/proc/{process}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state != "Z"
