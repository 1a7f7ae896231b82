"""A coil as a circuit: a ladder of resistors and inductors fitted to R(f) and L(f), with C across."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coilgen.frozen import dataclass

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_LEAST_SHARE = 1e-9  # of the inductance: a stage with less is left out
_DENSE = 48  # stages tried at once to find where to start
_SEARCH_STEPS = 60
_FIRST_DAMPING, _LEAST_DAMPING, _LEAST_CURVATURE = 1e-2, 1e-12, 1e-30
_LONGEST_STEP = 2.0  # of the time constants' logarithms
_LEAST_GAIN = 1e-8  # of the sum of squares: a smaller gain ends the search
_CLOSE = 3e-5  # root of the sum of squares that is close enough
_ROUNDING = 1e-14
_SPREAD = 30.0  # how far beyond the given frequencies a stage's corner may lie


@dataclass(frozen=True, kw_only=True)
class EquivalentCircuit:
    """One-port of positive elements: R0 + L0 + stages in series, C across all.

    resistance: R0 at direct current, ohm. inductance: L0, left at the highest frequencies, H.
    stage_resistance (n,) ohm parallel to stage_inductance (n,) H: one after the other, lowest corner first.
    capacitance: C across the terminals, F; may be 0.
    resistance_error, inductance_error: largest relative errors of the fit over the frequencies given.
    """

    resistance: float
    inductance: float
    stage_resistance: Floats
    stage_inductance: Floats
    capacitance: float
    resistance_error: float
    inductance_error: float


def equivalent_circuit(
    frequency: ArrayLike,
    resistance: ArrayLike,
    inductance: ArrayLike,
    *,
    dc_resistance: float,
    capacitance: float = 0.0,
    stages: int = 4,
) -> EquivalentCircuit:
    """The circuit whose R(f) and L(f) come closest to those given, in relative least squares, or to 3e-5.

    frequency (m,) Hz, 0 allowed; resistance (m,) ohm and inductance (m,) H in series there, without winding
    capacitance. dc_resistance, ohm: R0, kept exactly. stages: 1 to 8, fewer come back where fewer suffice.
    Elements are positive by construction, so the one-port is positive real (Brune, J. Mathematics and Physics
    10, 1931) and no circuit simulation of it can run away. A stage adds, with t = L / R and w = 2 pi f,
    R w^2 t^2 / (1 + w^2 t^2) to R(f) and L / (1 + w^2 t^2) to L(f): Foster's form for a resistor-inductor
    one-port (Bell System Technical Journal 3, 1924).
    Raises ValueError for arrays that do not fit or values that are not positive.
    """
    omega, wanted_r, wanted_l = _checked_samples(frequency, resistance, inductance)
    if not dc_resistance > 0 or not capacitance >= 0 or not 1 <= stages <= 8:
        raise ValueError("dc_resistance must be positive, capacitance not negative, stages 1 to 8")
    limits = _time_constant_limits(omega)
    constants = _best_time_constants(omega, wanted_r, wanted_l, dc_resistance, limits, stages)
    last, shares = _inductances(constants, omega, wanted_r, wanted_l, dc_resistance)
    keep = shares > _LEAST_SHARE * float(np.max(wanted_l))
    order = np.argsort(-constants[keep])
    shares, constants = shares[keep][order], constants[keep][order]
    basis_r, basis_l = _stage_shapes(omega, constants)
    return EquivalentCircuit(
        resistance=dc_resistance,
        inductance=last,
        stage_resistance=shares / constants,
        stage_inductance=shares,
        capacitance=capacitance,
        resistance_error=float(np.max(np.abs((dc_resistance + basis_r @ shares) / wanted_r - 1))),
        inductance_error=float(np.max(np.abs((last + basis_l @ shares) / wanted_l - 1))),
    )


def impedance(circuit: EquivalentCircuit, frequency: ArrayLike) -> Complexes:
    """Impedance between the terminals, ohm, complex, at frequencies in Hz of any shape.

    >>> tank = EquivalentCircuit(resistance=1.0, inductance=1e-6, stage_resistance=np.empty(0),
    ...     stage_inductance=np.empty(0), capacitance=0.0, resistance_error=0.0, inductance_error=0.0)
    >>> impedance(tank, [0.5e6 / np.pi]).round(9)
    array([1.+1.j])
    """
    return impedance_at(circuit, 2j * np.pi * np.asarray(frequency, dtype=np.float64))


def impedance_at(circuit: EquivalentCircuit, complex_frequency: ArrayLike) -> Complexes:
    """Impedance, ohm, at complex frequencies s in 1/s with real part zero or more."""
    s = np.asarray(complex_frequency, dtype=np.complex128)
    reactance = s[..., None] * circuit.stage_inductance
    stages = np.sum(circuit.stage_resistance * reactance / (circuit.stage_resistance + reactance), axis=-1)
    series = circuit.resistance + s * circuit.inductance + stages
    return np.asarray(series / (1 + s * circuit.capacitance * series))


def reflection(impedances: ArrayLike, reference: float = 50.0) -> Complexes:
    """Reflection coefficient (Z - Z0) / (Z + Z0) of impedances in ohm at a reference in ohm.

    >>> reflection([0.0, 50.0, 150.0]).real
    array([-1. ,  0. ,  0.5])
    """
    z = np.asarray(impedances, dtype=np.complex128)
    return np.asarray((z - reference) / (z + reference))


def _checked_samples(
    frequency: ArrayLike, resistance: ArrayLike, inductance: ArrayLike
) -> tuple[Floats, Floats, Floats]:
    """Angular frequency, rad/s, resistance, ohm, inductance, H, (m,) each."""
    f, r, h = (np.asarray(values, dtype=np.float64) for values in (frequency, resistance, inductance))
    if f.ndim != 1 or f.shape != r.shape or f.shape != h.shape or not np.any(f > 0):
        raise ValueError(
            "frequency, resistance and inductance must be rows of one length, some frequency over 0"
        )
    if not (np.all(np.isfinite(f)) and np.all(f >= 0) and np.all(r > 0) and np.all(h > 0)):
        raise ValueError("resistance and inductance must be positive, frequency not negative")
    return 2 * np.pi * f, r, h


def _time_constant_limits(omega: Floats) -> tuple[float, float]:
    """Shortest and longest time constant of a stage that the samples can tell, s."""
    return 1 / (_SPREAD * float(np.max(omega))), _SPREAD / float(np.min(omega[omega > 0]))


def _best_time_constants(
    omega: Floats, wanted_r: Floats, wanted_l: Floats, dc: float, limits: tuple[float, float], stages: int
) -> Floats:
    """Time constants (stages,), s, of the best fit, searched from those a dense spread of stages would use.

    The inductances are linear and drop out (variable projection: Golub and Pereyra, SIAM J. Numerical
    Analysis 10(2), 1973), which leaves only the time constants' logarithms to search, by damped least squares
    (Marquardt, J. SIAM 11(2), 1963).
    """
    lowest, highest = np.log(limits)
    at = np.log(_leading_time_constants(omega, wanted_r, wanted_l, dc, limits, stages))
    misfit, slopes = _projected(at, omega, wanted_r, wanted_l, dc)
    damping = _FIRST_DAMPING
    for _ in range(_SEARCH_STEPS):
        curvature = slopes.T @ slopes
        held = damping * np.diag(curvature) + _LEAST_CURVATURE
        step = -np.linalg.solve(curvature + np.diag(held), slopes.T @ misfit)
        there = np.clip(at + np.clip(step, -_LONGEST_STEP, _LONGEST_STEP), lowest, highest)
        new_misfit, new_slopes = _projected(there, omega, wanted_r, wanted_l, dc)
        gained = float(misfit @ misfit - new_misfit @ new_misfit)
        if gained > 0:
            at, misfit, slopes = there, new_misfit, new_slopes
        if 0 < gained <= _LEAST_GAIN * float(misfit @ misfit) or float(misfit @ misfit) < _CLOSE**2:
            break
        damping = max(damping * (0.1 if gained > 0 else 4.0), _LEAST_DAMPING)
    return np.exp(at)


def _projected(
    logarithms: Floats, omega: Floats, wanted_r: Floats, wanted_l: Floats, dc: float
) -> tuple[Floats, Floats]:
    """Misfit (2 m,) left by the best inductances, and its slopes (2 m, stages) in the logarithms.

    The slopes leave out how the projection turns (L. Kaufman, BIT 15, 1975).
    """
    constants = np.exp(logarithms)
    matrix, wanted = _relative_system(constants, omega, wanted_r, wanted_l, dc)
    matrix *= float(np.max(wanted_l))
    solution = non_negative_least_squares(matrix, wanted)
    basis_r, basis_l = _stage_shapes(omega, constants)
    square = (omega[:, None] * constants) ** 2
    turning = np.concatenate(
        [basis_r * (1 - square) / wanted_r[:, None], -2 * basis_l * square / wanted_l[:, None]]
    )
    slopes = turning / np.tile(1 + square, (2, 1)) * (float(np.max(wanted_l)) * solution[1:])
    column = np.linalg.qr(matrix[:, solution > 0])[0]
    return matrix @ solution - wanted, slopes - column @ (column.T @ slopes)


def _leading_time_constants(
    omega: Floats, wanted_r: Floats, wanted_l: Floats, dc: float, limits: tuple[float, float], stages: int
) -> Floats:
    """Time constants (stages,), s: the weightiest clusters of a dense fit, then spread ones."""
    grid = np.geomspace(*limits, _DENSE + 2)[1:-1]
    _, shares = _inductances(grid, omega, wanted_r, wanted_l, dc)
    basis_r, _ = _stage_shapes(omega, grid)
    weight = shares * np.max(basis_r / wanted_r[:, None], axis=0)
    clusters = np.split(np.arange(_DENSE), np.flatnonzero(weight == 0))
    filled = [c for c in clusters if np.sum(weight[c]) > 0]
    filled.sort(key=lambda c: -float(np.sum(weight[c])))
    leading = [float(np.exp(np.average(np.log(grid[c]), weights=weight[c]))) for c in filled[:stages]]
    spread = np.geomspace(*limits, stages - len(leading) + 2)[1:-1]
    return np.concatenate([leading, spread])


def _inductances(
    constants: Floats, omega: Floats, wanted_r: Floats, wanted_l: Floats, dc: float
) -> tuple[float, Floats]:
    """L0 and the stages' inductances (n,), H, none negative, best at the given time constants."""
    matrix, wanted = _relative_system(constants, omega, wanted_r, wanted_l, dc)
    scale = float(np.max(wanted_l))
    solution = scale * non_negative_least_squares(matrix * scale, wanted)
    return float(solution[0]), solution[1:]


