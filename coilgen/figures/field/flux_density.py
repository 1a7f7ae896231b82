"""Flux density of the winding on its axis, above the top face and below the bottom face."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from coilgen.figures.core._magnetics import axis_told, on_axis
from coilgen.figures.field._laminate import NOTHING, by_laminate
from coilgen.figures.field._paths import CHORDS, strand_path, winding_path
from coilgen.figures.field._varied import varied
from coilgen.layout.coil import Strand
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.biot_savart import axis_flux_density, path_flux_density
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.result.spread import carried


def _flux_density(case: Case) -> Answer:
    heights, current = case.design.probe.heights, case.value("current")
    sides = ["top"] * len(heights) + ["bottom"] * len(heights)
    middle = case.windings and case.design.array is None
    places = zip(sides, [*heights, *heights], case.kept(_axis_parts), strict=True)
    return Answer(
        value=[_row(case, side, height, parts, current) for side, height, parts in places],
        says="flux density over the board's middle at the probe heights, all windings on" if middle else "",
        model=f"{axis_told(case)}closed-form Biot-Savart of all traces, the part along the axis, positive "
        "up; no core or metal near; at the current while the drive is on, copper at 20 degC",
    )


def _axis_parts(case: Case) -> Floats:
    """Of each winding along the axis at the probe heights, above, then below, (2 n, windings).

    T per ampere of the first one; of an array all together, its joints too.
    """
    thickness, heights = case.design.board.stackup.thickness, case.design.probe.heights
    levels = np.array([*heights, *(-thickness - height for height in heights)])
    if case.design.array is not None:
        return path_flux_density(winding_path(case), on_axis(case, levels))[:, 2:]
    if case.axis:
        paths = [strand_path(strands, CHORDS) for strands in case.strands_apart]
        return np.column_stack([path_flux_density(path, on_axis(case, levels))[:, 2] for path in paths])
    return np.column_stack([_of_strands(strands, levels) for strands in case.strands_apart])


def _of_strands(strands: Sequence[Strand], levels: Floats) -> Floats:
    parts = (strand.share * axis_flux_density(strand.conductor, levels)[:, 2] for strand in strands)
    return np.asarray(sum(parts))


def _along_axis(parts: Floats, amperes: ArrayLike) -> float:
    """The field, T, of parts (windings,) T/A with currents (windings,) A."""
    found = float(parts @ np.asarray(amperes))
    return found if abs(found) >= NOTHING else 0.0


def _row(case: Case, side: str, height: float, parts: Floats, current: float) -> dict[str, object]:
    """One place, with the band of each winding's current and of the board's thickness."""
    per_ampere = _along_axis(parts, np.ones(len(parts)))
    low, high = carried(
        lambda share, *amperes: _along_axis(parts, amperes) * share, by_laminate(case, height), *varied(case)
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
