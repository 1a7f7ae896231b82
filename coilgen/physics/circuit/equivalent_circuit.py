"""A coil as a circuit: a ladder of resistors and inductors fitted to R(f) and L(f), with C across."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coilgen.frozen import dataclass

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_LONGEST, _SHORTEST = 3.0, 0.1
"""Of the longest and the shortest time constant tried, in terms of the lowest and highest frequency's 1/w."""
_STEP = 2.0
"""From one time constant tried to the next."""
_BARRIER = 1e-8
"""Weight of the logarithms, in squares of relative errors: what they take from the fit is 1e-4 at most."""
_LOWERED = 0.05
_SETTLED, _SOLVED, _MOST = 1e-2, 1e-11, 100
_WIDER = 10.0
"""The few stages are as the many from so much of the lowest frequency to so much of the highest."""
_STEPS = 20
_DAMPING, _FAR = 1e-3, 0.1
"""Of the steps in logarithms: what changes the impedance by less stays; more by a share of the misfit."""


@dataclass(frozen=True, kw_only=True)
class EquivalentCircuit:
    """One-port of positive elements: R0 + L0 + stages in series, C across all.

    resistance: R0 at direct current, ohm. inductance: L0, left at the highest frequencies, H.
    stage_resistance (n,) ohm parallel to stage_inductance (n,) H: one after the other.
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
    stages: int = 5,
) -> EquivalentCircuit:
    """The circuit of so many stages whose R(f) and L(f) come near those given, in relative least squares.

    It is one for each input and moves smoothly with it: in turn the only answer of a convex fit of many fixed
    time constants, its only reduction to few, and a fixed number of steps towards the least squares. What the
    samples leave open is so decided by rule, not by where a search happened to end.

    frequency (m,) Hz, 0 allowed; resistance (m,) ohm and inductance (m,) H in series there, without winding
    capacitance. dc_resistance, ohm: R0, kept exactly. stages: 1 to 8, weak ones where fewer would do.
    Elements are positive by construction, so the one-port is positive real (Brune, J. Mathematics and Physics
    10, 1931) and no circuit simulation of it can run away. A stage adds, with t = L / R and w = 2 pi f,
    R w^2 t^2 / (1 + w^2 t^2) to R(f) and L / (1 + w^2 t^2) to L(f): Foster's form for a resistor-inductor
    one-port (Bell System Technical Journal 3, 1924).
    Raises ValueError for arrays that do not fit or values that are not positive.
    """
    omega, wanted_r, wanted_l = _checked_samples(frequency, resistance, inductance)
    if not dc_resistance > 0 or not capacitance >= 0 or not 1 <= stages <= 8:
        raise ValueError("dc_resistance must be positive, capacitance not negative, stages 1 to 8")
    last, shares, constants = _improved(
        *_reduced(*_spread_out(omega, wanted_r, wanted_l, dc_resistance), omega, stages),
        omega,
        wanted_r,
        wanted_l,
        dc_resistance,
    )
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


def _spread_out(omega: Floats, wanted_r: Floats, wanted_l: Floats, dc: float) -> tuple[float, Floats, Floats]:
    """L0 and inductances, H, all positive, of many stages of fixed time constants, s, with these."""
    longest, shortest = _LONGEST / float(np.min(omega[omega > 0])), _SHORTEST / float(np.max(omega))
    constants = np.geomspace(longest, shortest, round(np.log(longest / shortest) / np.log(_STEP)) + 1)
    matrix, wanted = _relative_system(constants, omega, wanted_r, wanted_l, dc)
    found = positive_least_squares(matrix, wanted)
    return float(found[0]), found[1:], constants


def positive_least_squares(matrix: Floats, wanted: Floats, barrier: float = _BARRIER) -> Floats:
    """The x > 0, (n,), least in |matrix (m, n) @ x - wanted (m,)|^2 / 2 less barrier times the sum of log x.

    Strictly convex: there is one, an analytic function of `wanted`, and the sum of squares is within 2 n
    barrier of the least that any x >= 0 leaves (A. V. Fiacco and G. P. McCormick, Nonlinear Programming,
    1968). By Newton's steps relative to x, for barriers that fall from 1.
    """
    scale = np.linalg.norm(matrix, axis=0)
    squares, pull = (matrix / scale).T @ (matrix / scale), (matrix / scale).T @ wanted
    x, weight = np.full(len(scale), max(float(np.linalg.norm(wanted)), 1e-3) / len(scale)), 1.0
    while True:
        for _ in range(_MOST):
            slope = x * (squares @ x - pull) - weight
            curvature = squares * np.outer(x, x) + weight * np.eye(len(x))
            step = -np.linalg.solve(curvature, slope)
            longest = float(np.max(np.abs(step)))
            x = x * (1 + step * min(1.0, 0.9 / longest if longest else 1.0))
            if longest < (_SETTLED if weight > barrier else _SOLVED):
                break
        if weight <= barrier:
            return np.asarray(x / scale)
        weight = max(_LOWERED * weight, barrier)


def _reduced(
    last: float, shares: Floats, constants: Floats, omega: Floats, stages: int
) -> tuple[float, Floats, Floats]:
    """L0, inductances, H, and time constants, s, longest first, of few stages in place of many.

    Z(s) - s L0 = s b' (1 + s T)^-1 b, b the roots of the inductances, T the time constants, projected onto
    the answers (1 + s T)^-1 b at as many real s as there are stages: there value and slope stay, and elements
    positive (rational Krylov projection: A. Ruhe, Linear Algebra Appl. 58, 1984; by congruence, as
    A. Odabasioglu et al., IEEE Trans. CAD 17(8), 1998).
    """
    roots = np.sqrt(shares)
    low, high = _WIDER * float(np.min(omega[omega > 0])), _WIDER * float(np.max(omega))
    points = np.geomspace(low, high, 2 * stages + 1)[1::2]
    onto = np.linalg.qr(roots[:, None] / (1 + points * constants[:, None]))[0]
    few, turned = np.linalg.eigh(onto.T @ (constants[:, None] * onto))
    return last, ((turned.T @ (onto.T @ roots)) ** 2)[::-1], few[::-1]


def _improved(
    last: float,
    shares: Floats,
    constants: Floats,
    omega: Floats,
    wanted_r: Floats,
    wanted_l: Floats,
    dc: float,
) -> tuple[float, Floats, Floats]:
    """Nearer to the samples in least squares, by a fixed number of damped steps.

    In logarithms of L0, of the inductances, of the longest time constant and of the ratios' from one to the
    next, so that their order stays. The damping grows with the misfit (N. Yamashita and M. Fukushima,
    Computing Suppl. 15, 2001), so that far from the samples steps are small; no step is tested, as a test
    would make the outcome jump.
    """
    count = 1 + len(shares)
    at = np.concatenate([[last], shares, constants[:1], -np.diff(np.log(constants))])
    at = np.log(at)
    for _ in range(_STEPS):
        x, times = np.exp(at[:count]), _times(at[count:])
        matrix, wanted = _relative_system(times, omega, wanted_r, wanted_l, dc)
        misfit = matrix @ x - wanted
        square = (omega[:, None] * times) ** 2
        of_r, of_l = np.split(matrix[:, 1:] * x[1:], 2)
        of_times = np.concatenate([of_r * (1 - square), -2 * of_l * square]) / np.tile(1 + square, (2, 1))
        falling = np.exp(at[count:]) * np.tri(len(times))
        falling[:, 0] = -1.0
        slopes = np.column_stack([matrix * x, of_times @ -falling])
        damping = (_DAMPING**2 + _FAR * float(misfit @ misfit)) * np.eye(len(at))
        step = -np.linalg.solve(slopes.T @ slopes + damping, slopes.T @ misfit)
        at = at + step / np.sqrt(1 + float(step @ step) / 4)
    return float(np.exp(at[0])), np.exp(at[1:count]), _times(at[count:])


def _times(logarithms: Floats) -> Floats:
    """Time constants, s, from the logarithms of the longest one and of how far each is from the next."""
    shorter: Floats = np.cumsum(np.exp(logarithms[1:]))
    return np.asarray(np.exp(logarithms[0] - np.concatenate([[0.0], shorter])))


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
