"""Line plots as SVG: curves over two scales, told apart by colour, dashes and marks."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from coilgen.exports.page._scale import Axis, Scale, scale
from coilgen.exports.picture._svg import Element, add
from coilgen.frozen import dataclass

WIDTH, HEIGHT = 520.0, 320.0
LEFT, RIGHT, TOP, BOTTOM = 66.0, 28.0, 34.0, 48.0
"""Room round the curves for labels, in the picture's units."""

MARKED = 24
"""Curves of no more points than this have a mark at each."""

_BAND = "band"
_KEY_LETTER, _TITLE_LETTER = 6.7, 7.8
"""Room for a letter: of the key as most are, of a title at most."""
_KEY_ROOM = 50
"""Before the words of each entry of the key, for its line."""
_TITLE_LEFT = 4

KINDS = 4
"""Ways of drawing a curve that the style sheet knows."""


@dataclass(frozen=True, kw_only=True)
class Curve:
    """One line of a plot: points in the units of the axes, from left to right.

    band: at points of its own, between what and what it is expected.
    """

    says: str
    points: tuple[tuple[float, float], ...]
    band: tuple[tuple[float, float, float], ...] = ()

    @property
    def reach(self) -> list[float]:
        """Values that a scale has to hold."""
        return [*(y for _, y in self.points), *(end for _, *ends in self.band for end in ends)]


@dataclass(frozen=True, kw_only=True)
class Mark:
    """A value on the axis across that is pointed out."""

    says: str
    at: float


@dataclass(frozen=True, kw_only=True)
class Chart:
    """A plot. says: what it shows, for those who cannot see it. level: a value to keep under.

    mark: a value across that is pointed out where the curves reach it.
    """

    title: str
    says: str
    across: Axis
    up: Axis
    curves: tuple[Curve, ...]
    level: Curve | None = None
    mark: Mark | None = None


def chart_svg(chart: Chart) -> Element:
    """The plot as an SVG element; colours and dashes are the style sheet's."""
    root = Element(
        "svg",
        {"class": "chart", "viewBox": f"0 0 {WIDTH:g} {HEIGHT:g}", "role": "img", "aria-label": chart.says},
    )
    curves = tuple(_above_nothing(each) for each in chart.curves) if chart.up.logarithmic else chart.curves
    known = (*curves, *([chart.level] if chart.level else []))
    points = [point for curve in known for point in curve.points]
    across = scale(chart.across, [x for x, _ in points])
    up = scale(chart.up, [value for curve in known for value in curve.reach])
    _add_grid(root, across, up)
    for kind, curve in enumerate(curves):
        _add_band(root, curve, across, up, f"curve-{kind % KINDS + 1}")
    for kind, curve in enumerate(curves):
        _add_curve(root, curve, across, up, f"curve-{kind % KINDS + 1}")
    if chart.level:
        _add_curve(root, chart.level, across, up, "level")
    if chart.mark and min(x for x, _ in points) <= chart.mark.at <= max(x for x, _ in points):
        _add_pointer(root, chart.mark, across)
    _add_key(root, known, chart.level, up.title)
    return root


def _above_nothing(curve: Curve) -> Curve:
    """For a logarithmic axis: a band that reaches to nothing is cut off at a tenth of the least value."""
    least = min((y for _, y in curve.points), default=1.0) / 10
    return replace(curve, band=tuple((x, max(low, least), max(high, least)) for x, low, high in curve.band))


def x_of(across: Scale, value: float) -> float:
    """Where a value stands on the axis across."""
    return LEFT + across.share(value) * (WIDTH - LEFT - RIGHT)


def y_of(up: Scale, value: float) -> float:
    """Where a value stands on the axis up."""
    return HEIGHT - BOTTOM - up.share(value) * (HEIGHT - TOP - BOTTOM)


def _add_grid(root: Element, across: Scale, up: Scale) -> None:
    grid = add(root, "g", class_="grid")
    left, right, low, high = LEFT, WIDTH - RIGHT, HEIGHT - BOTTOM, TOP
    for (tick, label), x in spaced(across, [x_of(across, tick) for tick in across.ticks], 58):
        add(grid, "path", d=f"M{x:.1f} {low:.1f} V{high:.1f}", class_="zero" if tick == 0 else "line")
        add(grid, "text", label, x=f"{x:.1f}", y=f"{low + 18:.1f}", text_anchor="middle")
    for tick, label in zip(up.ticks, up.labels, strict=True):
        y = y_of(up, tick)
        add(grid, "path", d=f"M{left:.1f} {y:.1f} H{right:.1f}", class_="zero" if tick == 0 else "line")
        add(grid, "text", label, x=f"{left - 7:.1f}", y=f"{y + 4:.1f}", text_anchor="end")
    middle = (left + right) / 2
    add(
        grid,
        "text",
        across.title,
        x=f"{middle:.1f}",
        y=f"{HEIGHT - 8:.1f}",
        text_anchor="middle",
        class_="title",
    )
    add(grid, "text", up.title, x=f"{_TITLE_LEFT}", y="14", class_="title")


