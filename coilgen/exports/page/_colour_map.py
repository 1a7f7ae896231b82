"""A quantity over a plane as bands of colour, with a key: lighter is more."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coilgen.exports.page._chart import HEIGHT, WIDTH, spaced
from coilgen.exports.page._map_lines import MapLines, add_key, add_map_lines, key_height
from coilgen.exports.page._scale import Axis, Scale, scale
from coilgen.exports.picture._svg import Element, add
from coilgen.frozen import dataclass

LEFT, TOP, BOTTOM, KEY = 66.0, 26.0, 46.0, 104.0
BANDS = 16
RAMP = ("#10204a", "#3a2b86", "#84307f", "#c04a62", "#de7746", "#eda63a", "#f7e3a8")
"""From least to most, each step lighter: Nuñez, Anderton, Renslow, PLOS ONE, 2018 for the principle."""
BOTH_WAYS = ("#1d3a80", "#4f7fc0", "#a9c8e6", "#f4f2ec", "#f2c39b", "#d0713f", "#84280f")
"""From most downward over nothing to most upward, darker the more."""


@dataclass(frozen=True, kw_only=True)
class ColourMap:
    """A map. across, up: axes of the plane; shown: the quantity. cells: x, y, value at points of a grid.

    signed: zero is in the middle of the colours. lines: drawn over them, and told in a key below.
    """

    title: str
    says: str
    across: Axis
    up: Axis
    shown: Axis
    cells: tuple[tuple[float, float, float], ...]
    signed: bool = False
    lines: tuple[MapLines, ...] = ()

    @property
    def scale(self) -> Scale:
        """Of the colours."""
        return map_scale(self.shown, [value for _, _, value in self.cells], signed=self.signed)


def map_scale(shown: Axis, values: Sequence[float], *, signed: bool) -> Scale:
    """The scale of a map's colours over its values; a signed one reaches as far down as up."""
    largest = max(map(abs, values))
    return scale(shown, [-largest, largest] if signed else values)


def colour_map_svg(chart: ColourMap) -> Element:
    """The map as an SVG element, one unit of length the same on both axes.

    ValueError for points that are no full grid of two rows and columns at least.
    """
    xs, ys = (sorted({cell[k] for cell in chart.cells}) for k in (0, 1))
    values = {(x, y): value for x, y, value in chart.cells}
    if len(xs) < 2 or len(ys) < 2 or len(values) != len(xs) * len(ys):
        raise ValueError("a map needs every point of a grid")
    levels, ramp = chart.scale, BOTH_WAYS if chart.signed else RAMP
    shares = np.array([[levels.share(values[x, y]) for x in xs] for y in ys])
    smooth = _refined(np.array(xs), np.array(ys), shares)
    unit = min((WIDTH - LEFT - KEY) / (xs[-1] - xs[0]), (HEIGHT - TOP - BOTTOM) / (ys[-1] - ys[0]))
    width, height = unit * (xs[-1] - xs[0]), unit * (ys[-1] - ys[0])
    foot = TOP + height + BOTTOM
    view = f"0 0 {WIDTH:g} {foot + key_height(chart.lines, WIDTH):.1f}"
    root = Element("svg", {"class": "chart map", "viewBox": view, "role": "img", "aria-label": chart.says})
    _add_cells(root, smooth, unit, ramp)
    _add_axes(root, chart, (xs[0], xs[-1], ys[0], ys[-1]), (width, height))
    _add_levels(root, levels, LEFT + width + 24, height, ramp)
    if chart.lines:

        def place(at: tuple[float, float]) -> tuple[float, float]:
            return LEFT + unit * (at[0] - xs[0]), TOP + unit * (ys[-1] - at[1])

        add_map_lines(root, chart.lines, place, (LEFT, TOP, width, height))
        add_key(root, chart.lines, foot, WIDTH)
    return root


Floats = NDArray[np.float64]

FINE = 120
"""Columns and rows at least that a map is drawn in: its bands end where contours run."""


