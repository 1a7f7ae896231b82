"""Flux density of winding and cores about the coil, at the drive's current."""

from collections.abc import Callable
from functools import partial

import numpy as np

from coilgen.figures.core._magnetics import core_effect
from coilgen.figures.field._paths import CHORDS, strand_path, winding_path
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.biot_savart import path_flux_density
from coilgen.physics.field.filaments import Filaments, filaments, together
from coilgen.result.figure import Case

_FAR, _FAR_CHORDS, _OF_ARC = 0.3, 0.01, 0.03
"""Of the winding's radius: how far off points are far, and what chords may then stand off their arcs; and
what of the least arc's radius. Chords of so much have every turn's moment and its next but for 1e-4."""
_STEPS = (0.05, 0.08, 0.12, 0.18)
"""Of the winding's radius: from where on nearer points see longer chords."""
_NEAR = 1.0 + _FAR
"""Of the radius of an array's coil: how far from its middle points are near it."""

Places = Callable[[Case], Floats]
"""A function of a module that tells points of a design, (n, 3) m."""


def flux_density_at(case: Case, places: Places, *, brisk: bool = False) -> Floats:
    """As `flux_density`, at places; designs that have them in common share the winding's part.

    brisk: that part as of `path_flux_density`, for the many points of maps, whose chords are no better.
    """
    return _with_cores(case, winding_flux_density_at(case, places, brisk=brisk), places(case))


def winding_flux_density_at(case: Case, places: Places, *, brisk: bool = False) -> Floats:
    """As `winding_flux_density`, at places, shared between designs that differ in the current alone."""
    return float(case.value("current")) * case.kept(_per_ampere_at, places, brisk)


def _per_ampere_at(case: Case, places: Places, brisk: bool) -> Floats:
    return _per_ampere(case, places(case), brisk=brisk)


def flux_density(case: Case, points: Floats) -> Floats:
    """Flux density of winding and cores together at the drive's current, (n, 3) T, at points (n, 3) m.

    In a core that of the cell. What a magnet does to the cores without current is not in it.
    """
    return _with_cores(case, winding_flux_density(case, points), points)


def _with_cores(case: Case, winding: Floats, points: Floats) -> Floats:
    effect = core_effect(case)
    if effect is None:
        return winding
    from coilgen.physics.core.charge_field import core_flux_density
    from coilgen.physics.core.soft_core import cells_of

    inside, cells = cells_of(effect.state.core.grid, points)
    outside = np.delete(np.arange(len(points)), inside)
    field = winding.copy()
    field[outside] += core_flux_density(effect.change, points[outside])
    if len(inside):
        field[inside] = effect.change_within(cells)
    return field


def winding_flux_density(case: Case, points: Floats) -> Floats:
    """(n, 3) T at the drive's current."""
    return float(case.value("current")) * _per_ampere(case, points)


def _per_ampere(case: Case, points: Floats, *, brisk: bool = False) -> Floats:
    """(n, 3) T/A; the farther a turn is above or below the points, the longer its chords."""
    if case.design.array is not None:
        return _of_array(case, points, brisk=brisk)
    away, out = _away(case, points), np.empty_like(points)
    step = np.searchsorted(np.array([*_STEPS, _FAR]) * case.reach, away)
    step *= np.where((points[:, 2] > 0.0) | (step > len(_STEPS)), 1, -1)  # far ones alike on both sides
    for each in np.unique(step).tolist():
        some = step == each
        out[some] = path_flux_density(_path_from(case, each), points[some], brisk=brisk)
    return out


def _path_from(case: Case, step: int) -> Filaments:
    """The winding as points see it that are so many steps away, below it where that is negative."""
    if step > len(_STEPS):
        return winding_path(case, max(CHORDS, _far_chords(case, case.reach)))
    return case.kept(_graded, step) if step else winding_path(case)


def _graded(case: Case, step: int) -> Filaments:
    """Chords no longer than they are away from points, nor shorter than the usual ones.

    What is amiss falls as exp(-2 pi d / chord): under 2e-4, as with the usual ones a millimetre away.
    """
    height, off = winding_path(case).start[:, 2], _STEPS[abs(step) - 1] * case.reach
    level = height.max() + off if step > 0 else height.min() - off
    paths = []
    for strand in case.strands:
        one = strand.conductor
        radius = np.where(one.sweep != 0.0, np.hypot(*(one.start - one.centre).T), np.inf)
        longest = np.minimum(_FAR_CHORDS * case.reach, _OF_ARC * radius)
        chords = np.minimum((one.z - level) ** 2 / (8.0 * radius), longest)
        paths.append(filaments(one, tolerance=np.maximum(chords, CHORDS)))
    return together(paths, [strand.share for strand in case.strands])


def _of_array(case: Case, points: Floats, *, brisk: bool) -> Floats:
    """All by longer chords, and beside each coil what its shorter ones change."""
    radius = case.windings[0].case.reach
    coarse = max(CHORDS, _far_chords(case.windings[0].case, radius))
    out = path_flux_density(winding_path(case, coarse), points, brisk=brisk)
    beside = np.flatnonzero(_away(case, points) < _FAR * radius)
    for number, placed in enumerate(case.design.windings):
        apart = np.hypot(*(points[beside, :2] - [placed.centre.real, placed.centre.imag]).T)
        near = beside[apart < _NEAR * radius]
        if len(near):
            path = case.once(f"coil {number} {coarse}", partial(_of_chords, case, number, coarse))
            out[near] += path_flux_density(path, points[near], brisk=brisk)
    return out


def _away(case: Case, points: Floats) -> Floats:
    """How far points (n, 3) m are above or below all copper, (n,) m."""
    one = case.windings[0].case if case.design.array is not None else case
    copper = winding_path(one).start[:, 2]
    return np.asarray(np.maximum(points[:, 2] - copper.max(), copper.min() - points[:, 2]))


def _of_chords(case: Case, number: int, coarse: float) -> Filaments:
    """What a coil of an array by its usual chords has over it by coarse ones, at its share of the current."""
    each = len(case.strands) // len(case.windings)
    own = case.strands[number * each : (number + 1) * each]
    return together([strand_path(own, CHORDS), strand_path(own, coarse)], [1.0, -1.0])


def _far_chords(case: Case, radius: float) -> float:
    """How far chords may stand off their arcs for far points, m."""
    one = case.conductor
    arcs = one.sweep != 0.0
    least = np.hypot(*(one.start - one.centre)[arcs].T).min(initial=np.inf)
    return float(min(_FAR_CHORDS * radius, _OF_ARC * least))
