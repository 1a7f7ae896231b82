"""Which places of a row landings take: as near as may be to where their spirals end, clear of all else."""

import math
from collections.abc import Iterator
from dataclasses import replace

from coilgen.layout.landings.landing import Landing
from coilgen.layout.landings.row import ROUNDING, Keepout, Row, pads
from coilgen.layout.lengths import ON_ARC


def chosen(
    row: Row, wanted: dict[int, float], keepouts: list[Keepout], pocket: Keepout | None
) -> dict[int, Landing] | None:
    """A place for each layer that ends in this row, as near as may be to its wanted angle (turns)."""
    found: dict[int, Landing] = {}
    for group in _groups(wanted):
        places = _side_by_side(row, group, keepouts + pads(row, found.values()), pocket)
        if places is None:
            return None
        found |= places
    return found


def _groups(wanted: dict[int, float]) -> list[dict[int, float]]:
    """Layers that end at the same angle of the circle, together."""
    groups: dict[float, dict[int, float]] = {}
    for layer, turns in wanted.items():
        groups.setdefault(round(turns % 1.0, 6) % 1.0, {})[layer] = turns
    return list(groups.values())


def _side_by_side(
    row: Row, group: dict[int, float], keepouts: list[Keepout], pocket: Keepout | None
) -> dict[int, Landing] | None:
    """Spread evenly about the wanted angle where that is clear, else each in the nearest clear place."""
    if not row.lengths.outline.exists(row.level):
        return None
    first = next(iter(group.values()))
    places = _spread(row, len(group), first)
    if not places or not all(row.clear(place, keepouts, pocket) for place in places):
        places = _nearest_clear(row, len(group), first, keepouts, pocket)
    if len(places) < len(group):
        return None
    return {
        layer: replace(place, side=place.side + round((turns - first) * row.lengths.outline.count))
        for (layer, turns), place in zip(group.items(), places, strict=True)
    }


def _spread(row: Row, count: int, turns: float) -> list[Landing]:
    """Places side by side about the middle of the wanted side; none when the wanted angle is not a middle."""
    sides = row.lengths.outline.count
    side = round(turns * sides)
    if abs(turns * sides - side) > ROUNDING * max(1, side):
        return []
    span, (low, high) = row.span(side), row.room(side)
    stretch = row.lengths.outline.side(side).stretch(row.step, row.level)
    step = span + row.step * max(1.0, stretch / (1 + ON_ARC))
    centres = [(k - (count - 1) / 2) * step for k in range(count)]
    if not low <= centres[0] <= centres[-1] <= high:
        return []
    return [row.place(side, centre - span / 2) for centre in centres]


def _nearest_clear(
    row: Row, count: int, turns: float, keepouts: list[Keepout], pocket: Keepout | None
) -> list[Landing]:
    taken: list[tuple[float, Landing]] = []
    for angle, place in _candidates(row, turns):
        if row.clear(place, keepouts + pads(row, [each for _, each in taken]), pocket):
            taken.append((angle, place))
            if len(taken) == count:
                break
    return [each for _, each in sorted(taken, key=lambda item: item[0])]


def _candidates(row: Row, turns: float) -> Iterator[tuple[float, Landing]]:
    """Places within half a turn of a wanted angle, nearest first, an eighth of a pad apart."""
    outline, found = row.lengths.outline, []
    nearest = round(turns * outline.count)
    for side in range(nearest - outline.count // 2, nearest + outline.count // 2 + 1):
        half, middles = row.span(side) / 2, _middles(row, side)
        for angle, middle in zip(outline.turns(side, middles, row.level), middles, strict=True):
            off = round(abs(angle - turns), 9)  # as far before as after: the one before, on every machine
            if off <= 0.5:
                found.append((off, angle, side, middle - half))
    for _, angle, side, along in sorted(found):
        yield angle, row.place(side, along)


def _middles(row: Row, side: int) -> list[float]:
    """Distances along a side at which a place may have its middle; none where the side has no room."""
    low, high = row.room(side)
    if not low <= high:
        return []
    step = row.half / 4
    return [low, *(k * step for k in range(math.ceil(low / step), int(high / step) + 1)), high]
