"""Closed forms of a coil of one temperature satisfy their own equations."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.physics.heat.lumped import rise_at_constant_current, rise_at_constant_voltage

conductances, drives = st.floats(1e-3, 1.0), st.floats(0.01, 20.0)


@given(drives, st.floats(0.1, 100), conductances, st.floats(0, 0.01))
def test_constant_voltage_balances(voltage, resistance, conductance, alpha):
    rise = rise_at_constant_voltage(voltage, resistance, conductance, alpha)
    assert conductance * rise * (1 + alpha * rise) == pytest.approx(voltage**2 / resistance)


@given(drives, st.floats(0.1, 100), conductances, st.floats(1e-4, 0.01))
def test_constant_current_balances_or_runs_away(current, resistance, conductance, alpha):
    rise = rise_at_constant_current(current, resistance, conductance, alpha)
    share = alpha * current**2 * resistance / conductance
    if share < 1 - 2e-9:
        balance = current**2 * resistance * (1 + alpha * rise)
        assert conductance * rise == pytest.approx(balance, rel=1e-6)
    elif share > 1 + 2e-9:
        assert rise == float("inf")


def test_copper_runs_away_from_a_cold_rise_of_254_k():
    # I² R0/G = 1/alpha with the coefficient 0.00393 of IEC 60028, 1925.
    conductance, resistance = 0.05, 4.0
    below, beyond = (
        rise_at_constant_current((cold * conductance / resistance) ** 0.5, resistance, conductance, 0.00393)
        for cold in (253.5, 254.5)
    )
    assert below < beyond == float("inf")


def test_without_a_coefficient_nothing_runs_away():
    assert rise_at_constant_current(2.0, 3.0, 0.5, 0.0) == 24
    assert rise_at_constant_voltage(2.0, 4.0, 0.5, 0.0) == 2
