"""Flux density on the axis with the cores, in front of and behind the coil."""

import numpy as np

from coilgen.figures.core._flux_density import winding_flux_density_at
from coilgen.figures.core._magnetics import axis_points, axis_told, beside, core_effect
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.units import per_cent


def _flux_density(case: Case) -> Answer | None:
    effect = core_effect(case)
    if effect is None:
        return None
    current, heights = case.value("current"), case.design.probe.heights
    bare = winding_flux_density_at(case, axis_points)[:, 2]
    whole = bare + effect.added_flux_density[:, 2]
    error = float(np.abs(effect.added_flux_density_error[:, 2] / bare).max())
    places = [(side, height) for side in ("top", "bottom") for height in heights]
    return Answer(
        value=[
            {
                "side": side,
                "height": height,
                "flux_density": float(value),
                "per_ampere": float(value / current),
                "ratio": float(value / alone),
            }
            for (side, height), value, alone in zip(places, whole, bare, strict=True)
        ],
        model=f"{axis_told(case)}winding and cores{beside(case)}, the part along the axis, positive up, at "
        "heights from the outermost face of each side; ratio: to the bare coil at the same place; at the "
        f"current while the drive is on, copper at 20 degC; within {per_cent(error, 1)} of the bare "
        "coil's by a grid "
        "of half the fineness",
    )


FIGURES = (
    Quantity(
        name="core_flux_density",
        unit="table(side, height m, flux_density T, per_ampere T/A, ratio 1)",
        says="flux density on the axis with the cores, and its ratio to the bare coil's",
        group="core",
        compute=_flux_density,
        of="board",
    ),
)
