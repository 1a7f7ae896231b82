"""What the laminate's thickness does to the field before a face: inner layers stand nearer or farther."""

import numpy as np

from coilgen.figures.field._paths import CHORDS, winding_path
from coilgen.physics.field.biot_savart import path_flux_density
from coilgen.physics.field.filaments import Filaments, stretched
from coilgen.result.figure import Case
from coilgen.result.spread import Spread, told

_CHORDS_OF_ARRAY = 1e-4
"""m, largest distance between an arc and its chord; what the laminate changes hardly feels it."""
NOTHING = 1e-12
"""T, and T/A: what is left of fields that cancel, as in the middle of a ring, is rounding."""


def by_laminate(case: Case, height: float, across: tuple[float, float] | None = None) -> Spread:
    """The winding's field at a place over the top face, as a share of what it is, with its shifts.

    height: m, from the face; across: m, from the board's centre, None for the axis. The same holds below the
    bottom face.
    """
    return case.kept(_by_laminate, height, (case.axis.real, case.axis.imag) if across is None else across)


def _by_laminate(case: Case, height: float, across: tuple[float, float]) -> Spread:
    point = np.array([[*across, height]])
    share = case.design.tolerance.dielectric_thickness
    usual, thin, thick = (
        float(np.linalg.norm(path_flux_density(_path(case, by), point))) for by in (0.0, -share, share)
    )
    if usual < NOTHING:
        return Spread(1.0)
    return told(1.0, "dielectric thickness", thin / usual, thick / usual)


def _path(case: Case, by: float) -> Filaments:
    """The winding with every layer deeper by a share."""
    chords = CHORDS if case.design.array is None else _CHORDS_OF_ARRAY
    return case.once(f"laminate {by}", lambda: stretched(winding_path(case, chords), 1.0 + by))
