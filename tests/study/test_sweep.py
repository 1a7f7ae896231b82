"""Sweeps: every combination once, in order, the same whoever computes it, and lines of CSV that read back."""

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_design import SMALL

from coilgen import job
from coilgen.design.reading import read_text
from coilgen.errors import DesignError
from coilgen.exports.page._colour_map import BANDS, band_colour
from coilgen.study.plan import plan
from coilgen.study.sweep import sweep
from coilgen.study.sweep_block import Row
from coilgen.study.sweep_page import page
from coilgen.study.sweep_rows import _blocks, rows
from coilgen.study.sweep_text import choice_text, head, lines, rows_in

DESIGN = read_text(SMALL + "[drive]\nvoltage = 0.5\n")
VARY = {"drive.voltage": [0.5, 1.0], "winding.turns": [2, 3, 13]}
FIGURES = ("resistance_20c", "current", "rules_broken")


@pytest.fixture(scope="module")
def small():
    return sweep(DESIGN, VARY, FIGURES)


def test_rows_are_all_combinations_in_order_with_the_last_key_fastest(small) -> None:
    assert small["drive.voltage"].tolist() == [0.5] * 3 + [1.0] * 3
    assert small["winding.turns"].tolist() == [2, 3, 13] * 2
    assert [*small] == ["drive.voltage", "winding.turns", "status", "exact", *FIGURES]


def test_figures_are_those_of_each_design(small) -> None:
    for k in (0, 1, 3, 4):
        design = DESIGN.changed({name: small[name][k] for name in VARY})
        case = job.case_of(design, *job.draw(design))
        assert small["current"][k] == case.value("current")
        assert small["current"][k] == pytest.approx(small["drive.voltage"][k] / small["resistance_20c"][k])
    assert small.units["current"] == "A"
    assert small["exact"].all()


def test_what_cannot_be_built_has_its_fault_in_its_row(small) -> None:
    for k in (2, 5):
        assert small["status"][k].startswith("winding.inner_size: the winding leaves")
        assert np.isnan(small["current"][k])
    assert (small["status"][[0, 1, 3, 4]] == "ok").all()


def test_faults_of_keys_that_contradict_one_another_are_rows_too() -> None:
    found = sweep(DESIGN, {"pocket": [False, {"size": 60}]}, ["current"])
    assert found["status"][0] == "ok"
    assert found["status"][1].startswith("pocket.size: 60 mm does not fit")


def test_arrays_ranges_words_and_the_designs_own_table_are_taken() -> None:
    asked = plan(DESIGN, {"winding.turns": np.arange(2, 4), "drive.voltage": {"from": 1, "to": 2, "step": 1}})
    assert [axis.choices for axis in asked.axes] == [(2.0, 3.0), (1.0, 2.0)]
    own = plan(read_text(SMALL + '[sweep]\nwinding.shape = ["round", "square"]\n'))
    assert own.axes[0].choices == ("round", "square")
    assert own.design == read_text(SMALL)


def test_a_design_that_sweeps_is_made_like_any_other_and_its_page_tells_the_keys() -> None:
    made = job.make(read_text(SMALL + '[sweep]\nwinding.shape = ["round", "square"]\n'))
    assert b"winding.shape" in made.files["small.html"]
    assert b"sweep" not in made.files["small.json"]


@pytest.mark.parametrize("sign", [1, -1])
def test_the_largest_cell_of_a_map_is_the_lightest_whatever_way_a_force_points(sign) -> None:
    asked = plan(DESIGN, VARY, ["current"])
    cells = [Row(number=k, status="ok", exact=True, values=(sign * (k + 1.0),)) for k in range(6)]
    found = re.findall("background: (#[0-9a-f]{6})", page(asked, cells).decode())
    assert len(found) == 6
    assert found[0] == band_colour(0)
    assert found[-1] == band_colour(BANDS - 1)


def test_usual_figures_are_those_that_may_apply() -> None:
    assert "force_on_magnet" not in plan(DESIGN, VARY).figures
    magnet = {"form": "disc", "diameter": 6, "thickness": 2, "grade": "N42", "gap": 1}
    assert "force_on_magnet" in plan(DESIGN, {"magnet": [False, magnet]}).figures


