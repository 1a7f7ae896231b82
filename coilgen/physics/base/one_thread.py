"""Linear algebra on one thread: the same digits whatever the machine's number of processors."""

import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cache
from threading import Lock
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from threadpoolctl import LibController

_lock = Lock()
_found: list["_Before"] = []
"""What those who are inside found, in the order of their coming."""
_AS_LOADED = "OPENBLAS_NUM_THREADS"
"""Tells a library of linear algebra, as it is loaded, how many threads to run."""
_SCIPY = "scipy.linalg"


class _Before:
    """Numbers of threads of the libraries by their files, and what the environment says of them."""

    def __init__(self) -> None:
        self.threads: Mapping[str, int] = {each.filepath: each.get_num_threads() for each in _libraries()}
        self.said = os.environ.get(_AS_LOADED)

    def bring_back(self) -> None:
        """A library that was loaded in the meantime gets as many threads as the others had."""
        for each in _libraries():
            _set(each, self.threads.get(each.filepath, max(self.threads.values(), default=1)))
        if self.said is None:
            os.environ.pop(_AS_LOADED, None)
        else:
            os.environ[_AS_LOADED] = self.said


@contextmanager
def one_thread() -> Iterator[None]:
    """While inside, numpy's and scipy's linear algebra runs on one thread, whatever the environment says.

    Sums divided among threads end in other last digits for every number of threads, and our matrices are so
    small that threads would mostly wait for each other. The limit holds for the process; what held before
    comes back when the last of its users has left. Kernels are not concerned: their threads share no sums.
    scipy brings a library of its own, which most designs need not wait for: loaded while inside, it begins
    with one thread.
    """
    with _lock:
        _found.append(_Before())
        os.environ[_AS_LOADED] = "1"
        for each in _libraries():
            _set(each, 1)
    try:
        yield
    finally:
        with _lock:
            first = _found[0]
            _found.pop()
            if not _found:
                first.bring_back()


def _libraries() -> "Sequence[LibController]":
    return _loaded(_SCIPY in sys.modules)


@cache
def _loaded(scipy: bool) -> "Sequence[LibController]":
    """The libraries that numpy and scipy bring, each its own; without scipy's where it is not there yet."""
    import numpy.linalg  # noqa: F401  # loads its library
    from threadpoolctl import ThreadpoolController

    return tuple(ThreadpoolController().select(user_api="blas").lib_controllers)


def _set(library: "LibController", number: int) -> None:
    if library.get_num_threads() != number:
        _free(library)
        library.set_num_threads(number)
        _free(library)


def _free(library: "LibController") -> None:
    """Lets any thread set the number: later releases of threadpoolctl heed only the first that did so."""
    free = getattr(library, "clear_controlling_thread", None)
    if free is not None:
        free(force=True)
