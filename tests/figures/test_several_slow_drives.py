"""Boards of several windings under slow drives: winding_temperatures and temperature at their peaks."""

import pytest
from board_designs import board, winding

from coilgen import job
from coilgen.figures.several import _warm
from coilgen.figures.several._drives import switched
from coilgen.figures.several._made import EXPECTED, Made
from coilgen.figures.several._warm import state
from coilgen.result.caution import fault_told

SLOW = {"waveform": "square", "frequency": 0.05, "duty": 0.3}


def case_of(*windings, **tables):
    design = board(*windings, **tables)
    return job.case_of(design, *job.draw(design))


@pytest.fixture(scope="module")
def pair():
    driven = {**SLOW, "current": 0.9}
    return case_of(
        winding("a", centre=[-7, 0], drive=driven),
        winding("b", centre=[7, 0], drive={"current": 0.2}),
        mounting={"limit_temperature": 40},
        magnet={"form": "disc", "diameter": 3, "thickness": 1, "grade": "N42", "gap": 1},
    )


@pytest.mark.slow
def test_one_at_the_centre_peaks_as_a_design_of_one():
    """A plate on a grid against rings of heat, within 3 % of the rise; and over the mean power's."""
    several = case_of(winding("a"), board={"outline": "round", "size": 22}, drive={**SLOW, "current": 1.5})
    one = several.design.windings[0].design.changed({"board.outline": "round", "board.size": 22})
    found, expected = (case.value("temperature") - 25 for case in (several, job.case_of(one, *job.draw(one))))
    assert found == pytest.approx(expected, rel=0.03)
    assert found > 1.05 * (state(several).mean[0] - 25)


@pytest.mark.slow
def test_what_is_told_of_tolerances_is_as_solved_again(pair):
    """The swing of the expected board in proportion to the power, against the period solved anew."""
    from coilgen.physics.heat.plate.transient import plate_periodic_state

    for made in (Made(air="hot"), Made(air="cool"), Made(copper=(1.1, 1.1))):
        net = _warm._network(pair, made)
        whole = plate_periodic_state(net, switched(pair, made), 0.05)
        assert state(pair, made).hottest == pytest.approx(whole.peak, abs=0.2)


def test_the_swing_is_the_slow_windings(pair):
    found = state(pair, EXPECTED)
    swing = found.hottest - found.mean
    assert swing[0] > 1.0 > swing[1] > 0
    assert found.current == pytest.approx([0.9, 0.2])


def test_cautions_of_peaks(pair):
    told = " ".join(pair.figure("winding_temperatures").cautions)
    assert "passes mounting.limit_temperature, 40 °C: the copper of a reaches" in told
    assert "Eddy currents that the drives of a make in magnet are left out" in told
    assert "switch on together" not in told


@pytest.mark.slow
def test_the_magnet_is_told_of():
    hot = case_of(
        winding("a", centre=[-7, 0], drive={"current": 1.2}),
        winding("b", centre=[7, 0]),
        magnet={"form": "disc", "diameter": 3, "thickness": 1, "grade": "N42", "gap": 1},
    )
    told = hot.figure("winding_temperatures").cautions
    assert any("magnet" in caution and "weaken" in caution for caution in told)


@pytest.mark.slow
def test_two_slow_drives_are_taken_together():
    fast = {**SLOW, "frequency": 0.2, "current": 0.5}
    both = case_of(
        winding("a", centre=[-7, 0], drive={**SLOW, "current": 0.5}), winding("b", centre=[7, 0], drive=fast)
    )
    figure = both.figure("temperature")
    assert "slow drives all at 50.0 mHz, the slowest of them" in figure.model
    told = both.figure("winding_temperatures").cautions
    assert any("of a and b are taken to switch on together" in caution for caution in told)


@pytest.mark.slow
def test_copper_that_melts_within_one_on_time():
    """Mean power that a board bears, in one long burst that it does not."""
    burst = {"waveform": "square", "frequency": 0.001, "duty": 0.01, "current": 12}
    case = case_of(winding("a", centre=[-9, 0], drive=burst), winding("b", centre=[9, 0]))
    assert case.figure("temperature") is None
    (told,) = case.figure("winding_temperatures").cautions
    assert told.startswith("Warning: The copper of a melts while its drive is on within one period of 1")
    assert fault_told([told]) == "its copper melts"
