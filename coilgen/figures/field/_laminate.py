"""What the laminate's thickness does to the field before a face: inner layers stand nearer or farther."""

from dataclasses import replace

import numpy as np

from coilgen.layout.coil import Strand
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.field.biot_savart import path_flux_density
from coilgen.physics.field.filaments import CHORD_TOLERANCE, filaments
from coilgen.result.figure import Case
from coilgen.result.spread import Spread, told

_CHORDS_OF_ARRAY = 2e-5
"""m, largest distance between an arc and its chord; what the laminate changes hardly feels it."""


def by_laminate(case: Case, height: float, across: tuple[float, float] | None = None) -> Spread:
    """The winding's field at a place over the top face, as a share of what it is, with its shifts.

    height: m, from the face; across: m, from the board's centre, None for the axis. The same holds below the
    bottom face.
    """
    at = (case.axis.real, case.axis.imag) if across is None else across
    point = np.array([[*at, height]])
    return case.once(f"field by laminate {height} {at}", lambda: _by_laminate(case, point))


def _by_laminate(case: Case, point: Floats) -> Spread:
    share = case.design.tolerance.dielectric_thickness
    usual = _field(case, point, 1.0)
    thin, thick = (_field(case, point, 1 + by) / usual if usual else 1.0 for by in (-share, share))
    return told(1.0, "dielectric thickness", thin, thick)


def _field(case: Case, point: Floats, stretch: float) -> float:
    """Size of the winding's field, T/A, with every layer's depth stretched."""
    chords = CHORD_TOLERANCE if case.design.array is None else _CHORDS_OF_ARRAY
    parts = (
        strand.share * path_flux_density(filaments(_stretched(strand, stretch), tolerance=chords), point)
        for strand in case.strands
    )
    return float(np.linalg.norm(sum(parts)))


def _stretched(strand: Strand, by: float) -> Conductor:
    return replace(strand.conductor, z=strand.conductor.z * by)
