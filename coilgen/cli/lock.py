"""A lock file: one run at a time. The system frees it when a run ends, however it ends."""

import contextlib
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from coilgen.errors import UserError

PATIENCE = 60.0
"""Seconds to wait for another run that writes to the same place."""
_PAUSE = 0.02


class BusyError(UserError):
    """Another run holds the place."""


@contextlib.contextmanager
def locked(path: Path) -> Iterator[None]:
    """Holds the lock file of that name while inside, and takes it away at the end.

    BusyError when another run does not let go of it.
    """
    file = _held(path)
    try:
        yield
    finally:
        _let_go(path, file)


def _held(path: Path) -> BinaryIO:
    end = time.monotonic() + PATIENCE
    while True:
        file = path.open("ab")
        if _taken(file) and _stands(path, file):
            return file
        file.close()
        if time.monotonic() > end:
            raise BusyError(
                f"{path} is held by another run for over {PATIENCE:g} s; wait for that run or end it, "
                "then try again"
            )
        time.sleep(_PAUSE)


def _stands(path: Path, file: BinaryIO) -> bool:
    """Whether the file bears its name still: whoever held it before has taken it away."""
    try:
        return os.path.samestat(path.stat(), os.fstat(file.fileno()))
    except FileNotFoundError:
        return False


if sys.platform == "win32":
    import msvcrt

    def _taken(file: BinaryIO) -> bool:
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _let_go(path: Path, file: BinaryIO) -> None:
        file.close()
        with contextlib.suppress(OSError):  # another run has it open already
            path.unlink()

else:
    import fcntl

    def _taken(file: BinaryIO) -> bool:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _let_go(path: Path, file: BinaryIO) -> None:
        """The name goes first: once free, the file might be another run's."""
        with contextlib.suppress(FileNotFoundError):
            path.unlink()
        file.close()
