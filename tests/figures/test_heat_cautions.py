"""Every caution of temperature is raised by its number, and not without it."""

import json
import re

import pytest
from heat_designs import FLEX, case, plate, text

from coilgen.catalogue import rows
from coilgen.design.reading import read_text
from coilgen.figures.heat._limits import continuous
from coilgen.job import make
from coilgen.result.caution import WARNING, fault_told, warns

MARKS = rows("temperature_limits")
SLOW = {"waveform": "square", "frequency": 0.02, "duty": 0.2}


def cautions(core=(), **tables):
    return case(core, **tables).figure("temperature_limits").cautions


def voltage_for(peak, **tables):
    """Voltage that brings the hottest copper to a temperature, degC."""
    return continuous(case(**tables), peak)[1]


def at(peak, **tables):
    return cautions(**tables, drive={"voltage": voltage_for(peak, **tables)})


def starting(found, word):
    """Cautions that begin with a word, whether or not they tell of harm, of which there is one at most."""
    own = [caution for caution in found if caution.removeprefix(WARNING).startswith(word)]
    assert len(own) < 3
    return own


def test_a_cool_coil_has_none():
    assert cautions(drive={"voltage": 0.3}) == ()


@pytest.mark.parametrize(
    ("peak", "mark"), [(49, "touch-1-min"), (54, "touch-10-s"), (64, "touch-1-s"), (80, "touch-brief")]
)
def test_touch(peak, mark):
    first = starting(at(peak), "Hot to touch: ")[0]
    assert warns(first)
    assert f"the copper reaches {peak} °C (" in first
    assert first.endswith(f"At {MARKS[mark]['temperature']:g} °C: {MARKS[mark]['says']}.")


def test_a_mark_within_the_band_is_told_as_such():
    found = at(45)
    assert not any(warns(caution) for caution in starting(found, "Hot to touch, perhaps: "))
    assert starting(found, "Hot to touch, perhaps: ")[0].endswith("touched for a minute or longer.")
    assert not starting(found, "Hot to touch: ")


@pytest.mark.parametrize(
    ("board", "peak", "mark"),
    [
        (FLEX, 115, "flex-adhesive"),
        ({}, 140, "laminate"),
        ({}, 190, "leaded-solder"),
        (FLEX, 240, "lead-free-solder"),
    ],
)
def test_material(board, peak, mark):
    found = starting(at(peak, board=board), "Too hot for this board: ")
    assert found[0].endswith(f"{MARKS[mark]['says'].replace('degC', '°C')}.")


def test_a_mark_of_another_laminate_is_not_told():
    assert not any("flexible" in caution for caution in at(115))


def test_only_the_highest_mark_of_each_danger():
    found = at(240)
    for danger in ("Hot to touch", "Too hot for this board", "Danger of fire"):
        assert len(starting(found, danger)) == 1


def test_the_gravest_is_the_verdict():
    """How warnings begin and what they come to stand in one table, which is held against what figures say."""
    magnet = {"grade": "N42", "diameter": 4, "thickness": 2, "gap": 1}
    assert fault_told(at(240)) == "danger of fire"
    assert fault_told(at(140)) == "too hot for the board"
    assert fault_told(at(47, mounting={"limit_temperature": 45})) == "hotter than you allow"
    assert fault_told(at(90, magnet=magnet)) == "its heat weakens the magnet"
    assert fault_told(at(90)) == fault_told(at(78, magnet=magnet)) == ""


def test_paper():
    assert "paper may ignite" in starting(at(240), "Danger of fire: ")[0]
    assert "paper may ignite" in starting(at(226), "Danger of fire, perhaps: ")[0]
    assert not starting(at(190), "Danger of fire")


def test_ones_own_limit():
    mounting = {"limit_temperature": 45}
    assert any("passes mounting.limit_temperature, 45 °C" in told for told in at(47, mounting=mounting))
    assert any("may pass mounting.limit_temperature" in told for told in at(44, mounting=mounting))
    assert not any("limit_temperature" in told for told in at(40, mounting=mounting))


def test_magnet():
    magnet = {"grade": "N42", "diameter": 4, "thickness": 2, "gap": 1}
    assert any("The magnet weakens" in told and "bears 80 °C" in told for told in at(90, magnet=magnet))
    assert any("The magnet may weaken" in told for told in at(78, magnet=magnet))
    assert not any("magnet" in told for told in at(90, magnet={**magnet, "grade": "N42SH"}))
    assert not any("magnet" in told for told in at(90))


def test_no_steady_state_and_nothing_beside_it():
    found = cautions(drive={"voltage": None, "current": 3.0})
    assert found[0].startswith(f"{WARNING}No steady state at 3.00 A: ")
    assert "danger of fire" in found[0]
    assert fault_told(found) == "it heats up until it burns out"
    assert not any("Hot" in told for told in found)


def test_a_slow_period_in_which_the_copper_melts():
    drive = {"voltage": None, "current": 8.0, "waveform": "square", "frequency": 0.002, "duty": 0.005}
    found = cautions(drive=drive)
    assert any("melts while the drive is on within one period of 500 s" in told for told in found)
    assert fault_told(found) == "its copper melts"


def test_the_peak_of_slow_periods_counts():
    given = case(drive={**SLOW, "voltage": 3.0})
    peak, mean = given.value("temperature"), given.value("mean_temperature")
    assert peak > mean + 20
    assert f"the copper reaches {peak:.0f} °C" in cautions(drive={**SLOW, "voltage": 3.0})[0]


def test_formulas_out_of_their_range():
    wide = {"mounting.base_plate": {"width": 600, "thickness": 10, "material": "copper plate"}}
    word = "formulas of convection are used outside their range"
    assert any(word in told for told in at(150, **wide))
    assert not any(word in told for told in (*at(28, **wide), *at(45)))


def test_a_gap_that_the_joint_does_not_tell():
    far, near, told = (
        [plate(gap=gap, **more)] for gap, more in ((1.0, {}), (0.05, {}), (1.0, {"contact": "air-gap"}))
    )
    assert any(
        "Core 1 stands 1 mm off, farther than its joint for heat, thin-tape" in one for one in cautions(far)
    )
    assert not any("Core 1" in one for one in (*cautions(near), *cautions(told)))


def test_hot_coils_are_to_be_measured_with_care():
    found = at(90)
    assert any("thermocouple" in told and "infrared" in told for told in found)
    assert any("local codes and licensed practice" in told for told in found)


def test_they_stand_in_every_file_that_is_for_the_designer():
    result = make(read_text(text(drive={"voltage": 4.0})))
    told = next(caution for caution in result.cautions if caution.startswith(f"{WARNING}Hot to touch"))
    assert told in json.loads(result.files["warm.json"])["cautions"]
    assert told not in result.files["fab/warm-fabrication-notes.md"].decode()  # it is for the designer
    page = result.files["warm.html"].decode()
    read = " ".join(re.sub("<.*?>", " ", page).split())  # its brief, and the rest to unfold
    assert told.removeprefix(WARNING) in read
    assert "hottest copper" in result.files["warm.html"].decode()
