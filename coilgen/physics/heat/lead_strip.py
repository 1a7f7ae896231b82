"""A strip of board with leads on it, cut across its width and along its length into nodes of heat."""

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import TypedDict

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.heat.body import COPPER_CONDUCTIVITY, COPPER_HEAT_CAPACITY, Orientation
from coilgen.physics.heat.faces import LOOKS, Face
from coilgen.physics.heat.lead_body import Lead, Leads, Stiff, Stretch, Strip
from coilgen.physics.heat.lead_parts import LOSS, Made, Root, Sheet, edge_resistance, half

_FIRST, _GROWTH, _MOST = 0.3, 1.8, 5
"""Cells beside a lead: the nearest over the fin length, each over the one before, number from each end."""
_ALONG, _LEAST = 0.5, 1 / 12
"""Cells along: the first over the copper's fin length; at most so much of the strip."""


class Air(TypedDict):
    """Which way the faces look, and their emissivity."""

    orientation: Orientation
    emissivity: float


@dataclass(frozen=True)
class _Site:
    """Where copper lies across the strip: from its left to its right edge, m; numbers of the leads there."""

    left: float
    right: float
    leads: tuple[int, ...]

    @property
    def width(self) -> float:
        return self.right - self.left


@dataclass(frozen=True)
class Column:
    """Nodes of a column at a station: its board, and the copper on it by the lead's number."""

    board: int
    copper: dict[int, int]


