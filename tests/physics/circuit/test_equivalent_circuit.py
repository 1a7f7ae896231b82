"""The fitted circuit: exact on its own kind, close on diffusion, passive everywhere, and solved by nodes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares, nnls

from coilgen.physics.circuit.equivalent_circuit import (
    EquivalentCircuit,
    equivalent_circuit,
    impedance,
    impedance_at,
    positive_least_squares,
    reflection,
)

FREQUENCY = np.geomspace(1e3, 1e7, 41)


def known_circuit(capacitance=0.0):
    return EquivalentCircuit(
        resistance=0.8,
        inductance=9e-6,
        stage_resistance=np.array([0.4, 2.0, 9.0]),
        stage_inductance=np.array([1e-6, 4e-7, 2e-7]),
        capacitance=capacitance,
        resistance_error=0.0,
        inductance_error=0.0,
    )


def fit(z, stages=4, dc=0.5, capacitance=0.0, frequency=FREQUENCY):
    return equivalent_circuit(
        frequency,
        z.real,
        z.imag / (2 * np.pi * frequency),
        dc_resistance=dc,
        capacitance=capacitance,
        stages=stages,
    )


def diffusion(crossover):
    """Strip in its own and its neighbours' field: skin x coth x, proximity 1 - tanh x / x.

    One-dimensional diffusion in a foil (Dowell, Proc. IEE 113(8), 1966).
    """
    x = np.sqrt(1j * FREQUENCY / crossover)
    omega = 2j * np.pi * FREQUENCY
    return 0.5 * x / np.tanh(x) + omega * (10e-6 - 2e-6 * (1 - np.tanh(x) / x))


def nodal_impedance(circuit, frequency):
    """Impedance between the terminals from the nodal equations of the elements, node by node."""
    s = 2j * np.pi * frequency
    last = 2 + len(circuit.stage_resistance)
    elements = [
        (0, 1, 1 / circuit.resistance),
        (1, 2, 1 / (s * circuit.inductance)),
        (0, last, s * circuit.capacitance),
    ]
    for k, (r, inductance) in enumerate(zip(circuit.stage_resistance, circuit.stage_inductance, strict=True)):
        elements += [(2 + k, 3 + k, 1 / r), (2 + k, 3 + k, 1 / (s * inductance))]
    matrix = np.zeros((last + 1, last + 1), dtype=complex)
    for a, b, admittance in elements:
        matrix[[a, b], [a, b]] += admittance
        matrix[[a, b], [b, a]] -= admittance
    return np.linalg.solve(matrix[:last, :last], np.eye(last)[0])[0]


def test_impedance_is_that_of_the_nodal_equations():
    circuit = known_circuit(capacitance=12e-12)
    for frequency in (50.0, 1e4, 1e6, 14e6, 3e8):
        assert impedance(circuit, frequency) == pytest.approx(nodal_impedance(circuit, frequency), rel=1e-9)


def test_fit_gives_back_a_circuit_of_its_own_kind():
    circuit = known_circuit()
    fitted = fit(impedance(circuit, FREQUENCY), stages=3, dc=circuit.resistance)
    assert max(fitted.resistance_error, fitted.inductance_error) < 1e-4
    assert np.sum(fitted.stage_inductance) + fitted.inductance == pytest.approx(1.06e-5, rel=1e-4)


@pytest.mark.parametrize(("crossover", "error"), [(1e4, 0.03), (2e5, 0.01), (2e6, 0.01), (1e8, 0.001)])
def test_diffusion_is_followed_over_four_decades(crossover, error):
    z = diffusion(crossover)
    circuit = fit(z)
    followed = impedance(circuit, FREQUENCY)
    assert followed.real == pytest.approx(z.real, rel=error)
    assert followed.imag == pytest.approx(z.imag, rel=error)
    assert np.max(np.abs(followed.real / z.real - 1)) == pytest.approx(circuit.resistance_error, abs=1e-12)
    assert np.max(np.abs(followed.imag / z.imag - 1)) == pytest.approx(circuit.inductance_error, abs=1e-12)


def test_dense_diffusion_is_met_closely():
    """Sums of many stages, as windings' eddy currents are: five stages come within 2e-4."""
    constants, parts = np.geomspace(1e-9, 1e-7, 30), np.linspace(1e-9, 5e-9, 30)
    stages = 2j * np.pi * FREQUENCY[:, None] * parts / (1 + 2j * np.pi * FREQUENCY[:, None] * constants)
    z = 0.5 + 2j * np.pi * FREQUENCY * 9e-6 + stages.sum(axis=1)
    circuit = fit(z)
    assert max(circuit.resistance_error, circuit.inductance_error) < 2e-4