def _add_pointer(root: Element, mark: Mark, across: Scale) -> None:
    """An upright line with its words on the side that has more room."""
    group = add(root, "g", class_="pointer")
    x = x_of(across, mark.at)
    add(group, "path", d=f"M{x:.1f} {HEIGHT - BOTTOM:.1f} V{TOP:.1f}")
    left = x > (LEFT + WIDTH - RIGHT) / 2
    place = {"x": f"{x - 6 if left else x + 6:.1f}", "y": f"{TOP + 12:.1f}"}
    add(group, "text", mark.says, **place, text_anchor="end" if left else "start")


def spaced(axis: Scale, places: Sequence[float], room: float) -> Iterable[tuple[tuple[float, str], float]]:
    """Ticks with their labels, and their places; every second one and so on where they would touch."""
    step = min((abs(b - a) for a, b in pairwise(places)), default=room)
    every = max(1, -int(-room // step))
    labelled = zip(axis.ticks, axis.labels, strict=True)
    return list(zip(labelled, places, strict=True))[::every]


def _add_curve(root: Element, curve: Curve, across: Scale, up: Scale, kind: str) -> None:
    group = add(root, "g", class_=f"curve {kind}")
    places = [(x_of(across, x), y_of(up, y)) for x, y in curve.points]
    add(group, "path", d="M" + " L".join(f"{x:.1f} {y:.1f}" for x, y in places), fill="none")
    if len(places) <= MARKED and kind != "level":
        for x, y in places:
            _add_mark(group, x, y, kind)


def _add_band(root: Element, curve: Curve, across: Scale, up: Scale, kind: str) -> None:
    if not curve.band:
        return
    there = [(x_of(across, x), y_of(up, high)) for x, _, high in curve.band]
    back = [(x_of(across, x), y_of(up, low)) for x, low, _ in reversed(curve.band)]
    outline = "M" + " L".join(f"{x:.1f} {y:.1f}" for x, y in (*there, *back)) + " Z"
    add(add(root, "g", class_=f"band {kind}"), "path", d=outline)


def _add_mark(parent: Element, x: float, y: float, kind: str) -> None:
    """Discs and squares in turn, so that curves differ without colour."""
    if kind in ("curve-2", "curve-4"):
        add(parent, "rect", x=f"{x - 3:.1f}", y=f"{y - 3:.1f}", width="6", height="6", class_="mark")
    else:
        add(parent, "circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r="3.4", class_="mark")


def _add_key(root: Element, curves: Sequence[Curve], level: Curve | None, title: str) -> None:
    """From the right, over the curves, under the axis's title where both have no room side by side; none for
    a single curve without a band.
    """
    banded = any(curve.band for curve in curves)
    if len(curves) < 2 and not banded:
        return
    entries = [curve.says for curve in curves] + [_BAND] * banded
    first = 0
    for y, ends in _key_rows(entries, title):
        x = WIDTH - RIGHT - _key_width(entries[first:ends])
        for place in range(first, ends):
            x += _KEY_ROOM
            add(root, "text", entries[place], x=f"{x:.1f}", y=f"{y}", class_="key")
            if place == len(curves):
                swatch = f"M{x - 30:.1f} {y - 10} h24 v12 h-24 Z"
                add(add(root, "g", class_="band curve-1"), "path", d=swatch)
            else:
                _add_key_line(root, curves[place], place, x - 30, y - 4, level=curves[place] is level)
            x += _KEY_LETTER * len(entries[place])
        first = ends


def _key_rows(entries: Sequence[str], title: str) -> list[tuple[int, int]]:
    """Base lines of the key's rows, each with the entry before which it ends: one row where that has room."""
    beside = WIDTH - RIGHT - _TITLE_LEFT - _TITLE_LETTER * len(title) - 6
    fit = max(k for k in range(len(entries) + 1) if _key_width(entries[:k]) - 20 <= beside)
    if fit == len(entries):
        return [(14, fit)]
    if _key_width(entries) - 20 <= WIDTH - RIGHT - LEFT:
        return [(29, len(entries))]
    return [(14, fit), (29, len(entries))]


def _key_width(entries: Sequence[str]) -> float:
    return sum(_KEY_LETTER * len(says) + _KEY_ROOM for says in entries)


def _add_key_line(root: Element, curve: Curve, place: int, x: float, y: float, *, level: bool) -> None:
    kind = "level" if level else f"curve-{place % KINDS + 1}"
    group = add(root, "g", class_=f"curve {kind}")
    add(group, "path", d=f"M{x:.1f} {y} H{x + 24:.1f}", fill="none")
    if not level and len(curve.points) <= MARKED:
        _add_mark(group, x + 12, y, kind)
