"""What soft cores do to a winding: inductance, flux density outside and inside, saturation."""

from dataclasses import dataclass

import numpy as np

from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.brick_grid import Body, brick_grid
from coilgen.physics.core.charge_field import core_flux_density
from coilgen.physics.core.load import FluxDensity, field_load, winding_load
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.core.soft_core import (
    Core,
    Magnetised,
    core,
    coupled,
    flux_densities,
    magnetised,
    mean_flux_densities,
    strength,
    tangent_response,
)
from coilgen.physics.field.filaments import Filaments, Indices, filaments

CHORDS = 2e-5
"""m, chord tolerance of the winding beside a core."""
COARSER = 2.0
"""How much larger the second grid's cells are."""
CAUTION, OUTLINES = 1.5, 0.01
"""Error over the change between the grids, and what is added of the value: see `grid_error`."""


_FALLEN = 0.9
_PRECISION = 0.02
_EXACTLY, _ROUGHLY = 1e-4, 1e-3
"""Residuals of the cores' state, and of states on the way to saturation.

Inductances feel a hundredth of them, the field outside twice as much as their size.
"""
_GROWTH, _FALLING = 0.2, 0.99
"""Of the current, its steps toward saturation, smaller once the inductance has fallen to the second."""
_LARGEST_CURRENT = 1e6


@dataclass(frozen=True, kw_only=True)
class CoreEffect:
    """SI units. Values are those of the finer of two grids, errors estimates from their difference.

    added_inductance: H, flux linkage that the current makes the core add, over the current.
    added_small_signal: H, its slope about the drive current; at_rest: H, the same about no current.
    added_flux_density: (n, 3) T at the probe points that the current makes the core add. For each body: peak
    (99th percentile) and mean flux density (T), share of the volume that is saturated, volume (m3); peak and
    saturated share without current. state, rest: the magnetisation at the current and without, finer grid.
    """

    added_inductance: float
    added_inductance_error: float
    added_small_signal: float
    at_rest: float
    added_flux_density: Floats
    added_flux_density_error: Floats
    peak: Floats
    mean: Floats
    saturated: Floats
    volume: Floats
    peak_at_rest: Floats
    saturated_at_rest: Floats
    state: Magnetised
    rest: Magnetised

    @property
    def change(self) -> Magnetised:
        """What the current changes in the magnetisation."""
        return _change(self.state, self.rest)

    def change_within(self, cells: Indices) -> Floats:
        """What the current changes in the flux density of cells (3, k) found by `cells_of`, (k, 3) T."""
        change = mean_flux_densities(self.state) - mean_flux_densities(self.rest)
        return change[:, *cells].T


@dataclass(frozen=True, kw_only=True)
class _OnGrid:
    linkage: float
    slope: float
    at_rest: float
    outside: Floats
    state: Magnetised
    rest: Magnetised


def core_effect(
    winding: Conductor | Filaments,
    bodies: tuple[Body, ...],
    curves: tuple[Curve, ...],
    *,
    current: float,
    cell: float,
    probes: Floats,
    applied: FluxDensity | None = None,
) -> CoreEffect:
    """Solves the cores at a current (A, not 0) on grids of cells `cell` and twice as large (m).

    curves: one for each body. probes: (n, 3) m, outside the bodies. applied: flux density (n, 3) T at points
    (n, 3) m that magnetises the cores besides, as of a magnet.
    """
    path = filaments(winding, tolerance=CHORDS) if isinstance(winding, Conductor) else winding
    fine = _on_grid(path, bodies, curves, current, cell, probes, applied)
    rough = _on_grid(path, bodies, curves, current, COARSER * cell, probes, applied)
    peak, mean, saturated, volume = inside(fine.state)
    peak_at_rest, _, saturated_at_rest, _ = inside(fine.rest)
    return CoreEffect(
        added_inductance=fine.linkage / current,
        added_inductance_error=float(grid_error(fine.linkage, rough.linkage)) / abs(current),
        added_small_signal=fine.slope,
        at_rest=fine.at_rest,
        added_flux_density=fine.outside,
        added_flux_density_error=grid_error(fine.outside, rough.outside),
        peak=peak,
        mean=mean,
        saturated=saturated,
        volume=volume,
        peak_at_rest=peak_at_rest,
        saturated_at_rest=saturated_at_rest,
        state=fine.state,
        rest=fine.rest,
    )


def grid_error(fine: Floats | float, rough: Floats | float) -> Floats:
    """Error to expect on the finer of two grids, its cells half as wide.

    Both lie on either side of finer ones; up to 0.7 of their change was seen. Outlines fitted anew to the
    cells make a hundredth where that is small by chance. On twelve designs the finer grid was nearer, 1 %
    off, than what order one would make of both, 3 %: nothing is drawn on to cells of no width.
    """
    return np.asarray(CAUTION * np.abs(np.subtract(fine, rough)) + OUTLINES * np.abs(fine))


def _on_grid(
    path: Filaments,
    bodies: tuple[Body, ...],
    curves: tuple[Curve, ...],
    current: float,
    cell: float,
    probes: Floats,
    applied: FluxDensity | None,
) -> _OnGrid:
    one = core(brick_grid(bodies, cell), curves)
    load = winding_load(one.grid, path)
    rest = at_rest(one, applied)
    start = None if applied is None else rest.m
    state = magnetised(one, rest.load + current * load, start, tolerance=_EXACTLY)
    change = _change(state, rest)
    straight = all(curve.straight for curve in curves)
    linkage, each = coupled(change, load), change.m / current
    return _OnGrid(
        linkage=linkage,
        slope=linkage / current if straight else _small_signal(state, load, each),
        at_rest=linkage / current if straight else _small_signal(rest, load, each),
        outside=core_flux_density(change, probes),
        state=state,
        rest=rest,
    )


