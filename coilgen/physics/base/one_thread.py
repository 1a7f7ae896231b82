"""Linear algebra on one thread: the same digits whatever the machine's number of processors."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from threading import Lock
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from threadpoolctl import LibController

_lock = Lock()
_found: list[list[int]] = []
"""Numbers of threads found by those who are inside, in the order of their coming."""


@contextmanager
def one_thread() -> Iterator[None]:
    """While inside, numpy's and scipy's linear algebra runs on one thread, whatever the environment says.

    Sums divided among threads end in other last digits for every number of threads, and our matrices are so
    small that threads would mostly wait for each other. The limit holds for the process; what held before
    comes back when the last of its users has left. Kernels are not concerned: their threads share no sums.
    """
    libraries = _linear_algebra()
    with _lock:
        _found.append([library.get_num_threads() for library in libraries])
        _set(libraries, [1] * len(libraries))
    try:
        yield
    finally:
        with _lock:
            first = _found[0]
            _found.pop()
            if not _found:
                _set(libraries, first)


@cache
def _linear_algebra() -> "Sequence[LibController]":
    """The libraries that numpy and scipy bring, each its own: both must be loaded to be found."""
    import scipy.linalg  # noqa: F401  # loads its library, and numpy's
    from threadpoolctl import ThreadpoolController

    return tuple(ThreadpoolController().select(user_api="blas").lib_controllers)


def _set(libraries: "Sequence[LibController]", numbers: Sequence[int]) -> None:
    for library, number in zip(libraries, numbers, strict=True):
        if library.get_num_threads() != number:
            _free(library)
            library.set_num_threads(number)
            _free(library)


def _free(library: "LibController") -> None:
    """Lets any thread set the number: later releases of threadpoolctl heed only the first that did so."""
    free = getattr(library, "clear_controlling_thread", None)
    if free is not None:
        free(force=True)
