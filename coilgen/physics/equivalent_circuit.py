"""A coil as a circuit: a ladder of resistors and inductors fitted to R(f) and L(f), with C across."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_LEAST_SHARE = 1e-9  # of the inductance: a stage with less is left out
_DENSE = 48  # stages tried at once to find where to start
_SEARCH_STEPS = 60
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
    """The circuit whose R(f) and L(f) come closest to those given, in relative least squares.

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
    Analysis 10(2), 1973), which leaves only the time constants to search.
    """
    from scipy.optimize import least_squares

    def misfit(logarithms: Floats) -> Floats:
        constants = np.exp(logarithms)
        last, shares = _inductances(constants, omega, wanted_r, wanted_l, dc)
        matrix, wanted = _relative_system(constants, omega, wanted_r, wanted_l, dc)
        return np.asarray(matrix @ np.concatenate([[last], shares]) - wanted)

    start = np.log(_leading_time_constants(omega, wanted_r, wanted_l, dc, limits, stages))
    found = least_squares(
        misfit, start, bounds=np.log(limits), xtol=1e-6, ftol=1e-8, gtol=1e-10, max_nfev=_SEARCH_STEPS
    )
    return np.exp(np.asarray(found.x, dtype=np.float64))


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
    from scipy.optimize import nnls

    matrix, wanted = _relative_system(constants, omega, wanted_r, wanted_l, dc)
    scale = float(np.max(wanted_l))
    solution = scale * np.asarray(nnls(matrix * scale, wanted)[0], dtype=np.float64)
    return float(solution[0]), solution[1:]


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
