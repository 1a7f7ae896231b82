"""A coil in metal under a switched voltage: against its impedance, plain coils, and energy."""

import numpy as np
import pytest
from scipy.integrate import quad

from coilgen.physics.circuit.drive import dc_current, freewheel_time, square_ripple
from coilgen.physics.metal.relaxation import Relaxation, added_impedance, of_single_body
from coilgen.physics.metal.switched import CoilInMetal, after_switching_on, repeating, run_out_time

IRON = of_single_body(6e-6, np.array([3e-6, 2e-6, 2e-6]), np.array([1e-4, 1e-5, 1e-6]))
COIL = CoilInMetal(resistance=2.0, inductance=10e-6, metal=IRON)
NOTHING = Relaxation(static=0.0, amplitude=np.zeros(0), time=np.zeros(0), damping=np.zeros((0, 0, 0)))
PLAIN = CoilInMetal(resistance=2.0, inductance=10e-6, metal=NOTHING)


def test_plain_coils():
    time = np.linspace(0.0, 3e-5, 7)
    assert after_switching_on(PLAIN, 5.0, time).current == pytest.approx(dc_current(time, 5.0, 2.0, 10e-6))
    assert run_out_time(PLAIN, 2.0, 0.7, 0.2) == pytest.approx(freewheel_time(2.0, 2.0, 10e-6, 0.7, 0.2))
    for clamp in (0.7, 30.0):
        on, off = repeating(PLAIN, 5.0, 2e5, 0.4, clamp)
        ripple = square_ripple(5.0, 2.0, 10e-6, 2e5, 0.4, clamp)
        assert on.current[[0, -1]] == pytest.approx([ripple.lowest, ripple.highest], abs=1e-9)
        assert off.current.min() >= 0.0


def test_rise_is_the_inverse_transform_of_the_impedance():
    """The current after switching on, from Z(j omega) by a Fourier integral (independent of the states)."""

    def admittance(omega):
        return 1 / (COIL.resistance + 1j * omega * COIL.inductance + added_impedance(IRON, omega / 2 / np.pi))

    for time in (1e-6, 1e-5, 5e-5):
        head = quad(lambda w, t=time: admittance(w).real * np.sinc(w * t / np.pi) * t, 0, 2e6, limit=2000)[0]
        tail = quad(lambda w: admittance(w).real / w, 2e6, 1e10, weight="sin", wvar=time, limit=2000)[0]
        found = after_switching_on(COIL, 1.0, np.array([time])).current[0]
        assert found == pytest.approx(2 / np.pi * (head + tail), rel=0.01)


@pytest.mark.parametrize("clamp", [0.5, 20.0])
def test_energy_of_a_period(clamp):
    """What the supply gives less what the clamp takes is the heat of copper and metal."""
    frequency = 2e4
    on, off = repeating(COIL, 5.0, frequency, 0.3, clamp)
    assert off.state[-1] == pytest.approx(on.state[0], abs=1e-4)
    given = np.trapezoid(5.0 * on.current, on.time) - np.trapezoid(clamp * off.current, off.time)
    lost = sum(np.trapezoid(2.0 * part.current**2 + part.heat(IRON)[:, 0], part.time) for part in (on, off))
    assert lost == pytest.approx(given, rel=0.02)


def test_metal_lets_the_current_rise_sooner():
    quick, plain = (after_switching_on(each, 1.0, np.array([1e-6])).current[0] for each in (COIL, PLAIN))
    assert quick > 1.05 * plain * PLAIN.inductance / (PLAIN.inductance + IRON.static)
