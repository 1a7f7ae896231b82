"""What a plot of the coil page is: the figure it needs, and its pictures."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from coilgen.exports._chart import Chart, Curve
from coilgen.exports._colour_map import ColourMap
from coilgen.exports._scale import Axis

Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True, kw_only=True)
class Plot:
    """A kind of plot: `charts` draws the rows of the table that is the figure's value."""

    figure: str
    charts: Callable[[Rows], Sequence[Chart | ColourMap]]


def column(rows: Rows, across: str, up: str, says: str) -> Curve:
    """Two columns of a table as a curve, from left to right; rows without a value are left out."""
    points = [(float(row[across]), float(row[up])) for row in rows if row[up] is not None]
    return Curve(says=says, points=tuple(sorted(points)))


def one_curve(figure: str, title: str, says: str, across: Axis, up: Axis) -> Plot:
    """The plot of a figure with two columns that bear the axes' names."""

    def charts(rows: Rows) -> list[Chart]:
        curve = column(rows, across.says, up.says, up.says)
        return [Chart(title=title, says=says, across=across, up=up, curves=(curve,))]

    return Plot(figure=figure, charts=charts)
