"""Plots of a mover, of a ring or of a row: against its place, and against its speed at the supply."""

import math
from collections.abc import Callable, Sequence

from coilgen.design.design import Design
from coilgen.exports.page._chart import Chart, Curve
from coilgen.exports.page._plot import Rows, column
from coilgen.exports.page._scale import Axis

Charts = Callable[[Rows, Design], Sequence[Chart]]

_UNITS = {"torque": "N m", "force": "N"}
_NAMES = {"torque": "torque", "force": "thrust"}
_DRIVES = {"sinusoidal": "sinusoidal", "six_step": "six steps"}


def whole_period(rows: Rows) -> Rows:
    """Rows of even steps over one period, the first again at its end; the place comes first, angles in
    degrees.

    >>> whole_period([{"position": 0.0, "force": 1.0}, {"position": 1e-3, "force": 2.0}])[-1]
    {'position': 0.002, 'force': 1.0}
    """
    across = next(iter(rows[0]))
    step = rows[1][across] - rows[0][across]
    return in_degrees([*rows, {**rows[0], across: rows[-1][across] + step}])


def in_degrees(rows: Rows) -> Rows:
    """With angles in degrees, as a mover is turned on the bench."""
    return [{**row, "angle": math.degrees(row["angle"])} if "angle" in row else row for row in rows]


def place_axis(across: str) -> Axis:
    """Of a ring's angle, or of a place along a row."""
    return Axis(says=across, unit="°" if across == "angle" else "m")


def against_place(what: str, across: str) -> Charts:
    """what: torque or force."""
    name, where = _NAMES[what], f"its {across} over one period, two poles"

    def charts(rows: Rows, design: Design) -> list[Chart]:
        told = whole_period(rows)
        driven = Chart(
            title=f"{name.capitalize()} on the mover against its {across}",
            says=f"{name.capitalize()} of the drive's currents on the mover over {where}.",
            across=place_axis(across),
            up=Axis(says=what, unit=_UNITS[what], from_zero=True),
            curves=tuple(column(told, across, part, says) for part, says in _parts(what, rows)),
        )
        both = [
            column(told, across, drive, says)
            for drive, says in _DRIVES.items()
            if any(row.get(drive) is not None for row in rows)
        ]
        if len(both) < 2:
            return [driven]
        return [driven, _by_drive(what, across, where, both)]

    return charts


def _parts(what: str, rows: Rows) -> list[tuple[str, str]]:
    """With the drive's current, and of cores without current."""
    cogging = [("cogging", "without current")] if "cogging" in rows[0] else []
    return [(what, "with the drive's current"), *cogging]


def _by_drive(what: str, across: str, where: str, both: Sequence[Curve]) -> Chart:
    name = _NAMES[what]
    return Chart(
        title=f"{name.capitalize()} per ampere by either drive",
        says=f"{name.capitalize()} over the currents' amplitude, sinusoidal or in six steps, over {where}.",
        across=place_axis(across),
        up=Axis(says=f"{what} per ampere", unit=f"{_UNITS[what]}/A", from_zero=True),
        curves=tuple(both),
    )


def against_speed(what: str) -> Charts:
    """what: torque or force; with current and efficiency, each over a scale of its own."""
    name = _NAMES[what]
    parts = (
        (what, Axis(says=what, unit=_UNITS[what], from_zero=True), f"{name.capitalize()} against speed"),
        ("current", Axis(says="amplitude of current", unit="A", from_zero=True), "Current against speed"),
        ("efficiency", Axis(says="efficiency", unit="1", from_zero=True), "Efficiency against speed"),
    )

    def charts(rows: Rows, design: Design) -> list[Chart]:
        ring = what == "torque"
        told = [{**row, "speed": row["speed"] * 30 / math.pi} for row in rows] if ring else rows
        across = Axis(says="speed", unit="r/min" if ring else "m/s")
        return [
            Chart(
                title=title,
                says=f"{title} of the mover at the drive's supply, without friction.",
                across=across,
                up=up,
                curves=(column(told, "speed", part, "at the supply"),),
            )
            for part, up, title in parts
            if part in rows[0]
        ]

    return charts
