"""Exchanges two folders of one disk in a single step, where the system and the disk can."""

import ctypes
import errno
import os
import sys
from collections.abc import Callable
from pathlib import Path

_HERE = -100
"""AT_FDCWD of fcntl.h: names are taken from the working folder."""
_EXCHANGE, _SWAP = 2, 2
"""RENAME_EXCHANGE of Linux (linux/fs.h), RENAME_SWAP of macOS (sys/stdio.h)."""
_UNABLE = (errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP)


def exchanged(one: Path, other: Path) -> bool:
    """Whether the two have changed places; False, and nothing done, where there is no such step.

    OSError when the step is there and fails.
    """
    step = _step()
    if step is None:
        return False
    if step(os.fsencode(one), os.fsencode(other)) == 0:
        return True
    code = ctypes.get_errno()
    if code in _UNABLE:
        return False
    raise OSError(code, os.strerror(code), str(one), None, str(other))


def _step() -> Callable[[bytes, bytes], int] | None:
    """The system's call, 0 for success; None where it has none."""
    if sys.platform == "win32":
        return None
    system = ctypes.CDLL(None, use_errno=True)
    if hasattr(system, "renameat2"):
        return lambda one, other: int(system.renameat2(_HERE, one, _HERE, other, _EXCHANGE))
    if hasattr(system, "renamex_np"):
        return lambda one, other: int(system.renamex_np(one, other, _SWAP))
    return None
