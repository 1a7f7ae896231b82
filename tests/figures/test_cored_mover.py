"""Figures of a mover that passes coils with cores: laws between them, limits, what is told of cogging."""

import numpy as np
import pytest
from mover_designs import FAN, STAGE, case_with

from coilgen.figures.mover._machine import machine
from coilgen.figures.mover._setting import BARE, Setting
from coilgen.result.caution import fault_told

ROD = {"place": "pocket", "diameter": 2, "thickness": 1.6, "material": {"permeability": 800}}
IN_COILS = {"pocket": {"size": 2.2}, "core": [ROD]}


@pytest.fixture(scope="module")
def fan():
    return case_with(FAN, **IN_COILS)


@pytest.fixture(scope="module")
def bare():
    return case_with(FAN, pocket={"size": 2.2})


def test_cores_raise_voltage_and_torque_alike(fan, bare):
    gained = fan.value("voltage_constant") / bare.value("voltage_constant")
    assert 1.01 < gained < 1.1
    assert fan.value("torque_constant") == pytest.approx(1.5 * fan.value("voltage_constant"), rel=1e-6)
    assert bare.value("voltage_constant") == pytest.approx(machine(fan, BARE).voltages.constant, rel=1e-9)
    low, high = fan.figure("voltage_constant").band
    assert low < fan.value("voltage_constant") < high
    sources = {source for source, _, _ in fan.figure("voltage_constant").contributions}
    assert "model of cores in the coils" in sources
    assert bare.figure("cogging_torque") is None and bare.figure("stator_core_flux_density") is None


def test_cores_hardly_magnetic_change_nothing(bare):
    """Permeability 1.001, as near to air as a material may be."""
    found = case_with(FAN, pocket={"size": 2.2}, core=[{**ROD, "material": {"permeability": 1.001}}])
    assert found.value("voltage_constant") == pytest.approx(bare.value("voltage_constant"), rel=2e-4)
    assert machine(found).most_cogging < 1e-3 * abs(bare.value("stall_torque"))


def test_torque_against_angle_is_that_of_currents_and_cogging_together(fan):
    rows = fan.figure("torque_against_angle").columns
    amplitude = fan.value("stall_torque") / np.mean(rows["per_ampere"])
    whole = amplitude * np.array(rows["per_ampere"]) + np.array(rows["cogging"])
    assert rows["torque"] == pytest.approx(whole, rel=1e-3)
    assert abs(np.mean(rows["cogging"])) < 1e-6 * fan.value("cogging_torque")
    # Six coils and four poles: twelve periods a turn, six in the half that is told.
    assert rows["cogging"][:12] == pytest.approx(rows["cogging"][12:24], abs=1e-9)
    assert fan.figure("cogging_torque").band[1] > max(rows["cogging"]) > 0
    assert fan.value("torque_ripple") > 0.5
    assert fault_told(fan.figure("cogging_torque").cautions) == "cogging may hold the mover"


def test_cores_that_stand_unevenly_add_cogging(fan):
    added = fan.figure("additional_cogging_torque")
    assert 0 < added.value < fan.value("cogging_torque")
    even = case_with(FAN, **IN_COILS, tolerance={"gap": 0})
    assert even.value("additional_cogging_torque") == 0.0
    assert even.value("cogging_torque") == pytest.approx(fan.value("cogging_torque"))


def test_coenergy_of_a_held_current_is_that_of_its_flux(fan):
    """Torque of a current is the slope of the flux that it links: no work over a whole period."""
    voltages = machine(fan).voltages
    assert np.abs(voltages.slopes.mean(axis=1)).max() < 1e-9 * np.abs(voltages.slopes).max()
    assert np.abs(voltages.slopes.sum(axis=0)).max() < np.abs(voltages.slopes).max()


def test_pull_of_cores_is_told_as_dangerous_and_falls_with_the_gap(fan):
    pull = fan.figure("mover_attraction")
    assert pull.value > 0.1
    assert any(each.startswith("Warning") and "stator" in each for each in pull.cautions)
    wider = case_with(FAN, **IN_COILS, mover__gap=2.5)
    assert 0.3 < wider.value("mover_attraction") / pull.value < 0.7
    assert any("the cores in the coils" in each for each in fan.figure("voltage_constant").cautions)


