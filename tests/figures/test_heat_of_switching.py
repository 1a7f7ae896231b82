"""Heat of voltages that switch before the current has settled: by its mean square, by its own time steps."""

import numpy as np
import pytest
from drive_cases import CORE, driven

from coilgen.physics.circuit.drive import repeating_square_current


def fast(duty, times=0.5, tables=None, **drive):
    """Periods of so many time constants of the cold coil, at a voltage that would burn it if it stayed on."""
    given = {"voltage": 3.0, "waveform": "square", "duty": duty, **drive}
    slow = driven(tables, voltage=0.1)
    henry = slow.value("inductance" if tables is None else "inductance_in_place")
    return driven(tables, frequency=float(slow.value("resistance_20c") / henry / times), **given)


def mean_square(case, henry):
    """Of the current over a period, A²."""
    drive = case.design.drive
    time = (np.arange(20000) + 0.5) / 20000 / drive.frequency
    circuit = (drive.voltage, case.value("hot_resistance"), henry, drive.frequency)
    return float(np.mean(repeating_square_current(time, *circuit, drive.duty, drive.clamp) ** 2))


@pytest.mark.parametrize(
    ("duty", "tables"), [(0.2, None), (0.5, None), pytest.param(0.3, CORE, marks=pytest.mark.slow)]
)
def test_the_temperature_is_that_of_a_direct_current_of_its_mean_square(duty, tables):
    case = fast(duty, tables=tables)
    henry = case.value("inductance" if tables is None else "inductance_in_place")
    direct = driven(tables, current=np.sqrt(mean_square(case, henry)))
    assert case.value("temperature") == pytest.approx(direct.value("temperature"), rel=0.01)
    settled = driven(tables, current=case.value("hot_current") * np.sqrt(duty)).figure("temperature")
    assert settled is None or case.value("temperature") - 25 < 0.7 * (settled.value - 25)


def test_slow_switching_heats_by_the_duty():
    case = fast(0.2, times=2000.0)
    direct = driven(current=case.value("hot_current") * np.sqrt(0.2))
    assert case.value("temperature") == pytest.approx(direct.value("temperature"), rel=2e-3)


def test_the_largest_duty_leads_back_to_its_limit():
    limit = fast(0.3).value("temperature_limits")[0]
    assert 0.05 < limit["duty"] < 1
    assert fast(limit["duty"]).value("temperature") == pytest.approx(limit["temperature"], abs=0.5)