def non_negative_least_squares(matrix: Floats, wanted: Floats) -> Floats:
    """The x >= 0, (n,), for which matrix (m, n) @ x is nearest to `wanted` (m,).

    Active sets (C. L. Lawson and R. J. Hanson, Solving Least Squares Problems, 1974, chapter 23); where all
    the plain solution is positive, it is the answer.
    """
    count = matrix.shape[1]
    if count <= len(wanted):
        plain = np.asarray(np.linalg.lstsq(matrix, wanted, rcond=None)[0])
        if np.all(plain > 0):
            return plain
    x, free = np.zeros(count), np.zeros(count, dtype=bool)
    pull = matrix.T @ wanted
    least = _ROUNDING * float(np.max(np.abs(pull)))
    for _ in range(3 * count):
        drawn = np.where(free, -np.inf, pull)
        if float(np.max(drawn)) <= least:
            break
        free[np.argmax(drawn)] = True
        x = _held_positive(matrix, wanted, x, free)
        pull = matrix.T @ (wanted - matrix @ x)
    return x


def _held_positive(matrix: Floats, wanted: Floats, x: Floats, free: NDArray[np.bool_]) -> Floats:
    """The best x of `free` entries alone, all positive; entries that go through zero on the way leave `free`,
    in place."""
    while True:
        best = np.zeros_like(x)
        best[free] = np.linalg.lstsq(matrix[:, free], wanted, rcond=None)[0]
        stopped = free & (best <= 0)
        if not np.any(stopped):
            return best
        share = np.min(x[stopped] / np.maximum(x[stopped] - best[stopped], np.finfo(float).tiny))
        x = x + share * (best - x)
        free &= ~(stopped & (x <= _ROUNDING * np.max(x)))
        x[~free] = 0.0


def _relative_system(
    constants: Floats, omega: Floats, wanted_r: Floats, wanted_l: Floats, dc: float
) -> tuple[Floats, Floats]:
    """Linear system for L0 and the stages' inductances, rows relative to R(f), then to L(f)."""
    basis_r, basis_l = _stage_shapes(omega, constants)
    of_r = np.column_stack([np.zeros_like(omega), basis_r]) / wanted_r[:, None]
    of_l = np.column_stack([np.ones_like(omega), basis_l]) / wanted_l[:, None]
    return np.concatenate([of_r, of_l]), np.concatenate([1 - dc / wanted_r, np.ones_like(omega)])


def _stage_shapes(omega: Floats, constants: Floats) -> tuple[Floats, Floats]:
    """What a stage of one henry adds to R(f), ohm, and to L(f), H, for each time constant, (m, n) each."""
    square = (omega[:, None] * constants) ** 2
    return square / (constants * (1 + square)), 1 / (1 + square)
