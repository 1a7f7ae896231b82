"""Eddy currents in the winding's own copper under waves other than sines, against sums over harmonics."""

import numpy as np
import pytest
from drive_cases import driven
from made import made

from coilgen.figures.electrical._copper_eddies import copper_rise
from coilgen.figures.heat._eddies import copper_heat
from coilgen.job import case_of
from coilgen.physics.circuit.drive import repeating_square_current

SAMPLES = 2**17


def summed(case, current, frequency):
    """Heat over the mean square of the settled current while on: harmonics times the impedance's rise."""
    drive = case.design.drive
    squares = 2 * np.abs(np.fft.rfft(current)[1:] / SAMPLES) ** 2
    order = np.arange(1, len(squares) + 1)
    kept = order * frequency < 1e8
    rise = np.array([copper_rise(case, each * frequency) for each in order[kept]])
    heat = float(squares[kept] @ rise) * case.value("resistance_20c")
    return heat / (drive.duty * drive.through(case.value("hot_resistance")) ** 2)


@pytest.mark.parametrize(("frequency", "duty"), [(2e4, 0.5), (2e5, 0.3)])
def test_a_switched_voltages_current_heats_as_its_harmonics_do(frequency, duty):
    case = driven(voltage=1.0, waveform="square", frequency=frequency, duty=duty)
    time = np.arange(SAMPLES) / SAMPLES / frequency
    circuit = (1.0, case.value("hot_resistance"), case.value("inductance"), frequency)
    current = repeating_square_current(time, *circuit, duty, case.design.drive.clamp)
    near = 1e-5 * case.value("resistance_20c")  # to which the ladder tells what hardly rises yet
    assert copper_heat(case) == pytest.approx(summed(case, current, frequency), rel=0.03, abs=near)


def test_a_switched_current_heats_as_its_harmonics_do_up_to_the_highest_frequency_told():
    case = driven(current=1.0, waveform="square", frequency=1e5, duty=0.4)
    order = np.arange(1, 101)
    squares = 2 * (np.sin(np.pi * order * 0.4) / (np.pi * order)) ** 2
    rise = np.array([copper_rise(case, each * 1e5) for each in order])
    expected = float(squares @ rise) * case.value("resistance_20c") / 0.4
    assert copper_heat(case) == pytest.approx(expected, rel=0.03)


@pytest.mark.parametrize("level", [{"current": 1.0}, {"voltage": 1.0}])
def test_slow_waves_heat_as_their_root_mean_square(level):
    slow = driven(**level, waveform="square", frequency=100.0, duty=0.5)
    assert 0 < copper_heat(slow) < 1e-4 * slow.value("resistance_20c")


def test_what_eddy_currents_add_to_the_temperature_is_their_heat():
    """As much as a direct current of the same heat makes: the copper's own plus theirs."""
    fast = driven(current=1.5, waveform="square", frequency=1e6, duty=0.5)
    share = 1 + copper_heat(fast) / fast.value("hot_resistance")
    direct = driven(current=1.5 * np.sqrt(0.5 * share))
    assert share > 1.02
    assert fast.value("temperature") == pytest.approx(direct.value("temperature"), abs=0.2)
    assert fast.value("hot_power") == pytest.approx(1.5**2 * share * fast.value("hot_resistance"), rel=1e-6)


def test_a_plate_that_takes_nearly_all_of_the_inductance_leaves_some_to_the_coppers_own_eddy_currents():
    winding = {"shape": "round", "layers": 4, "turns": 13, "trace_width": 0.75, "connection": "parallel"}
    plate = {"material": "stainless steel", "place": "top", "shape": "rectangle", "width": 60, "thickness": 3}
    tables = {
        "name": "plated",
        "winding": {**winding, "inner_size": 8, "outer_size": 36},
        "board": {"outline": "round", "size": 44},
        "mounting": {"base_plate": plate},
        "drive": {"voltage": 1, "waveform": "square", "frequency": 1.7e6},
    }
    result = made(tables, whole=False).result
    found = copper_heat(case_of(result.design, result.coil, result.art))
    assert 0.0 < found < 0.1 * result.figures["resistance_20c"].value
