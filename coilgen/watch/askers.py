"""Pages that ask at the same time: each gets its own answers, and only its newest numbers are worth one."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from threading import Lock

FOLLOWING = "/try"
"""The request that follows the hand: each ends the one before, and what takes long, of its page."""
_TRIAL, _COMPARISON = "trial", "comparison"
LONG: Mapping[str, str] = {"/try-soon": _TRIAL, "/try-whole": _TRIAL, "/compare": _COMPARISON}
"""Requests that may take long, by what they are: each ends an older one of the same."""


class Askers:
    """What pages wait for just now; threads share it. One long answer is made at a time, whoever asks."""

    def __init__(self) -> None:
        self.alone = Lock()
        self._lock = Lock()
        self._newest: dict[str, dict[str, int]] = {}
        self._under_way: dict[str, int] = {}
        self._count = 0

    @property
    def waiting(self) -> int:
        """Requests that have no answer yet."""
        with self._lock:
            return sum(self._under_way.values())

    @contextmanager
    def asking(self, page: str, path: str) -> Iterator[Callable[[], bool]]:
        """A request of a page while it is answered: gives whether no newer one of it has ended it."""
        kind = LONG.get(path, FOLLOWING)
        with self._lock:
            self._count += 1
            newest = self._newest.setdefault(page, {})
            newest[kind] = self._count
            own = dict(newest)
            self._under_way[page] = self._under_way.get(page, 0) + 1
        try:
            yield lambda: all(newest.get(each) == own.get(each) for each in (FOLLOWING, kind))
        finally:
            with self._lock:
                self._under_way[page] -= 1
                if not self._under_way[page]:  # nothing is left that a newer request could end
                    del self._under_way[page], self._newest[page]