@given(st.integers(0, 2**32 - 1), st.integers(1, 7))
def test_least_squares_with_positive_parts(seed, unknowns):
    """Where the barrier's slope balances that of the squares; these as few as another library finds."""
    draw = np.random.default_rng(seed)
    matrix, wanted = draw.standard_normal((9, unknowns)), draw.standard_normal(9)
    found = positive_least_squares(matrix, wanted, 1e-8)
    assert np.all(found > 0)
    assert found * (matrix.T @ (matrix @ found - wanted)) == pytest.approx(1e-8, rel=0.01)
    least = nnls(matrix, wanted)[1] ** 2
    left = np.sum((matrix @ found - wanted) ** 2)
    assert least - 1e-12 <= left <= least + 2 * unknowns * 1e-8 * (1 + 1e-6)


def changed(circuit, other):
    """Largest relative change of an element."""
    pairs = [
        (circuit.stage_resistance, other.stage_resistance),
        (circuit.stage_inductance, other.stage_inductance),
        (circuit.inductance, other.inductance),
    ]
    return max(float(np.max(np.abs(np.log(a / b)))) for a, b in pairs)


def losses(*parts):
    """Impedance of a coil with stages of so much of its inductance and such corners, Hz."""
    omega = 2j * np.pi * FREQUENCY
    return 0.5 + omega * (9e-6 + sum(9e-6 * a / (1 + 1j * FREQUENCY / corner) for a, corner in parts))


BARE_COILS = {
    "no loss": losses(),
    "one corner": losses((0.02, 1e6)),
    "two corners in one": losses((0.02, 1e6), (0.01, 1e6)),
    "two corners": losses((0.02, 3e5), (0.01, 2e7)),
    "corners out of reach": losses((0.02, 1e2), (0.01, 1e10)),
    "diffusion": diffusion(2e5),
    "hard diffusion": diffusion(1e4),
}


@pytest.mark.parametrize("name", BARE_COILS)
@pytest.mark.parametrize("stages", [3, 5, 8])
def test_each_element_moves_smoothly_with_the_samples(name, stages):
    """Rounding hardly moves it; a change ten times as large moves it about ten times as far."""
    z, draw = BARE_COILS[name], np.random.default_rng(5)
    first = fit(z, stages=stages)
    assert len(first.stage_resistance) == stages
    assert np.all(np.diff(first.stage_inductance / first.stage_resistance) < 0)
    along = draw.standard_normal(len(z)) + 1j * draw.standard_normal(len(z))
    moves = [
        changed(first, fit(z.real * (1 + d * along.real) + 1j * z.imag * (1 + d * along.imag), stages=stages))
        for d in (1e-12, 1e-8, 1e-7)
    ]
    assert moves[0] < 1e-6
    assert moves[1] < 1e-3
    assert moves[2] == pytest.approx(10 * moves[1], rel=0.1)


@settings(max_examples=30, deadline=None)
@given(
    parts=st.lists(st.tuples(st.floats(0, 0.05), st.floats(4.0, 8.5)), min_size=1, max_size=6),
    at=st.floats(-1.0, 1.0),
)
def test_elements_of_any_losses_move_smoothly(parts, at):
    """A corner that moves by a hundred millionth of itself moves no element by more than a thousandth."""
    there, beside = (
        fit(losses(*((a, 10 ** (corner + at * shift)) for a, corner in parts))) for shift in (0, 1e-8)
    )
    assert changed(there, beside) < 1e-3


