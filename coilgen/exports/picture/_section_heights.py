"""How high things are drawn in the cut: heights exaggerated, long empty or even stretches broken."""

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

from coilgen.frozen import dataclass

EXAGGERATIONS = (1, 2, 5, 10, 20, 50, 100, 200)
FLATNESS = 0.4
"""Height over width that the board is drawn with at most."""

LONGEST, BROKEN = 0.35, 0.22
"""Height over width of a stretch outside the board that is drawn whole at most, and of a broken one."""

TALLEST = 1.0
"""Height over width of the whole that is aimed at."""


@dataclass(frozen=True, kw_only=True)
class Heights:
    """Heights of the drawing over those of the board (m); between the levels they are in proportion."""

    levels: tuple[float, ...]
    drawn: tuple[float, ...]
    exaggeration: int

    def up(self, height: float) -> float:
        """Where a height is drawn, m above the board's top face."""
        place = min(max(bisect_right(self.levels, height), 1), len(self.levels) - 1)
        low, high = self.levels[place - 1], self.levels[place]
        from_, to = self.drawn[place - 1], self.drawn[place]
        return from_ + (height - low) * (to - from_) / (high - low)

    @property
    def breaks(self) -> tuple[float, ...]:
        """Drawn heights at whose middle a stretch is broken."""
        return tuple(
            (from_ + to) / 2
            for (low, high), (from_, to) in zip(pairwise(self.levels), pairwise(self.drawn), strict=True)
            if (high - low) * self.exaggeration > (to - from_) * (1 + 1e-9)
        )


def heights(width: float, board: tuple[float, float], faces: Sequence[float]) -> Heights:
    """For a drawing of a width, a board between two heights, and faces of bodies outside it, all in m.

    >>> plain = heights(30e-3, (-1.6e-3, 0.0), ())
    >>> plain.exaggeration, round(plain.up(-1e-3), 6), plain.breaks
    (5, -0.005, ())
    >>> far = heights(30e-3, (-1.6e-3, 0.0), (0.2, 0.201))
    >>> far.exaggeration, round(far.up(0.2), 6), round(far.up(0.201) - far.up(0.2), 6), len(far.breaks)
    (5, 0.0066, 0.005, 1)
    """
    low, high = board
    levels = tuple(sorted({*(face for face in faces if not low < face < high), low, high, 0.0}))
    found = [_drawn(width, board, levels, times) for times in EXAGGERATIONS]
    return next((each for each in reversed(found) if _fits(each, width, board)), found[0])


def _drawn(width: float, board: tuple[float, float], levels: Sequence[float], times: int) -> Heights:
    drawn = [0.0]
    for below, above in pairwise(levels):
        outside = below >= board[1] or above <= board[0]
        length = times * (above - below)
        drawn.append(drawn[-1] + (BROKEN * width if outside and length > LONGEST * width else length))
    shift = drawn[levels.index(0.0)]
    return Heights(levels=tuple(levels), drawn=tuple(each - shift for each in drawn), exaggeration=times)


def _fits(drawn: Heights, width: float, board: tuple[float, float]) -> bool:
    """Whether the board stays flat and the whole in its room."""
    flat = drawn.exaggeration * (board[1] - board[0]) <= FLATNESS * width
    return flat and drawn.drawn[-1] - drawn.drawn[0] <= TALLEST * width
