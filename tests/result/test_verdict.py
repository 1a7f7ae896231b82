"""The verdict: rules first, then what makes a board useless, and what to read."""

from dataclasses import replace

import pytest
from small_design import SMALL, small_with

from coilgen.design.reading import read_text
from coilgen.job import check, predict
from coilgen.result.rule import Finding
from coilgen.result.verdict import verdict

FIRE = "Warning: Danger of fire: the copper reaches 260 °C."
PINCH = "Warning: A strong magnet pinches."
BROKEN = Finding(rule="trace_width", value=1e-4, limit=2e-4, unit="m", layer=1, at=0j, says="Widen it.")


@pytest.fixture(scope="module")
def kept():
    return replace(check(read_text(f"{SMALL}[drive]\nvoltage = 3\n")), findings=(), cautions=())


def test_says_which_drive_is_taken(kept):
    silent = replace(kept, design=kept.design.changed({"drive.voltage": None}))
    assert str(verdict(silent)).endswith(". No drive is told: figures are those at 5 V.")


def test_of_a_board_that_keeps_the_rules(kept):
    shop = kept.design.rules.shop
    assert str(verdict(kept)) == f"Keeps every rule of {shop}."
    told = replace(kept, cautions=(FIRE, PINCH, "A note."))
    assert str(verdict(told)) == (
        f"Keeps every rule of {shop}, but not to be used as it is: danger of fire; read the 2 warnings first."
    )


def test_of_a_board_that_breaks_rules(kept):
    told = verdict(replace(kept, findings=(BROKEN, BROKEN), cautions=(FIRE,)))
    assert told.found == f"it breaks 1 rule of {kept.design.rules.shop}"
    assert str(told) == f"Not to be ordered as it is: {told.found}; besides, danger of fire."


def test_a_pulse_that_is_told_has_its_temperature_beside_the_fault_of_lasting_current():
    hot = predict(small_with(drive={"current": "12 A", "pulse": "2 ms"}))
    told = str(verdict(hot))
    reached = hot.figures["pulse_temperature"].value
    assert 25 < reached < 100
    assert told.endswith(
        " The heat is that of a drive that stays on: one pulse of 2.00 ms from cold "
        f"reaches {reached:.1f} °C."
    )
    assert "stays on" not in str(verdict(predict(small_with(drive={"current": "12 A"}))))
    assert "stays on" not in str(verdict(replace(hot, cautions=(PINCH,))))