class Cut:
    """A strip cut across and along; columns from left to right, some with copper on them.

    layers: of copper, how deep each lies under the strip's top, in dielectric and covers, m.
    """

    def __init__(self, strip: Strip, leads: Leads, dielectric: tuple[float, ...], sheet: Sheet) -> None:
        self.strip, self.leads, self.sheet = strip, leads.leads, sheet
        self.layers = tuple(leads.covers[0] + sum(dielectric[:layer]) for layer in range(len(dielectric) + 1))
        self.sites = _sites(strip, self.leads)
        self.columns = list(self._columns())
        self.stations = _stations(strip, self.leads, self.sheet)

    def _columns(self) -> Iterator[tuple[float, _Site | None]]:
        """Width of each with the site that it is."""
        half, at = self.strip.width / 2, -self.strip.width / 2
        for number, site in enumerate(self.sites):
            yield from ((each, None) for each in self._beside(site.left - at, number > 0, True))
            yield site.width, site
            at = site.right
        yield from ((each, None) for each in self._beside(half - at, True, False))

    def _beside(self, length: float, left: bool, right: bool) -> list[float]:
        """Cells of bare board, fine towards copper on its left and on its right."""
        if length <= 1e-9:
            return []
        return graded(length, _FIRST * self.sheet.fin, left, right)

    def lay(self, made: Made, roots: list[Root], rim: int, air: Air) -> None:
        """All nodes and joints; roots: of each lead; rim: the board's node that the strip leaves."""
        rows = [self._row(made, low, high) for low, high in pairwise(self.stations)]
        first = self.stations[1] / 2
        for (width, _), column in zip(self.columns, rows[0], strict=True):
            made.join(rim, column.board, self.sheet.along * width / first)
        for number, root in enumerate(roots):
            self._along_copper(made, number, root, rows)
        for (one, other), (low, mid, high) in zip(
            pairwise(rows),
            zip(self.stations, self.stations[1:], self.stations[2:], strict=False),
            strict=True,
        ):
            apart = (high - low) / 2
            sheets = self._sheet(low, mid), self._sheet(mid, high)
            sheet = apart / ((mid - low) / 2 / sheets[0] + (high - mid) / 2 / sheets[1])
            for (width, _), here, there in zip(self.columns, one, other, strict=True):
                made.join(here.board, there.board, sheet * width / apart)
        made.faces += list(self._faces(rows, air))

    def _sheet(self, low: float, high: float) -> float:
        """Conductivity times thickness between two places along, W/K."""
        return self.sheet.along + sum(each.sheet * _overlap(each, low, high) for each in self.strip.stiff)

    def _row(self, made: Made, low: float, high: float) -> list[Column]:
        """Nodes of a station."""
        length, laminate = high - low, self.sheet.laminate
        each = self.sheet.thickness * laminate.density * laminate.heat_capacity
        each += sum(stiff.capacity * _overlap(stiff, low, high) for stiff in self.strip.stiff)
        row: list[Column] = []
        for width, site in self.columns:
            base, copper = made.node(each * width * length, strip=True), {}
            for number in site.leads if site else ():
                part = _between(self.leads[number].far, low, high, self.strip.length)
                if part is None:
                    continue
                copper[number] = made.node(
                    part.section * part.length * COPPER_HEAT_CAPACITY, part.resistance_20c, strip=True
                )
                through = self.sheet.thickness / 2 / laminate.conductivity
                made.join(copper[number], base, width * length / through)
            row.append(Column(base, copper))
        self._across(made, row, length, self._sheet(low, high))
        return row

    def _across(self, made: Made, row: list[Column], length: float, sheet: float) -> None:
        """Joints of a station's columns, side by side."""
        widths = [width for width, _ in self.columns]
        for k, (one, other) in enumerate(pairwise(row)):
            apart = (widths[k] + widths[k + 1]) / 2
            if not one.copper and not other.copper:
                made.join(one.board, other.board, sheet * length / apart)
            elif sheet > self.sheet.along:
                # A stiffener lies away from the copper: it joins what is beneath that to what is beside.
                made.join(one.board, other.board, (sheet - self.sheet.along) * length / apart)
        for k, (_, site) in enumerate(self.columns):
            if row[k].copper:
                assert site is not None
                self._round_copper(made, site, row, k, length)

    def _round_copper(self, made: Made, site: _Site, row: list[Column], k: int, length: float) -> None:
        """Joints of a site's copper to the board on both sides, and of these beneath it."""
        sides = [(row[j].board, self.columns[j][0] / 2) for j in (k - 1, k + 1) if 0 <= j < len(row)]
        if any(row[j].copper for j in (k - 1, k + 1) if 0 <= j < len(row)):
            raise ValueError("leads side by side leave board between them")
        for number, node in row[k].copper.items():
            alike, passing = (self._edge(site, number, passing=each) for each in (False, True))
            rest = [half / (self.sheet.along / len(row[k].copper)) for _, half in sides]
            for (beside, _), more in zip(sides, rest, strict=True):
                made.join(node, beside, length / (alike + more))
            if len(sides) == 2:
                more = sum(rest) / 2
                across = (1 / (passing + more) - 1 / (alike + more)) / 2
                made.join(sides[0][0], sides[1][0], length * across)

    def _edge(self, site: _Site, number: int, *, passing: bool) -> float:
        """Of the edge of a lead's copper, into its share of the board above and below it, K m/W."""
        whole, count = self.sheet.thickness, len(site.leads)
        place = site.leads.index(number)
        low, high = whole * place / count, whole * (place + 1) / count
        depth = min(max(self.layers[self.leads[number].far[0].layer], low), high)
        shares = [(part / (high - low), part) for part in (depth - low, high - depth)]
        # Heat shared out as the far sheets have it: by Thomson's principle no less resistance is true, and
        # where the copper lies in the middle or on a face it is exact.
        return sum(
            share**2 * edge_resistance(site.width, part, self.sheet.laminate, passing=passing)
            for share, part in shares
            if share > 0
        )

    def _along_copper(self, made: Made, number: int, root: Root, rows: list[list[Column]]) -> None:
        """A lead's copper from its root to its end."""
        far = self.leads[number].far
        for row, (low, high) in zip(rows, pairwise(self.stations), strict=True):
            nodes = [column.copper[number] for column in row if number in column.copper]
            part = _between(far, low, high, self.strip.length)
            if part is None or not nodes:
                return
            made.join(root.node, nodes[0], 1 / (root.left + half(part)))
            root = Root(nodes[0], half(part))

    def _faces(self, rows: list[list[Column]], air: Air) -> Iterator[Face]:
        last = len(self.layers) - 1
        for side, word, facing in zip((0, last), ("top", "bottom"), LOOKS[air["orientation"]], strict=True):
            nodes, areas = [], []
            for row, (low, high) in zip(rows, pairwise(self.stations), strict=True):
                for (width, _), column in zip(self.columns, row, strict=True):
                    shown = [node for k, node in column.copper.items() if self.leads[k].far[0].layer == side]
                    nodes.append(shown[0] if shown else column.board)
                    areas.append(width * (high - low))
            yield Face(
                name=f"strip's {word}",
                nodes=np.array(nodes),
                area=np.array(areas),
                film=np.array(areas),
                facing=facing,
                free=1.0,
                height=self.strip.outline.height,
                breadth=self.strip.outline.breadth,
                emissivity=air["emissivity"],
            )


