"""Flux density along the axis on both sides, fine enough for a smooth curve."""

import numpy as np

from coilgen.figures.core._flux_density import flux_density_at
from coilgen.figures.core._magnetics import axis_told, counted, on_axis
from coilgen.figures.field._laminate import NOTHING
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Answer, Case, Quantity

STEPS = 40
NEAR = 1e-6
"""m by which the nearest point is off the face: it is in the air even where the axis meets a core."""


def _across(case: Case) -> float:
    """How far the copper is from the axis, of an array that of one coil, m."""
    return case.windings[0].case.reach if case.design.array is not None else case.reach


def _heights(case: Case) -> Floats:
    """From the outermost faces, m."""
    return np.linspace(0.0, max(max(case.design.probe.heights), _across(case)), STEPS + 1)


def _points(case: Case) -> Floats:
    """Above the top, then below the bottom, (n, 3) m."""
    stand, heights = case.design.stand, _heights(case)
    top, bottom = stand.face("top") + NEAR, stand.face("bottom") - NEAR
    return on_axis(case, np.concatenate([top + heights, bottom - heights]))


def _along(case: Case) -> Answer:
    heights = _heights(case)
    normal = flux_density_at(case, _points)[:, 2]
    above, below = np.split(np.where(np.abs(normal) < NOTHING, 0.0, normal), 2)
    return Answer(
        value=[
            {"height": round(float(height), 9), "above": float(up), "below": float(down)}
            for height, up, down in zip(heights, above, below, strict=True)
        ],
        model=f"{axis_told(case)}the part along the axis, positive up, at heights from the outermost "
        f"face of each side; {counted(case)}",
    )


FIGURES = (
    Quantity(
        name="axis_flux_density",
        unit="table(height m, above T, below T)",
        says="flux density along the axis",
        group="field",
        compute=_along,
        of="board",
    ),
)