@pytest.mark.parametrize(
    ("vary", "figures", "says"),
    [
        (None, None, "sweep: not given"),
        ({"winding.turn": [1]}, None, 'did you mean "winding.turns"'),
        (VARY, ["curent"], '"curent" is no figure; did you mean "current"?'),
        (VARY, ["rules_brokn"], 'did you mean "rules_broken"?'),
        (VARY, ["flux_density"], "flux_density is a table"),
        (VARY, ["layer_inductances"], "layer_inductances is a matrix"),
        (VARY, [], "figures: none named"),
    ],
)
def test_faults_of_keys_and_figures_are_told_before_anything_is_computed(vary, figures, says) -> None:
    with pytest.raises(DesignError, match=says.replace("?", r"\?")):
        sweep(DESIGN, vary, figures)


@settings(max_examples=25)
@given(
    counts=st.lists(st.integers(1, 5), min_size=1, max_size=4),
    workers=st.integers(0, 4),
    share=st.floats(0.0, 1.0),
)
def test_blocks_hold_every_wanted_row_once(counts, workers, share) -> None:
    keys = ("drive.voltage", "winding.turns", "drive.ambient", "winding.trace_width")
    vary = {key: [1 + k / 10 for k in range(count)] for key, count in zip(keys, counts, strict=False)}
    asked = plan(DESIGN, vary)
    wanted = {row for row in range(asked.count) if (row * 7919) % 100 <= 100 * share}
    found = [row for block in _blocks(asked, wanted, workers) for row in block]
    assert sorted(found) == sorted(wanted)


def test_rows_of_one_copper_follow_one_another() -> None:
    asked = plan(DESIGN, {"drive.voltage": [1, 2, 3], "winding.turns": [2, 3]})
    assert [asked.choices(row) for row in asked.order()] == [(v, t) for t in (2, 3) for v in (1, 2, 3)]
    assert asked.alike() == 3


def test_other_values_figures_or_designs_have_another_identity() -> None:
    same = plan(DESIGN, VARY, FIGURES)
    assert same.identity == plan(read_text(SMALL + "[drive]\nvoltage = 0.5\n"), VARY, FIGURES).identity
    others = [
        plan(DESIGN, {**VARY, "drive.voltage": [0.5, 1.1]}, FIGURES),
        plan(DESIGN, VARY, FIGURES[:2]),
        plan(DESIGN.changed({"via.drill": 0.35}), VARY, FIGURES),
    ]
    assert len({same.identity, *(other.identity for other in others)}) == 4


def test_lines_read_back_and_a_torn_one_does_not_count(small) -> None:
    text = head(small.plan) + lines(small.plan, small.rows)
    assert rows_in(small.plan, text, "a.csv") == [*small.rows]
    for cut in range(len(text) - 40, len(text)):
        kept = rows_in(small.plan, text[:cut], "a.csv")
        assert kept == [*small.rows][: len(kept)]


def test_lines_of_another_sweep_are_refused(small) -> None:
    text = head(small.plan) + lines(small.plan, small.rows)
    other = plan(DESIGN.changed({"via.drill": 0.35}), VARY, FIGURES)
    with pytest.raises(DesignError, match="holds rows of another design"):
        rows_in(other, text, "a.csv")
    with pytest.raises(DesignError, match="has other columns"):
        rows_in(plan(DESIGN, VARY, FIGURES[:1]), text, "a.csv")
    with pytest.raises(DesignError, match="no row of this sweep"):
        rows_in(small.plan, head(small.plan) + "a,b\n", "a.csv")


@given(value=st.floats(allow_nan=False, allow_infinity=False), text=st.text(max_size=20))
def test_every_number_and_fault_comes_back_as_it_was(value: float, text: str) -> None:
    asked = plan(DESIGN, {"drive.voltage": [1]}, ["current", "power"])
    row = Row(number=0, status=f"key: {text}", exact=True, values=(value, None))
    written = lines(asked, [row])
    if "\n" not in text and "\r" not in text and text.isprintable():
        assert rows_in(asked, head(asked) + written, "a") == [row]


def test_a_table_among_choices_is_told_as_json() -> None:
    assert choice_text({"b": 1, "a": [2]}) == '{"a": [2], "b": 1}'


@pytest.mark.slow
def test_rows_are_the_same_for_one_two_and_four_processes(small) -> None:
    for workers in (2, 4):
        found = [row for block in rows(small.plan, range(6), workers=workers) for row in block]
        assert sorted(found, key=lambda row: row.number) == [*small.rows]