def at_rest(one: Core, applied: FluxDensity | None) -> Magnetised:
    """Without current: magnetised by what is applied besides, or not at all."""
    if applied is None:
        nothing = np.zeros_like(one.active)
        return Magnetised(core=one, m=nothing, load=nothing)
    return magnetised(one, field_load(one.grid, applied), tolerance=_EXACTLY)


def _change(state: Magnetised, rest: Magnetised) -> Magnetised:
    return Magnetised(core=state.core, m=state.m - rest.m, load=state.load - rest.load)


def _small_signal(state: Magnetised, load: Floats, near: Floats) -> float:
    return MU0 * float(load @ tangent_response(state, load, near, accuracy=_EXACTLY))


def inside(state: Magnetised) -> tuple[Floats, Floats, Floats, Floats]:
    """For each body: 99th percentile and mean of |B| (T) by volume, saturated share, volume (m3)."""
    grid, curves = state.core.grid, state.core.curves
    field, size = flux_densities(state), strength(state.core, state.m)
    volume = np.broadcast_to(grid.volume, grid.body.shape)
    rows = []
    for number, curve in enumerate(curves):
        mine = grid.body == number
        weight = volume[mine] / volume[mine].sum()
        rows.append(
            (
                _percentile(field[mine], weight, 0.99),
                float(weight @ field[mine]),
                float(weight @ curve.saturated(size[mine])),
                float(volume[mine].sum()),
            )
        )
    peak, mean, saturated, total = np.array(rows).T
    return peak, mean, saturated, total


def _percentile(values: Floats, weight: Floats, share: float) -> float:
    order = np.argsort(values, kind="stable")
    return float(values[order][np.searchsorted(np.cumsum(weight[order]), share)])


def saturation_current(
    winding: Conductor | Filaments,
    bodies: tuple[Body, ...],
    curves: tuple[Curve, ...],
    *,
    cell: float,
    applied: FluxDensity | None = None,
) -> float:
    """Current (A) at which the inductance has fallen to 0.9 of its greatest slope; inf for straight curves.

    applied: as for `core_effect`.

    Raises the current from where the cores are far from saturation, in steps small enough for each state to
    start from the last, then closes in on it to a fiftieth and takes a line between both ends. inf too where
    all that can saturate has, or a million ampere flow, and the inductance still stands.
    """
    if all(curve.straight for curve in curves):
        return float(np.inf)
    path = filaments(winding, tolerance=CHORDS) if isinstance(winding, Conductor) else winding
    one = core(brick_grid(bodies, cell), curves)
    load = winding_load(one.grid, path)
    rest = at_rest(one, applied)
    response = tangent_response(rest, load)
    linear = Magnetised(core=one, m=rest.m + response, load=rest.load + load)
    high = _next(
        _Point(current=1.0, state=linear, rest=rest, response=response, load=load),
        _weak_current(one, response),
    )
    low, greatest = high, high.slope
    while high.slope >= _FALLEN * greatest:
        if high.current > _LARGEST_CURRENT or _spent(high.state):
            return float(np.inf)
        share = high.slope / greatest
        growth = _GROWTH if share > _FALLING else max(share - _FALLEN, _PRECISION)
        low, high = high, _next(high, (1.0 + growth) * high.current)
        greatest = max(greatest, high.slope)
    while high.current - low.current > _PRECISION * high.current:
        middle = _next(low, _between(low, high, _FALLEN * greatest))
        low, high = (middle, high) if middle.slope > _FALLEN * greatest else (low, middle)
    return _crossing(low, high, _FALLEN * greatest)


@dataclass(frozen=True, kw_only=True)
class _Point:
    """A core's state at a current (A) and without, its response to one ampere more, its inductance (H)."""

    current: float
    state: Magnetised
    rest: Magnetised
    response: Floats
    load: Floats

    @property
    def slope(self) -> float:
        return MU0 * float(self.load @ self.response)


def _crossing(low: _Point, high: _Point, slope: float) -> float:
    """A, where a straight line between two points has a slope."""
    share = (low.slope - slope) / (low.slope - high.slope)
    return low.current + share * (high.current - low.current)


def _between(low: _Point, high: _Point, slope: float) -> float:
    """A, half the precision past the line's crossing: likely the upper end of a bracket narrow enough."""
    guess = _crossing(low, high, slope) + 0.5 * _PRECISION * high.current
    margin = 0.25 * (high.current - low.current)
    return min(max(guess, low.current + margin), high.current - margin)


def _next(near: _Point, current: float) -> _Point:
    """At another current, found from a state near to it."""
    rest = near.rest
    start = rest.m + current / near.current * (near.state.m - rest.m)
    state = magnetised(rest.core, rest.load + current * near.load, start, tolerance=_ROUGHLY)
    response = tangent_response(state, near.load, near.response, accuracy=_ROUGHLY)
    return _Point(current=current, state=state, rest=rest, response=response, load=near.load)


def _spent(state: Magnetised) -> bool:
    """Whether all cores that can saturate are saturated throughout."""
    shares = zip(inside(state)[2], state.core.curves, strict=True)
    return all(curve.straight or share > 0.999 for share, curve in shares)


def _weak_current(one: Core, response: Floats) -> float:
    """A, at which no core is magnetised to over a hundredth of its curve's last point."""
    size = strength(one, response)
    shares = [
        size[one.grid.body == number].max() / curve.magnetisation[-1]
        for number, curve in enumerate(one.curves)
        if not curve.straight
    ]
    return 0.01 / float(max(shares))
