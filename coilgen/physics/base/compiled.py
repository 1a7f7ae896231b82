"""Machine-code kernels: compiled once, cached on disk, run by threads on blocks of rows."""

import os
import tempfile
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path
from stat import S_ISDIR
from typing import Any

import numba

from coilgen.processors import together

_SHARES = 4
"""Of all blocks, handed over for each thread: enough that none waits long for the last."""
_REORDERING = {"reassoc", "contract", "arcp", "nsz"}


def kernel(function: Callable[..., Any]) -> Any:
    """The function compiled by numba, free of the interpreter's lock, with the compiled code kept on disk.

    numba keeps the code beside the module, or in the user's cache folder where the package is read-only; its
    files are written aside and renamed, so two first runs do not disturb each other. Where neither place can
    be written it is kept among temporary files; where that fails too the code is compiled afresh in each
    process, which `compilation_due` reports.
    """
    try:
        return _compiled(function, cache=True)
    except RuntimeError:  # numba found no folder to write to
        return _kept_aside(function)


def _kept_aside(function: Callable[..., Any]) -> Any:
    folder = own_folder(Path(tempfile.gettempdir()))
    if folder is None:
        return _compiled(function, cache=False)
    numba.config.CACHE_DIR = str(folder)  # type: ignore[attr-defined]  # set as numba starts
    try:
        return _compiled(function, cache=True)
    except RuntimeError:
        return _compiled(function, cache=False)


def own_folder(among: Path) -> Path | None:
    """A folder that nobody else can write to, kept from run to run, or None.

    Compiled code is run as it is found, so a folder that another user has made, or may write to, will not do.
    """
    user = getattr(os, "getuid", None)
    if user is None:
        return None
    folder = among / f"coilgen-{user()}"
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        found = folder.lstat()
    except OSError:
        return None
    ours = S_ISDIR(found.st_mode) and found.st_uid == user() and not found.st_mode & 0o077
    return folder if ours else None


def part(function: Callable[..., Any]) -> Any:
    """A function for kernels to call, compiled within each of them.

    By the compiler's back end: copied before, as numba's own `inline` does, it takes three times as long.
    Compiled by itself it would be called in the process that compiles it, but its copy within the kernel's
    code in later ones: the last digits of the results would differ.
    """
    return numba.njit(forceinline=True, fastmath=_REORDERING, error_model="numpy")(function)


def _compiled(function: Callable[..., Any], *, cache: bool) -> Any:
    return numba.njit(cache=cache, nogil=True, fastmath=_REORDERING, error_model="numpy")(function)


def compilation_due(*kernels: Any) -> bool:
    """Whether any of the kernels has no compiled code in memory or on disk: its first call takes seconds."""
    return any(not one.signatures and not _on_disk(one) for one in kernels)


def _on_disk(one: Any) -> bool:
    """Code of an earlier release does not count: numba names the file for the function's line, and drops it
    when the source is newer."""
    code = one.py_func.__code__
    source, folder = Path(code.co_filename), one.stats.cache_path
    if folder is None:
        return False
    name = f"{source.stem}.{one.py_func.__qualname__}-{code.co_firstlineno}.*.nbi"
    return any(found.stat().st_mtime >= source.stat().st_mtime for found in Path(folder).glob(name))


def by_rows(work: Callable[[int, int], None], count: int, block: int) -> None:
    """Calls work(first, last) over 0 ... count in blocks of rows, on as many threads as `threads` tells.

    Each thread is handed many blocks at once: to hand over a block may take longer than its work.
    """
    edges = [(k, min(k + block, count)) for k in range(0, count, block)]
    if len(edges) == 1 or threads() == 1:
        for edge in edges:
            work(*edge)
        return

    def some(first: int) -> None:
        for edge in edges[first::shares]:
            work(*edge)

    shares = min(len(edges), _SHARES * threads())
    for done in [_threads(os.getpid()).submit(some, first) for first in range(shares)]:
        done.result()


@cache
def _threads(process: int) -> ThreadPoolExecutor:
    return ThreadPoolExecutor(max_workers=threads())


def threads() -> int:
    """How many threads a process may use: its processors, or what NUMBA_NUM_THREADS said at its start.

    One while others share its work.
    """
    if together():
        return 1
    return int(numba.config.NUMBA_NUM_THREADS)  # type: ignore[attr-defined]  # set as numba starts