def graded(length: float, finest: float, left: bool, right: bool) -> list[float]:
    """Cells of a length that are finest at the ends told and grow away from them, m."""
    if left and right:
        half = graded(length / 2, finest, True, False)
        return [*half, *half[::-1]]
    cells: list[float] = []
    size = finest
    while len(cells) < _MOST - 1 and sum(cells) + 1.5 * size < length:
        cells.append(size)
        size *= _GROWTH
    cells.append(length - sum(cells))
    return cells[::-1] if right else cells


def _sites(strip: Strip, leads: tuple[Lead, ...]) -> list[_Site]:
    """From left to right; leads above one another share one."""
    found: list[_Site] = []
    half = strip.width / 2
    wide = {number: _longest(lead.far).width for number, lead in enumerate(leads) if lead.far}
    for number in sorted(wide, key=lambda number: leads[number].across):
        left, right = (leads[number].across + side * wide[number] / 2 for side in (-1, 1))
        own = _Site(max(left, -half), min(right, half), (number,))
        if found and own.left < found[-1].right - 1e-9:
            last = found.pop()
            both = sorted((*last.leads, number), key=lambda each: leads[each].far[0].layer)
            own = _Site(min(last.left, own.left), max(last.right, own.right), tuple(both))
        found.append(own)
    return found


def _stations(strip: Strip, leads: tuple[Lead, ...], sheet: Sheet) -> list[float]:
    """Places along the strip that its cells begin at: where something ends, and finer towards the root."""
    section = max(_longest(lead.far).section for lead in leads if lead.far)
    copper = math.sqrt(COPPER_CONDUCTIVITY * section / (2 * math.sqrt(LOSS * sheet.along)))
    ends = {0.0, strip.length}
    for lead in leads:
        at, size = 0.0, min(1.0, strip.length / _whole(lead.far)) if lead.far else 1.0
        for part in lead.far:
            at += size * part.length
            ends.add(at)
    for stiff in strip.stiff:
        ends |= {stiff.start, stiff.end}
    kept = [0.0]
    for end in sorted(ends):
        if kept[-1] + 0.02 * strip.length < end < 0.98 * strip.length:
            kept.append(end)
    found = []
    for low, high in pairwise([*kept, strip.length]):
        cells = graded(high - low, min(_ALONG * copper, _LEAST * strip.length), True, low > 0.0)
        found += list(low + np.cumsum([0.0, *cells[:-1]]))
    return [*found, strip.length]


def _longest(stretches: tuple[Stretch, ...]) -> Stretch:
    """What most of a lead is like."""
    return max(stretches, key=lambda part: part.length)


def _between(stretches: tuple[Stretch, ...], low: float, high: float, longest: float) -> Stretch | None:
    """A lead between two places along the strip as one stretch of the same resistance and copper.

    None beyond its end, and of less than a hundredth of the way. longest: of the strip, m; a lead that is
    longer, as it goes aside too, counts as that long.
    """
    size = min(1.0, longest / _whole(stretches)) if stretches else 1.0
    at, length, ohm, volume = 0.0, 0.0, 0.0, 0.0
    for part in stretches:
        end = at + size * part.length
        share = max(0.0, min(high, end) - max(low, at)) / (size * part.length)
        at, length, ohm = end, length + share * part.length, ohm + share * part.resistance_20c
        volume += share * part.length * part.section
    if size * length < 0.01 * (high - low):
        return None
    first = stretches[0]
    return replace(first, length=length, width=volume / length / first.thickness, resistance_20c=ohm)


def _whole(stretches: tuple[Stretch, ...]) -> float:
    """Length of all, m."""
    return sum(part.length for part in stretches)


def _overlap(stiff: Stiff, low: float, high: float) -> float:
    """Share of the way between two places that is stiffened."""
    return max(0.0, min(high, stiff.end) - max(low, stiff.start)) / (high - low)