def test_a_plate_behind_the_cores_adds_flux_and_pull(fan):
    plate = {"form": "disc", "diameter": 44, "thickness": 1, "place": "bottom"}
    found = case_with(FAN, pocket={"size": 2.2}, core=[ROD, plate])
    assert found.value("voltage_constant") > 1.2 * fan.value("voltage_constant")
    alone = case_with(FAN, pocket={"size": 2.2}, core=[plate])
    assert found.value("mover_attraction") > alone.value("mover_attraction") + fan.value("mover_attraction")


def test_more_flux_than_iron_carries_is_told_of_cores_that_never_saturate(fan):
    assert not any("iron" in each for each in fan.figure("stator_core_flux_density").cautions)
    thin = {**IN_COILS, "core": [{**ROD, "diameter": 1}]}
    strong = case_with(FAN, **thin, mover__gap=0.3, mover__magnet__thickness=20)
    (caution,) = strong.figure("stator_core_flux_density").cautions
    assert strong.value("stator_core_flux_density") > 2.2
    assert "more than iron carries" in caution and "voltage, torque" in caution


@pytest.mark.slow
def test_more_voltage_makes_a_slower_mover(fan, bare):
    slower = fan.value("no_load_speed") / bare.value("no_load_speed")
    assert slower == pytest.approx(bare.value("voltage_constant") / fan.value("voltage_constant"), rel=5e-3)


@pytest.mark.slow
def test_magnets_saturate_ferrite_in_the_coils_and_it_is_told():
    iron = case_with(FAN, **IN_COILS, mover__gap=0.3)
    ferrite = case_with(
        FAN, pocket={"size": 2.2}, core=[{**ROD, "material": "Mn-Zn ferrite"}], mover__gap=0.3
    )
    assert ferrite.value("stator_core_flux_density") < iron.value("stator_core_flux_density")
    assert any("saturate" in each for each in ferrite.figure("stator_core_flux_density").cautions)
    assert ferrite.value("voltage_constant") < iron.value("voltage_constant")
    assert ferrite.value("cogging_torque") < 0.7 * iron.value("cogging_torque")


@pytest.mark.slow
def test_a_row_of_coils_with_cores_holds_its_slider():
    found = case_with(STAGE, pocket={"size": 3.2}, core=[{**ROD, "diameter": 3}])
    plain = case_with(STAGE, pocket={"size": 3.2})
    assert 1.01 < found.value("thrust_constant") / plain.value("thrust_constant") < 1.1
    rows = found.figure("force_against_position").columns
    cogging = np.array(rows["cogging"])
    # The slider's middle is as far from one end of the row as from the other: odd about it.
    assert cogging[1:] == pytest.approx(-cogging[:0:-1], abs=1e-3 * np.abs(cogging).max())
    assert found.value("cogging_force") == pytest.approx(np.abs(cogging).max(), rel=0.05)
    assert 0 < found.value("additional_cogging_force") < found.value("cogging_force")
    below = case_with(STAGE, pocket={"size": 3.2}, core=[{**ROD, "diameter": 3}], mover__place="bottom")
    assert below.value("cogging_force") == pytest.approx(found.value("cogging_force"), rel=0.02)
    assert below.value("mover_attraction") == pytest.approx(found.value("mover_attraction"), rel=0.02)


def test_wider_gaps_and_weaker_magnets_of_a_setting(fan):
    usual = machine(fan)
    weaker, wider = machine(fan, Setting(strength=0.5)), machine(fan, Setting(lifted=5e-4))
    assert weaker.voltages.constant == pytest.approx(0.5 * usual.voltages.constant, rel=1e-6)
    assert weaker.most_cogging == pytest.approx(0.25 * usual.most_cogging, rel=1e-4)
    assert wider.most_cogging < usual.most_cogging