def test_it_is_as_near_as_any_search_gets():
    """Least squares of another library, begun from many places, leave no less than a few in ten thousand."""
    z, omega = BARE_COILS["two corners"] + diffusion(2e6) - diffusion(1e12), 2 * np.pi * FREQUENCY

    def misfit(logarithms):
        x, times = np.exp(logarithms[:4]), np.exp(logarithms[4:])
        q = (omega[:, None] * times) ** 2
        r, inductance = 0.5 + q / times / (1 + q) @ x[1:], x[0] + 1 / (1 + q) @ x[1:]
        return np.concatenate([r / z.real - 1, inductance * omega / z.imag - 1])

    draw = np.random.default_rng(3)
    starts = [np.concatenate([np.log([9e-6] + [1e-7] * 3), draw.uniform(-20, -12, 3)]) for _ in range(12)]
    best = min(float(np.max(np.abs(least_squares(misfit, start).fun))) for start in starts)
    ours = fit(z, stages=3)
    assert max(ours.resistance_error, ours.inductance_error) < 2 * best + 3e-4


def test_more_stages_follow_hard_diffusion_better():
    errors = [fit(diffusion(1e4), stages=n).resistance_error for n in (1, 2, 3, 4)]
    assert np.all(np.diff(errors) < 0)


def test_stages_of_a_frequency_independent_coil_are_next_to_nothing():
    circuit = equivalent_circuit([0.0, 1e3, 1e6], [0.5] * 3, [1e-6] * 3, dc_resistance=0.5)
    assert max(circuit.resistance_error, circuit.inductance_error) < 3e-4
    assert impedance(circuit, 0.0) == pytest.approx(0.5)


@settings(max_examples=25, deadline=None)
@given(
    rise=st.lists(st.floats(-0.3, 1.0), min_size=12, max_size=12),
    fall=st.lists(st.floats(-0.1, 0.3), min_size=12, max_size=12),
    real=st.floats(0.0, 9.0),
    imaginary=st.floats(-10.0, 10.0),
)
def test_any_data_give_a_positive_real_one_port(rise, fall, real, imaginary):
    """Re Z(s) >= 0 wherever Re s >= 0 (Brune 1931), however poor the data."""
    frequency = np.geomspace(1e3, 1e7, 12)
    resistance, inductance = 0.7 * np.exp(np.cumsum(rise)), 1e-5 * np.exp(-np.cumsum(fall))
    circuit = equivalent_circuit(frequency, resistance, inductance, dc_resistance=0.6, capacitance=8e-12)
    assert np.all(circuit.stage_resistance > 0)
    assert np.all(circuit.stage_inductance > 0)
    assert circuit.resistance == 0.6
    assert circuit.inductance >= 0
    s = 10**real + 1j * np.sign(imaginary) * 10 ** abs(imaginary)
    assert impedance_at(circuit, s).real >= 0
    everywhere = impedance(circuit, np.geomspace(1.0, 1e11, 300))
    assert np.all(everywhere.real > 0)
    assert np.all(np.abs(reflection(everywhere)) <= 1 + 1e-12)


def test_resistance_rises_and_inductance_falls_with_frequency():
    z = impedance(fit(diffusion(2e5)), np.geomspace(1.0, 1e9, 200))
    assert np.all(np.diff(z.real) >= 0)
    assert np.all(np.diff(z.imag / np.geomspace(1.0, 1e9, 200)) <= 0)


def test_capacitance_resonates_with_the_ladder():
    circuit = fit(diffusion(2e6), capacitance=10e-12)
    near = np.linspace(10e6, 20e6, 4001)
    peak = near[np.argmax(np.abs(impedance(circuit, near)))]
    bare = fit(diffusion(2e6))
    inductance = impedance(bare, peak).imag / (2 * np.pi * peak)
    assert peak == pytest.approx(1 / (2 * np.pi * np.sqrt(inductance * 10e-12)), rel=5e-3)


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"frequency": [1e3, 1e4, 1e5]}, "rows of one length"),
        ({"frequency": [0.0, 0.0]}, "some frequency over 0"),
        ({"resistance": [1.0, -1.0]}, "must be positive"),
        ({"inductance": [1e-6, np.nan]}, "must be positive"),
        ({"dc_resistance": 0.0}, "dc_resistance must be positive"),
        ({"stages": 0}, "stages 1 to 8"),
    ],
)
def test_wrong_data_are_refused(changed, says):
    data = {
        "frequency": [1e3, 1e6],
        "resistance": [1.0, 1.2],
        "inductance": [1e-6, 9e-7],
        "dc_resistance": 1.0,
    }
    with pytest.raises(ValueError, match=says):
        equivalent_circuit(**(data | changed))
