"""What the laminate's thickness does to the field before a face: inner layers stand nearer or farther."""

from dataclasses import replace

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.biot_savart import flux_density
from coilgen.result.figure import Case
from coilgen.result.spread import Spread, told


def by_laminate(case: Case, height: float, across: tuple[float, float] = (0.0, 0.0)) -> Spread:
    """The winding's field at a place over the top face, as a share of what it is, with its shifts.

    height, across: m, from the face and from the axis; the same holds below the bottom face.
    """
    point = np.array([[*across, height]])
    return case.once(f"field by laminate {height} {across}", lambda: _by_laminate(case, point))


def _by_laminate(case: Case, point: Floats) -> Spread:
    share = case.design.tolerance.dielectric_thickness
    usual = _field(case, point, 1.0)
    thin, thick = (_field(case, point, 1 + by) / usual if usual else 1.0 for by in (-share, share))
    return told(1.0, "dielectric thickness", thin, thick)


def _field(case: Case, point: Floats, stretch: float) -> float:
    """Size of the winding's field, T/A, with every layer's depth stretched."""
    parts = (
        strand.share * flux_density(replace(strand.conductor, z=strand.conductor.z * stretch), point)
        for strand in case.strands
    )
    return float(np.linalg.norm(sum(parts)))
