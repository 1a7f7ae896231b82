"""Where boards stand on a panel: shelves for boards of any size, a grid where straight scores part them."""

from collections.abc import Iterator, Sequence
from itertools import accumulate

from coilgen.frozen import dataclass
from coilgen.geometry.point import Point

STEP = 1e-6
"""Places are whole micrometres, so that moved copper keeps its own nanometres."""
_ROUND = 1e-9


@dataclass(frozen=True, kw_only=True)
class Place:
    """Of one board: its middle from the lower left corner of all, m, and whether it is turned by 90 deg."""

    middle: Point
    turned: bool


@dataclass(frozen=True, kw_only=True)
class Packed:
    """Places in the order of the boards; width and height of all, m.

    columns, rows: of a grid, from and to, left to right and bottom to top; empty for shelves.
    """

    places: tuple[Place, ...]
    size: Point
    columns: tuple[tuple[float, float], ...] = ()
    rows: tuple[tuple[float, float], ...] = ()


def shelves(sizes: Sequence[Point], gap: float, largest: Point) -> Packed | None:
    """Boards on shelves of a common height, the highest first; None where no way fits the largest size, m.

    Of all ways tried, the smallest panel, and of equal ones the squarest: boards as drawn, lying or upright,
    and every width that some boards side by side have. The shelf rule of first fit by decreasing height.
    """
    ways = (
        [False] * len(sizes),
        [size.imag > size.real for size in sizes],
        [size.real > size.imag for size in sizes],
    )
    tried = [
        packed
        for turned in ways
        for width in _widths([_as_turned(size, turn) for size, turn in zip(sizes, turned, strict=True)], gap)
        if width <= largest.real + _ROUND
        and (packed := _on_shelves(sizes, turned, gap, width)).size.imag <= largest.imag + _ROUND
    ]
    return min(tried, key=_cost, default=None)


def grid(sizes: Sequence[Point], gap: float, largest: Point) -> Packed | None:
    """Boards in columns of one width and rows of one height each; None where they do not fit so.

    They must share a side, or scores through the whole panel would run through boards.
    """
    tried = [
        packed
        for width in shared_sides(sizes)
        for count in range(1, len(sizes) + 1)
        if _fits((packed := _in_grid(sizes, width, count, gap)).size, largest)
    ]
    return min(tried, key=_cost, default=None)


def shared_sides(sizes: Sequence[Point]) -> tuple[float, ...]:
    """Lengths that every board has as a side, m."""
    return tuple(
        side
        for side in dict.fromkeys((sizes[0].real, sizes[0].imag))
        if all(_same(side, size.real) or _same(side, size.imag) for size in sizes)
    )


def _same(one: float, other: float) -> bool:
    return abs(one - other) <= _ROUND


def _fits(size: Point, largest: Point) -> bool:
    return size.real <= largest.real + _ROUND and size.imag <= largest.imag + _ROUND


def _cost(packed: Packed) -> tuple[float, float, float]:
    width, height = packed.size.real, packed.size.imag
    return round(width * height, 9), round(max(width, height), 6), round(height, 6)


def _as_turned(size: Point, turned: bool) -> Point:
    return complex(size.imag, size.real) if turned else size


def _widths(sizes: Sequence[Point], gap: float) -> Iterator[float]:
    """Of rows of the first so many boards, the widest first or in their order."""
    for widths in (sorted((size.real for size in sizes), reverse=True), [size.real for size in sizes]):
        yield from (end - gap for end in accumulate(width + gap for width in widths))


def _on_shelves(sizes: Sequence[Point], turned: Sequence[bool], gap: float, width: float) -> Packed:
    lying = [_as_turned(size, turn) for size, turn in zip(sizes, turned, strict=True)]
    width = max(width, *(size.real for size in lying))
    order = sorted(range(len(sizes)), key=lambda k: (-round(lying[k].imag, 9), k))
    places: dict[int, Place] = {}
    ends: list[float] = []  # of each shelf, where the next board may begin
    floors: list[tuple[float, float]] = []
    top = 0.0
    for k in order:
        size = lying[k]
        shelf = next((s for s, end in enumerate(ends) if end + size.real <= width + _ROUND), None)
        if shelf is None:
            shelf = len(ends)
            ends.append(0.0)
            floors.append((top, size.imag))
            top = _stepped(top + size.imag + gap)
        floor, _ = floors[shelf]
        middle = complex(_stepped(ends[shelf] + size.real / 2), _stepped(floor + size.imag / 2))
        places[k] = Place(middle=middle, turned=turned[k])
        ends[shelf] = middle.real + size.real / 2 + gap
    reached = max(end - gap for end in ends)
    flipped = top - gap
    return Packed(
        places=tuple(_upside(places[k], flipped) for k in range(len(sizes))), size=complex(reached, flipped)
    )


def _upside(place: Place, height: float) -> Place:
    """The first shelf at the top, as one reads."""
    return Place(middle=complex(place.middle.real, _stepped(height - place.middle.imag)), turned=place.turned)


def _in_grid(sizes: Sequence[Point], width: float, count: int, gap: float) -> Packed:
    """So many columns; boards of one height fill rows of their own."""
    turned = [not _same(size.real, width) for size in sizes]
    heights = [round((size.real if turn else size.imag), 9) for size, turn in zip(sizes, turned, strict=True)]
    rows: list[tuple[float, list[int]]] = []
    for k, height in enumerate(heights):
        row = next((own for own in rows if own[0] == height and len(own[1]) < count), None)
        if row is None:
            rows.append(row := (height, []))
        row[1].append(k)
    count = max(len(own) for _, own in rows)
    columns = [(k * (width + gap), k * (width + gap) + width) for k in range(count)]
    whole = sum(height for height, _ in rows) + gap * (len(rows) - 1)
    places: dict[int, Place] = {}
    spans, top = [], whole
    for height, own in rows:
        spans.append((top - height, top))
        for column, k in enumerate(own):
            middle = complex(sum(columns[column]) / 2, top - height / 2)
            places[k] = Place(middle=complex(_stepped(middle.real), _stepped(middle.imag)), turned=turned[k])
        top -= height + gap
    return Packed(
        places=tuple(places[k] for k in range(len(sizes))),
        size=complex(columns[-1][1], whole),
        columns=tuple(columns),
        rows=tuple(reversed(spans)),
    )


def _stepped(length: float) -> float:
    return round(length / STEP) * STEP
