"""What a plot of the coil page is: the figure it needs, and its pictures."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from coilgen.design.design import Design
from coilgen.exports.page._chart import Chart, Curve, Mark
from coilgen.exports.page._colour_map import ColourMap
from coilgen.exports.page._scale import Axis
from coilgen.exports.page._words import words
from coilgen.frozen import dataclass
from coilgen.result.figure import Figure
from coilgen.result.figure_text import value_text

Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True, kw_only=True)
class Plot:
    """A kind of plot: `charts` draws the rows of the table that is the figure's value, for a design.

    values: for a design, words for each figure of one value that is marked beside the curves, as a line.
    pointed: a figure of one value, if any, that is pointed out across, where the curves reach it.
    """

    figure: str
    charts: Callable[[Rows, Design], Sequence[Chart | ColourMap]]
    values: Callable[[Design], Mapping[str, str]] = lambda design: {}
    pointed: str | None = None

    def drawn(self, figures: Mapping[str, Figure], design: Design) -> list[Chart | ColourMap]:
        """The charts of a result's figures."""
        charts = self.charts(figures[self.figure].value, design)
        told = [(says, figures[name]) for name, says in self.values(design).items() if name in figures]
        marked = [_marked(each, told) if isinstance(each, Chart) and told else each for each in charts]
        if (pointed := figures.get(self.pointed or "")) is None or pointed.value is None:
            return marked
        return [_pointed(each, pointed) if isinstance(each, Chart) else each for each in marked]


def _pointed(chart: Chart, figure: Figure) -> Chart:
    return replace(
        chart, mark=Mark(says=f"{words(figure.name)}, {value_text(figure)}", at=float(figure.value))
    )


def _marked(chart: Chart, told: Sequence[tuple[str, Figure]]) -> Chart:
    """A chart with values as lines from end to end, each with its words and what it is."""
    places = [x for curve in chart.curves for x, _ in curve.points]
    lines = (
        Curve(
            says=f"{name}, {value_text(figure)}",
            points=tuple((at, float(figure.value)) for at in (min(places), max(places))),
        )
        for name, figure in told
    )
    return replace(chart, curves=(*chart.curves, *lines))


def column(rows: Rows, across: str, up: str, says: str) -> Curve:
    """Two columns of a table as a curve, from left to right, with its band where the table has one.

    Rows without a value are left out.
    """
    low, high = f"{up}_low", f"{up}_high"
    told = [row for row in rows if row[up] is not None]
    points = sorted((float(row[across]), float(row[up])) for row in told)
    band = sorted((float(row[across]), float(row[low]), float(row[high])) for row in told if low in row)
    return Curve(says=says, points=tuple(points), band=tuple(band))


def curves(
    figure: str,
    title: str,
    says: str,
    across: Axis,
    up: Axis,
    columns: Mapping[str, str],
    mark: Callable[[Design], Mark | None] = lambda design: None,
    values: Callable[[Design], Mapping[str, str]] = lambda design: {},
) -> Plot:
    """The plot of a table's columns, each with its words, against the column that bears the axis's name.

    A column that holds no value but zero is left out unless it is the first.
    """

    def charts(rows: Rows, design: Design) -> list[Chart]:
        first, *others = columns
        shown = [first, *(name for name in others if any(row.get(name) for row in rows))]
        drawn = tuple(column(rows, across.says, name, columns[name]) for name in shown)
        return [Chart(title=title, says=says, across=across, up=up, curves=drawn, mark=mark(design))]

    return Plot(figure=figure, charts=charts, values=values)


def as_designed(value: float, text: str) -> Mark:
    """The design's own value."""
    return Mark(says=f"as designed, {text}", at=value)
