"""One Lanczos run gives the impedance at all frequencies: foils, a round wire, and a dense solve."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import jv

from coilgen.physics.eddy.spectrum import eddy_spectrum

MU0 = 4e-7 * np.pi
RESISTIVITY = 1.7241e-8


def spectrum_of(matrix, resistance, highest):
    """Spectrum of filaments in turns (turns, m) coupled by a dense matrix."""
    uniform = (1 / resistance) / (1 / resistance).sum(axis=1, keepdims=True)

    def flux(currents):
        return (matrix @ currents.reshape(-1, currents.shape[-1])).reshape(currents.shape)

    return eddy_spectrum(flux, resistance, flux(uniform[..., None]), highest)


def dense_impedance(matrix, resistance, frequency):
    """Impedance of the turns in series by a direct solve: filaments of a turn share one voltage."""
    turns, filaments = resistance.shape
    one = np.kron(np.eye(turns), np.ones((filaments, 1)))
    whole = np.diag(resistance.ravel()) + 2j * np.pi * frequency * matrix
    return np.linalg.inv(one.T @ np.linalg.solve(whole, one)).sum()


def diffusion(ratio, layers):
    """Loss over that of direct current: in each foil, between fields k and k + 1, H'' = (2j/depth²) H."""
    square, x = (1 + 1j) * ratio, np.linspace(0.0, 1.0, 4001)
    loss = 0.0
    for k in range(layers):
        slope = (k + 1) * np.cosh(square * x) - k * np.cosh(square * (1 - x))
        loss += np.trapezoid(np.abs(square * slope / np.sinh(square)) ** 2, x)
    return loss / layers


@pytest.mark.parametrize(
    ("ratio", "layers", "factor"), [(0.5, 1, 1.005542), (1, 1, 1.085636), (1, 4, 2.687502), (2, 2, 5.146489)]
)
def test_foils_of_a_long_winding(ratio, layers, factor):
    """P. L. Dowell, Proc. IEE 113(8), 1966: layers of foil, given in skin depths; as `diffusion` has it."""
    assert diffusion(ratio, layers) == pytest.approx(factor, rel=1e-6)
    frequency, cells = 1e5, 200
    depth = np.sqrt(RESISTIVITY / (np.pi * frequency * MU0))
    cell = ratio * depth / cells
    gap = depth
    x = np.concatenate([k * (ratio * depth + gap) + cell * (np.arange(cells) + 0.5) for k in range(layers)])
    between = np.abs(np.subtract.outer(x, x))
    within = np.where(between < 0.5 * cell, cell / 3.0, between)
    matrix = MU0 * (x.max() + cell - 0.5 * (within + np.add.outer(x, x)))
    resistance = np.full((layers, cells), RESISTIVITY / cell)
    found = spectrum_of(matrix, resistance, frequency)
    rise = float(found.resistance(np.array(frequency))) / (layers * RESISTIVITY / (ratio * depth))
    assert 1 + rise == pytest.approx(factor, rel=2e-4)


def circle_cells(radius, count):
    """Middles and side of square cells inside a circle, scaled so that their area is the circle's."""
    side = 2 * radius / count
    middle = side * (np.arange(count) - 0.5 * (count - 1))
    x, y = (axis.ravel() for axis in np.meshgrid(middle, middle))
    inside = np.hypot(x, y) < radius
    scale = np.sqrt(np.pi * radius**2 / (inside.sum() * side**2))
    return scale * x[inside], scale * y[inside], scale * side


@pytest.mark.parametrize(
    ("x", "factor"), [(1, 1.00519), (2, 1.07816), (3, 1.31809), (4, 1.67787), (5, 2.04272)]
)
def test_round_wire(x, factor):
    """E. B. Rosa and F. W. Grover, Bulletin of the Bureau of Standards 8(1), 1912; k J0(k)/(2 J1(k))."""
    k = x * np.exp(-0.25j * np.pi)
    assert (k * jv(0, k) / (2 * jv(1, k))).real == pytest.approx(factor, rel=1e-5)
    frequency, radius = 1e5, 1e-3
    resistivity = 2 * np.pi * frequency * MU0 * (radius / x) ** 2
    across, up, side = circle_cells(radius, 28)
    distance = np.hypot(np.subtract.outer(across, across), np.subtract.outer(up, up))
    np.fill_diagonal(distance, 0.44705 * side)
    matrix = MU0 / (2 * np.pi) * np.log(1.0 / distance)
    resistance = np.full((1, len(across)), resistivity / side**2)
    found = spectrum_of(matrix, resistance, frequency)
    rise = float(found.resistance(np.array(frequency))) * np.pi * radius**2 / resistivity
    assert 1 + rise == pytest.approx(factor, rel=6e-3)


def ring_matrix(seed, turns, filaments):
    """Straight filaments at random places of a few cross-sections, with their resistances."""
    rng = np.random.default_rng(seed)
    place = rng.random((turns, filaments, 2)) * 1e-3 + 2e-3 * np.arange(turns)[:, None, None]
    flat = place.reshape(-1, 2)
    distance = np.linalg.norm(flat[:, None] - flat, axis=2)
    np.fill_diagonal(distance, np.inf)
    np.fill_diagonal(distance, min(1e-5, 0.3 * distance.min()))
    return 2e-7 * np.log(1.0 / distance), rng.uniform(0.5, 2.0, (turns, filaments)) * 1e-3


@settings(max_examples=20, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    turns=st.integers(1, 5),
    filaments=st.integers(2, 12),
    decade=st.floats(1.0, 6.0),
)
def test_agrees_with_a_dense_solve(seed, turns, filaments, decade):
    matrix, resistance = ring_matrix(seed, turns, filaments)
    frequency = 10.0**decade
    found = spectrum_of(matrix, resistance, frequency)
    rest = dense_impedance(matrix, resistance, 1e-3)
    change = dense_impedance(matrix, resistance, frequency) - rest.real
    change -= 2j * np.pi * frequency * rest.imag / (2e-3 * np.pi)
    omega = 2 * np.pi * frequency
    got = complex(found.resistance(np.array(frequency)), omega * found.inductance(np.array(frequency)))
    assert abs(got - change) <= 1e-4 * abs(change) + 1e-9 * abs(omega * rest.imag / (2e-3 * np.pi))


def test_weights_and_time_constants_are_positive():
    found = spectrum_of(*ring_matrix(1, 4, 9), 1e6)
    assert np.all(found.weight > 0)
    assert np.all(found.time_constant > 0)


def test_each_term_is_a_resistance_beside_an_inductance():
    found = spectrum_of(*ring_matrix(2, 3, 6), 1e5)
    omega = 2 * np.pi * 3e4
    inductance = found.weight / found.time_constant
    stage = 1 / (1 / (1j * omega * inductance) + found.time_constant / inductance)
    ladder = (stage - 1j * omega * inductance).sum()
    assert ladder.real == pytest.approx(float(found.resistance(np.array(3e4))), rel=1e-9)
    assert ladder.imag == pytest.approx(omega * float(found.inductance(np.array(3e4))), rel=1e-9)


def test_single_filaments_have_no_eddy_currents():
    found = spectrum_of(np.eye(3) * 1e-6, np.ones((3, 1)), 1e6)
    assert len(found.weight) == 0
    assert float(found.resistance(np.array(1e6))) == 0.0