def _refined(xs: Floats, ys: Floats, shares: Floats) -> tuple[Floats, Floats, Floats]:
    """A finer grid, straight between neighbours; shares of the colours' scale (y, x)."""
    across, up = -(-FINE // len(xs)), -(-FINE // len(ys))
    return _between(xs, across), _between(ys, up), _between(_between(shares, across).T, up).T


def _between(values: Floats, steps: int) -> Floats:
    """With so many equal steps from each value to the next, along the last axis."""
    low, high = values[..., :-1, None], values[..., 1:, None]
    inside = low + (high - low) * np.arange(steps) / steps
    return np.concatenate([inside.reshape(*values.shape[:-1], -1), values[..., -1:]], axis=-1)


def _add_cells(root: Element, grid: tuple[Floats, Floats, Floats], unit: float, ramp: Sequence[str]) -> None:
    """Neighbouring cells of one band in a row are one box, and the boxes of a band one path."""
    xs, ys, shares = grid
    cells = add(root, "g", class_="cells")
    cells.set("shape-rendering", "crispEdges")
    across = [f"{LEFT + unit * edge:.2f}" for edge in (_edges(xs) - xs[0]).tolist()]
    up = [f"{TOP + unit * edge:.2f}" for edge in (ys[-1] - _edges(ys)).tolist()]
    boxes: dict[int, list[str]] = {}
    bands = np.minimum(BANDS - 1, (shares * BANDS).astype(np.intp))
    for row, (bottom, top) in zip(bands, pairwise(up), strict=True):
        changes = np.flatnonzero(row[1:] != row[:-1]) + 1
        for begin, end in pairwise([0, *changes.tolist(), len(row)]):
            left, right = across[begin], across[end]
            boxes.setdefault(int(row[begin]), []).append(f"M{left} {top}H{right}V{bottom}H{left}Z")
    for band in sorted(boxes):
        add(cells, "path", d="".join(boxes[band]), fill=band_colour(band, ramp))


def _edges(places: Floats) -> Floats:
    """Ends of the strips round places, half-way to their neighbours (n + 1,)."""
    return np.concatenate([places[:1], (places[:-1] + places[1:]) / 2, places[-1:]])


def band_colour(band: int, ramp: Sequence[str] = RAMP) -> str:
    """Of a band, 0 = least.

    >>> band_colour(0), band_colour(BANDS - 1)
    ('#10204a', '#f7e3a8')
    """
    place = band / (BANDS - 1) * (len(ramp) - 1)
    step = min(int(place), len(ramp) - 2)
    low, high = (bytes.fromhex(colour[1:]) for colour in ramp[step : step + 2])
    return "#" + "".join(f"{round(a + (b - a) * (place - step)):02x}" for a, b in zip(low, high, strict=True))


def _add_axes(
    root: Element, chart: ColourMap, ends: tuple[float, float, float, float], size: tuple[float, float]
) -> None:
    grid, (width, height) = add(root, "g", class_="grid"), size
    add(grid, "rect", x=f"{LEFT}", y=f"{TOP}", width=f"{width:.1f}", height=f"{height:.1f}", class_="frame")
    across, up = scale(chart.across, ends[:2]), scale(chart.up, ends[2:])
    for tick, label in zip(across.ticks, across.labels, strict=True):
        if ends[0] <= tick <= ends[1]:
            x = LEFT + width * (tick - ends[0]) / (ends[1] - ends[0])
            add(grid, "text", label, x=f"{x:.1f}", y=f"{TOP + height + 16:.1f}", text_anchor="middle")
    places = [TOP + height * (ends[3] - tick) / (ends[3] - ends[2]) for tick in up.ticks]
    for (tick, label), y in spaced(up, places, 15):
        if ends[2] <= tick <= ends[3]:
            add(grid, "text", label, x=f"{LEFT - 7:.1f}", y=f"{y + 4:.1f}", text_anchor="end")
    foot = f"{TOP + height + 38:.1f}"
    add(grid, "text", across.title, x=f"{LEFT + width / 2:.1f}", y=foot, text_anchor="middle", class_="title")
    add(grid, "text", up.title, x="4", y="14", class_="title")


def _add_levels(root: Element, levels: Scale, x: float, height: float, ramp: Sequence[str]) -> None:
    key = add(root, "g", class_="grid")
    step = height / BANDS
    for band in range(BANDS):
        y = TOP + height - (band + 1) * step
        add(
            key,
            "rect",
            x=f"{x:.1f}",
            y=f"{y:.1f}",
            width="14",
            height=f"{step + 0.3:.1f}",
            fill=band_colour(band, ramp),
        )
    places = [TOP + height * (1 - levels.share(tick)) for tick in levels.ticks]
    for (_, label), y in spaced(levels, places, 15):
        add(key, "text", label, x=f"{x + 20:.1f}", y=f"{y + 4:.1f}")
    add(key, "text", levels.title, x=f"{x:.1f}", y="14", class_="title")
