"""Voltages that the mover induces in the phases of an array."""

from collections.abc import Sequence

from coilgen.design.design import Design
from coilgen.exports.page._chart import Chart
from coilgen.exports.page._mover import place_axis, whole_period
from coilgen.exports.page._plot import Plot, Rows, column
from coilgen.exports.page._scale import Axis

_SHOWN = 3
"""Phases; more would not be told apart, and are as the first ones, shifted."""


def charts(rows: Rows, design: Design) -> Sequence[Chart]:
    """Phase by phase, against the mover's angle or place."""
    across, *phases = rows[0]
    row, told = across == "place", whole_period(rows)
    return [
        Chart(
            title="Voltages of the phases over the speed",
            says="Voltage that the moving magnets induce in each phase, over the speed, for one period.",
            across=place_axis(across),
            up=Axis(says="voltage over speed", unit="V s/m" if row else "V s/rad", from_zero=True),
            curves=tuple(column(told, across, phase, f"phase {phase}") for phase in phases[:_SHOWN]),
        )
    ]


PLOT = Plot(figure="voltage_against_angle", charts=charts)
