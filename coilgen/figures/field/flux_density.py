"""Flux density of the winding on its axis, above the top face and below the bottom face."""

import numpy as np

from coilgen.figures.core._magnetics import axis_told, on_axis, winding_path
from coilgen.figures.field._laminate import NOTHING, by_laminate
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.biot_savart import axis_flux_density, path_flux_density
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.result.spread import carried


def _flux_density(case: Case) -> Answer:
    heights, current = case.design.probe.heights, case.value("current")
    sides = ["top"] * len(heights) + ["bottom"] * len(heights)
    middle = case.windings and case.design.array is None
    places = zip(sides, [*heights, *heights], case.kept(_per_ampere), strict=True)
    return Answer(
        value=[_row(case, side, height, float(value), current) for side, height, value in places],
        says="flux density over the board's middle at the probe heights, all windings on" if middle else "",
        model=f"{axis_told(case)}closed-form Biot-Savart of all traces, the part along the axis, positive "
        "up; no core or metal near; at the current while the drive is on, copper at 20 degC",
    )


def _per_ampere(case: Case) -> Floats:
    """Along the axis at the probe heights, (n,) T/A, of all traces, joints of an array too."""
    thickness, heights = case.design.board.stackup.thickness, case.design.probe.heights
    levels = np.array([*heights, *(-thickness - height for height in heights)])
    if case.design.array is not None:
        found = path_flux_density(winding_path(case), on_axis(case, levels))[:, 2]
    else:
        parts = (strand.share * axis_flux_density(strand.conductor, levels)[:, 2] for strand in case.strands)
        found = np.asarray(sum(parts))
    return np.where(np.abs(found) < NOTHING, 0.0, found)


def _row(case: Case, side: str, height: float, per_ampere: float, current: float) -> dict[str, object]:
    """One place, with the band of the current and of the board's thickness."""
    low, high = carried(
        lambda amperes, share: amperes * per_ampere * share, case.spread("current"), by_laminate(case, height)
    ).band
    return {
        "side": side,
        "height": height,
        "flux_density": per_ampere * current,
        "per_ampere": per_ampere,
        "flux_density_low": low,
        "flux_density_high": high,
    }


FIGURES = (
    Quantity(
        name="flux_density",
        unit="table(side, height m, flux_density T, per_ampere T/A, flux_density_low T, flux_density_high T)",
        says="flux density on the axis at the probe heights",
        group="field",
        compute=_flux_density,
        of="board",
    ),
)
