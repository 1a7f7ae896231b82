"""The coil where it stands: magnet, target and cores together, and what the magnet does to the cores."""

import pytest
from core_cases import SMALL, case, core

COIL = SMALL + '[magnet]\nform = "disc"\ndiameter = 5\nthickness = 2\ngrade = "N42"\ngap = {gap}\n'
SHEET = core("ferrite sheet", width=11, thickness=0.2, gap=0.02)
DISC = '[target]\nform = "disc"\ndiameter = 9\nthickness = 1.5\ngap = {gap}\nplace = "top"\n'
PLATE = core("soft iron", width=11, thickness=1.0)


@pytest.fixture(scope="module", autouse=True)
def coarse():
    """Grids of few cells: the laws here hold on any."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("coilgen.figures.core._cells.CELLS", 700)
        patch.setattr("coilgen.figures.core._cells.ACROSS", 4)
        yield


@pytest.fixture(scope="module")
def near():
    """A ferrite sheet in the field of a strong magnet."""
    return case(COIL.format(gap=0.5), SHEET)


@pytest.fixture(scope="module")
def alone():
    """The same without the magnet."""
    return case(SMALL, SHEET)


def test_a_magnet_saturates_a_thin_sheet_and_takes_its_use(near, alone):
    """0.2 mm of 0.3 T carry 60 uWb/m, far less than such a magnet drives along the sheet."""
    (row,) = near.value("core_state")
    assert row["saturated_at_rest"] > 0.1
    assert row["peak_at_rest"] > 0.3
    for name in ("core_inductance", "core_inductance_at_rest", "core_inductance_small_signal"):
        gained, full = (each.value(name) - each.value("inductance") for each in (near, alone))
        assert 0.0 < gained < 0.8 * full
    (caution,) = near.figure("core_state").cautions
    assert "magnet alone saturates" in caution
    assert "core 1 (ferrite sheet)" in caution


def test_inductances_that_count_what_stands_beside_the_cores_say_so(near, alone):
    for name in ("core_inductance", "core_inductance_at_rest", "core_inductance_small_signal"):
        assert near.figure(name).says == f"{alone.figure(name).says}, magnet where it stands"


def test_the_field_that_the_current_adds_falls_with_the_sheets_use(near, alone):
    """On the sheet's far side more of the coil's field comes through; the magnet's own is not in it."""
    through, shielded = (each.value("core_flux_density")[2]["ratio"] for each in (near, alone))
    assert shielded < through < 1.2


def test_a_far_magnet_changes_nothing(alone):
    far = case(COIL.format(gap=60), SHEET)
    (row,) = far.value("core_state")
    assert row["saturated_at_rest"] == 0.0
    assert far.figure("core_state").cautions == ()
    assert far.value("core_inductance") == pytest.approx(alone.value("core_inductance"), rel=1e-3)
    assert far.value("inductance_in_place") == pytest.approx(alone.value("inductance_in_place"), rel=1e-3)


def test_without_magnetic_bodies_nothing_is_in_place():
    assert case(SMALL).figure("inductance_in_place") is None
    assert case(COIL.format(gap=1)).figure("inductance_in_place") is None


def test_a_target_adds_to_the_inductance_and_the_drive_follows():
    """As a coil's own core would that stood there: energy goes with it, and the time of switching off as far
    as the target's eddy currents let the flux follow."""
    bare, held = case(SMALL), case(SMALL, DISC.format(gap=0.1))
    found = held.value("inductance_in_place")
    assert found > 1.15 * held.value("inductance")
    ratio = found / held.value("inductance")
    assert held.value("stored_energy") == pytest.approx(ratio * bare.value("stored_energy"), rel=0.02)
    off, alone = held.value("switch_off_time"), bare.value("switch_off_time")
    assert alone < off < 1.02 * ratio * alone
    assert held.figure("core_inductance") is None


def test_target_and_core_lead_the_flux_together():
    """More than both add by themselves."""
    both, plate, disc = (
        case(SMALL, *bodies).figure("inductance_in_place")
        for bodies in ((PLATE, DISC.format(gap=0.1)), (PLATE,), (DISC.format(gap=0.1),))
    )
    bare = case(SMALL).value("inductance")
    assert both.value - bare > (plate.value - bare) + (disc.value - bare)
    assert both.band[0] < both.value < both.band[1]
    assert "cores, target in place" in both.model
