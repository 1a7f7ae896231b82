"""Figures of boards on which a winding that nothing drives stands beside driven ones: current = 0."""

from functools import cache

import numpy as np
import pytest
from board_designs import board, ring, winding
from small_design import faults_with

from coilgen import job
from coilgen.errors import DesignError

SINE = {"waveform": "sine", "frequency": "50 kHz"}
SWINGING = {"waveform": "square", "frequency": "1 Hz"}
FASTER = {"frequency": "200 kHz"}
OF_A_DRIVE = {"current_density", "voltage", "stored_energy", "switch_off_voltage", "switch_off_time"}


@cache
def beside(idle, other, **tables):
    """Two rings on one axis, `idle` with its own drive's current, A, the other with `other`."""
    drives = [{"current": idle, **tables}, {"current": other, **tables}]
    rings = [
        ring("sense", 7.0, copper_layers=[1], rotation=180, drive=drives[0]),
        ring("drive", 7.0, copper_layers=[4], drive=drives[1]),
    ]
    return job.predict(board(*rings, board={"stackup": "rigid-4-layer-1.6mm"}))


@pytest.mark.parametrize("tables", [{}, SINE, pytest.param(SWINGING, marks=pytest.mark.slow)])
def test_is_as_with_next_to_no_current(tables):
    """The first winding of the file is the idle one, so that figures per ampere go by the other."""
    none, little = beside(0, 0.3, **tables), beside(1e-6, 0.3, **tables)
    for name in ("power", "temperature", "peak_flux_density", "half_millitesla_distance"):
        found, near = none.figures[name], little.figures[name]
        assert found.value == pytest.approx(near.value, rel=1e-4)
        assert found.band == pytest.approx(near.band, rel=1e-4)
    warm = [each.figures["winding_temperatures"].columns["temperature"] for each in (none, little)]
    assert warm[0] == pytest.approx(warm[1], rel=1e-6)
    field = [each.figures["flux_density_map"].columns["flux_density"] for each in (none, little)]
    assert field[0] == pytest.approx(field[1], abs=1e-4 * np.abs(field[1]).max())
    matrices = [each.figures["inductance_matrix"].array for each in (none, little)]
    assert matrices[0] == pytest.approx(matrices[1], rel=1e-12)


def test_per_ampere_is_of_the_first_that_is_driven():
    figures = beside(0, 0.3).figures["flux_density"].columns
    assert figures["per_ampere"] == pytest.approx(figures["flux_density"] / 0.3, rel=1e-9)


def test_tells_no_drive_and_no_heat_of_it():
    result = beside(0, 0.3)
    idle, driven = (each.figures for each in result.windings)
    assert (idle["current"].value, idle["power"].value, idle["moment"].value) == (0.0, 0.0, 0.0)
    assert set(driven) - set(idle) == OF_A_DRIVE
    assert idle["inductance"].value > 0.0
    rows = result.figures["winding_currents"].value
    assert [row["voltage"] for row in rows] == [None, driven["voltage"].value]
    forces = result.figures["force_on_windings"].columns
    assert all(abs(forces[axis]).max() == 0.0 for axis in "xyz")


def test_tells_what_sines_induce_at_its_open_terminals():
    """Two drives of one frequency add in step, another's by its square: 2 pi f M I."""
    drives = [{"current": amperes, **SINE, **own} for amperes, own in ((0.2, {}), (0.3, {}), (0.1, FASTER))]
    rings = [ring(f"w{k}", 4.0 + k, copper_layers=[k + 1], drive=drive) for k, drive in enumerate(drives)]
    sense = ring("sense", 7.0, copper_layers=[4], rotation=180, drive={"current": 0})
    result = job.predict(board(*rings, sense, board={"stackup": "rigid-4-layer-1.6mm"}))
    linked = result.figures["inductance_matrix"].array[3]
    slow, fast = 5e4 * (linked[0] * 0.2 + linked[1] * 0.3), 2e5 * linked[2] * 0.1
    told = result.figures["winding_currents"].value[3]["voltage"]
    assert told == pytest.approx(2 * np.pi * np.hypot(slow, fast), rel=1e-9)


def test_a_transformer_s_open_side_is_told_once():
    told = [caution for caution in beside(0, 0.3, **SINE).cautions if "transformer" in caution]
    assert [caution.split(" and ")[0] for caution in told] == ["drive"]


def test_one_that_is_not_told_is_named():
    windings = (winding("a", centre=[-9, 0], drive={"current": 0.1}), winding("b", centre=[9, 0]))
    made = board(*windings, drive={})
    assert made.not_driven == ("b",)
    assert "No drive is told for b: 5 V is taken" in made.notes[0]
    assert made.notes[0].endswith("in its [winding.drive], current = 0 where nothing drives it.")
    assert made.drive_taken(["winding.b.drive.current"]) == ()
    assert made.drive_taken(["winding.a.drive.current"]) == made.drive_taken()
    assert made.drive_taken(["drive.voltage"]) == ()


def test_something_has_to_drive_a_board():
    assert faults_with(drive={"current": 0}) == [
        "drive.current: 0 A is for windings beside one that is driven; tell a current, or leave it out, and "
        "the drive is taken to be 5 V"
    ]
    with pytest.raises(DesignError, match=r"^winding 1\.drive\.current: 0 A is for windings beside"):
        board(winding("a", centre=[-9, 0]), winding("b", centre=[9, 0]), drive={"current": 0})
    assert faults_with(drive={"current": 1e-9}) == [
        "drive.current: 1e-09 A is outside what is allowed, 0, or 1e-06 A to 1000 A"
    ]
