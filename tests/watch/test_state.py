"""The state of a watched file: the last good result stays while the newest text has faults."""

from pathlib import Path

import pytest

from coilgen.catalogue import templates
from coilgen.errors import DesignError
from coilgen.exports.page._summary import QUICK_FIGURES
from coilgen.study.memory import AbandonedError
from coilgen.watch.state import BEGINNING, Remembered, completed, faulty, full, quick, renewed
from coilgen.watch.trial import changed

GOOD = templates()["optical-shutter"]


def test_a_good_file_has_a_result() -> None:
    state = renewed(BEGINNING, GOOD)
    assert state.version == 1
    assert state.faults == ()
    assert state.good == state.text == GOOD
    assert state.result is not None
    assert state.result.figures


def test_a_fault_keeps_the_last_good_result_until_it_is_mended() -> None:
    first = renewed(BEGINNING, GOOD)
    broken = renewed(first, GOOD.replace('"round"', '"rund"'))
    assert broken.result is first.result
    assert broken.good == GOOD
    assert broken.faults[0].startswith("winding.shape: ")
    gone = faulty(broken, DesignError.at("shutter.toml", "cannot be read"))
    assert gone.result is first.result
    assert gone.faults == ("shutter.toml: cannot be read",)
    mended = renewed(gone, GOOD)
    assert mended.faults == ()
    other = renewed(mended, GOOD + "# more")
    states = (first, broken, gone, mended, other)
    assert [state.version for state in states] == [1, 2, 3, 4, 5]
    assert [state.good_since for state in states] == [1, 1, 1, 1, 5]


def test_no_result_before_the_first_good_file() -> None:
    state = renewed(BEGINNING, "[")
    assert state.result is None
    assert state.good is None
    assert len(state.faults) == 1


def test_quick_figures_are_the_whole_ones() -> None:
    some, whole = quick(GOOD, Path()), full(GOOD, Path())
    forces = {"force_on_magnet", "force_constant"}
    assert set(some.figures) == (set(QUICK_FIGURES) | forces) & set(whole.figures)
    assert len(some.figures) >= 5
    assert all(some.figures[name].value == whole.figures[name].value for name in some.figures)
    assert some.art == whole.art
    assert some.findings == whole.findings


def test_a_state_is_quick_first_and_whole_after() -> None:
    first = renewed(BEGINNING, GOOD)
    assert not first.whole
    whole = completed(first)
    assert (whole.version, whole.whole) == (first.version, True)
    assert first.result is not None
    assert whole.result is not None
    assert set(first.result.figures) < set(whole.result.figures)
    assert completed(whole) is whole
    assert completed(BEGINNING) is BEGINNING
    assert not renewed(whole, GOOD + "# more").whole


def test_what_is_no_longer_wanted_is_left_before_the_next_figure() -> None:
    first, asked = renewed(BEGINNING, GOOD), iter([True, True, False])
    assert completed(first, lambda: next(asked)) is first
    with pytest.raises(AbandonedError):
        full(GOOD, Path(), lambda: False)


def test_what_is_no_longer_wanted_is_left_within_a_figure_and_found_whole_by_the_next() -> None:
    """Nothing half done is remembered."""
    remembered, left = Remembered(), []

    def wanted() -> bool:
        left.append(None)
        return len(left) < 40

    with pytest.raises(AbandonedError):
        quick(GOOD, Path(), wanted, remembered)
    assert len(left) == 40 > len(QUICK_FIGURES) + 3
    assert dict(quick(GOOD, Path(), remembered=remembered).figures) == dict(quick(GOOD, Path()).figures)


def test_figures_that_no_solver_can_do_are_told_as_a_caution_beside_all_others() -> None:
    ring = '\n[[core]]\nform = "ring"\nthickness = 5\ndiameter = 14\nhole_diameter = 13.98\n'
    first = renewed(BEGINNING, GOOD + ring)
    whole = completed(first)
    assert whole.result is not None
    assert "core: cannot be computed: a ring is too narrow" in " ".join(whole.result.cautions)
    assert whole.result.figures["inductance"].value > 0.0
    assert "core_inductance" not in whole.result.figures
    assert (whole.faults, whole.whole) == ((), True)


def test_what_was_last_whole_is_what_coarse_forces_are_set_right_by() -> None:
    remembered = Remembered()
    first, second = (full(text, Path(), remembered=remembered) for text in (GOOD, GOOD + "# more\n"))
    assert remembered.last.result is second is not first
    with pytest.raises(AbandonedError):
        full(GOOD, Path(), lambda: False, remembered)
    assert remembered.last.result is second


def test_a_number_tried_has_the_figures_of_a_run_by_itself() -> None:
    remembered = Remembered()
    full(GOOD, Path(), remembered=remembered)
    for number in ({"drive.voltage": 4.0}, {"winding.trace_width": 0.14}):
        text = changed(GOOD, number)
        tried, alone = full(text, Path(), remembered=remembered), full(text, Path())
        assert dict(tried.figures) == dict(alone.figures)
        assert tried.cautions == alone.cautions
