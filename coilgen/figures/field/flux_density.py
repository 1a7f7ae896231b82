"""Flux density of the winding on its axis, above the top face and below the bottom face."""

import numpy as np

from coilgen.physics.field.biot_savart import axis_flux_density
from coilgen.result.figure import Answer, Case, Quantity


def _flux_density(case: Case) -> Answer:
    stackup, current = case.design.board.stackup, case.value("current")
    heights = case.design.probe.heights
    levels = np.array([*heights, *(-stackup.thickness - height for height in heights)])
    per_ampere = sum(
        strand.share * axis_flux_density(strand.conductor, levels)[:, 2] for strand in case.strands
    )
    sides = ["top"] * len(heights) + ["bottom"] * len(heights)
    return Answer(
        value=[
            {
                "side": side,
                "height": height,
                "flux_density": float(value * current),
                "per_ampere": float(value),
            }
            for side, height, value in zip(sides, [*heights, *heights], np.ravel(per_ampere), strict=True)
        ],
        model="closed-form Biot-Savart of all traces, the part along the axis, positive up; no core or metal "
        "near; at the current while the drive is on, copper at 20 degC",
    )


FIGURES = (
    Quantity(
        name="flux_density",
        unit="table(side, height m, flux_density T, per_ampere T/A)",
        says="flux density on the axis at the probe heights",
        group="field",
        compute=_flux_density,
    ),
)
