"""Closed forms of a coil of one temperature satisfy their own equations."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.physics.heat.lumped import (
    rise_at_constant_current,
    rise_at_constant_voltage,
    runaway_current,
)

conductances, drives = st.floats(1e-3, 1.0), st.floats(0.01, 20.0)


@given(drives, st.floats(0.1, 100), conductances, st.floats(0, 0.01))
def test_constant_voltage_balances(voltage, resistance, conductance, alpha):
    rise = rise_at_constant_voltage(voltage, resistance, conductance, alpha)
    assert conductance * rise * (1 + alpha * rise) == pytest.approx(voltage**2 / resistance)


@given(drives, st.floats(0.1, 100), conductances, st.floats(1e-4, 0.01))
def test_constant_current_balances_or_runs_away(current, resistance, conductance, alpha):
    rise = rise_at_constant_current(current, resistance, conductance, alpha)
    if current < runaway_current(resistance, conductance, alpha) * (1 - 1e-9):
        balance = current**2 * resistance * (1 + alpha * rise)
        assert conductance * rise == pytest.approx(balance, rel=1e-6)
    elif current > runaway_current(resistance, conductance, alpha) * (1 + 1e-9):
        assert rise == float("inf")


def test_copper_runs_away_from_a_cold_rise_of_254_k():
    # I² R0/G = 1/alpha with the coefficient 0.00393 of IEC 60028, 1925.
    conductance, resistance = 0.05, 4.0
    current = runaway_current(resistance, conductance, 0.00393)
    assert current**2 * resistance / conductance == pytest.approx(254, abs=0.5)


def test_without_a_coefficient_nothing_runs_away():
    assert runaway_current(1.0, 1.0, 0.0) == float("inf")
    assert rise_at_constant_current(2.0, 3.0, 0.5, 0.0) == 24
    assert rise_at_constant_voltage(2.0, 4.0, 0.5, 0.0) == 2
