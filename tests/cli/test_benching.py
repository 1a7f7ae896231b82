"""`bench` from end to end: an empty form, and faults of a form with its name."""

import csv
import json
import re

import pytest
from benches import COIL

from coilgen.catalogue import templates


def test_writes_an_empty_form_and_never_over_another(run, tmp_path):
    (tmp_path / "coil.toml").write_text(COIL)
    first = run("bench", tmp_path / "form.csv", "--design", tmp_path / "coil.toml", "--blank")
    assert (first.exit_code, "A1,resistance,,ohm" in (tmp_path / "form.csv").read_text()) == (0, True)
    again = run("bench", tmp_path / "form.csv", "--design", tmp_path / "coil.toml", "--blank")
    assert (again.exit_code, "exists already" in again.stderr) == (2, True)


@pytest.mark.parametrize("ending", ["csv", "toml"])
def test_an_empty_form_has_rows_for_each_board_and_tells_what_it_stands_for(run, tmp_path, ending):
    """A variant that only drives the board otherwise is none of its own."""
    driven = '[[variant]]\nname = "{}"\n{}\n'
    changes = {
        "weak": 'drive = { current = "0.1 A" }',
        "far": "probe = { heights = [9] }",
        "wide and weak": 'winding = { trace_width = 0.3, outer_size = 20 }\ndrive = { current = "0.1 A" }',
    }
    (tmp_path / "coil.toml").write_text(COIL + "".join(driven.format(*each) for each in changes.items()))
    form = tmp_path / f"form.{ending}"
    assert run("bench", form, "--design", tmp_path / "coil.toml", "--blank").stderr == ""
    told = form.read_text()
    first = r'(?m)^sample = "(.*)"' if ending == "toml" else r"(?m)^([^,#]*),[^,]*,,"
    assert [*dict.fromkeys(re.findall(first, told))] == ["A1", "wide"]
    assert '\n# A1 is the board of "weak", "far" too: another drive makes no other board.\n' in told
    assert '\n# wide is the board of "wide and weak" too: another drive' in told


def test_faults_are_told_with_the_file_and_the_cell(run, tmp_path):
    (tmp_path / "coil.toml").write_text(COIL)
    (tmp_path / "form.csv").write_text("sample,figure,value,unit\nA1,inductance,3,uH\n")
    result = run("bench", tmp_path / "form.csv", "--design", tmp_path / "coil.toml")
    assert result.exit_code == 2
    assert "form.csv: line 2, frequency: not given" in result.stderr


def test_a_calibration_that_is_not_there_is_told(run, tmp_path):
    (tmp_path / "coil.toml").write_text('calibration = "gone.toml"\n' + COIL)
    result = run("check", tmp_path / "coil.toml")
    assert (result.exit_code, "gone.toml" in result.stderr) == (2, True)


PANELLED = COIL + '[[variant]]\nname = "fewer"\nwinding = {{ turns = {fewer} }}\n'


def panelled(run, folder, fewer):
    (folder / "coil.toml").write_text(PANELLED.format(fewer=fewer))
    assert run("panel", folder / "coil.toml", "--out", folder / "out").exit_code == 0
    (key,) = folder.glob("out/*/*-samples.csv")
    return key


def test_labels_of_a_panel_name_the_boards(run, tmp_path):
    key = panelled(run, tmp_path, 4)
    empty = run("bench", tmp_path / "form.csv", "--samples", key, "--blank")
    form = (tmp_path / "form.csv").read_text()
    assert (empty.exit_code, "A1,resistance" in form, "A2,resistance" in form) == (0, True, True)
    lines = ["sample,figure,value,unit,uncertainty,temperature", "A1,resistance,3,ohm,0.3 %,23"]
    (tmp_path / "form.csv").write_text("\n".join([*lines, "A2,resistance,2,ohm,0.3 %,23"]))
    result = run("bench", tmp_path / "form.csv", "--samples", key, "--out", tmp_path / "found")
    assert result.exit_code == 0, result.stderr
    predicted = [
        line.split(",") for line in next((tmp_path / "found").glob("*.csv")).read_text().splitlines()
    ]
    column = predicted[0].index("predicted")
    assert float(predicted[2][column]) < 0.9 * float(predicted[1][column])


def test_what_it_says_to_keys_and_labels_that_do_not_fit(run, tmp_path):
    key, form = panelled(run, tmp_path, 4), tmp_path / "form.csv"
    form.write_text("sample,figure,value,unit,uncertainty,temperature\nA9,resistance,3,ohm,0.3 %,23\n")
    other = run("bench", form, "--samples", key)
    told = "A9 is neither board nor coupon of the panel; it has A1, A2, A3, T1, T2, T3, T4"
    assert (other.exit_code, told in other.stderr) == (2, True)
    both = run("bench", form, "--samples", key, "--design", tmp_path / "coil.toml")
    assert (both.exit_code, "--samples NAME-samples.csv" in both.stderr) == (2, True)
    not_one = run("bench", form, "--samples", form)
    assert (not_one.exit_code, "has no column label" in not_one.stderr) == (2, True)
    (tmp_path / "coil.toml").write_text(COIL)
    changed = run("bench", form, "--samples", key)
    assert (changed.exit_code, '"fewer" is no variant of coil.toml' in changed.stderr) == (2, True)
    (tmp_path / "coil.toml").unlink()
    gone = run("bench", form, "--samples", key)
    assert (gone.exit_code, "coil.toml stands neither beside the key" in gone.stderr) == (2, True)


def test_boards_of_several_windings_are_refused_once(run, tmp_path):
    (tmp_path / "pair.toml").write_text(templates()["bucking-pair"])
    form = tmp_path / "form.csv"
    empty = run("bench", form, "--design", tmp_path / "pair.toml", "--blank")
    form.write_text("sample,figure,value,unit,temperature\nA1,resistance,3,ohm,23\nA2,resistance,3,ohm,23\n")
    read = run("bench", form, "--design", tmp_path / "pair.toml")
    for result in (empty, read):
        assert result.exit_code == 2
        assert "winding: a bench reads boards of one winding" in result.stderr
        assert len(result.stderr.splitlines()) == 1


COPPER = 1.06
"""Times the resistance that was asked for: thinner copper, of boards and coupons alike."""


@pytest.mark.slow
def test_from_a_panel_to_a_form_to_a_calibrated_variant(run, tmp_path):
    """The whole way by the command line: order, read, learn, and predict a sibling that was never built."""
    key = panelled(run, tmp_path, 4)
    form = tmp_path / "form.csv"
    assert run("bench", form, "--samples", key, "--blank").exit_code == 0
    form.write_text(filled(form.read_text(), expected_readings(key)))
    result = run("bench", form, "--samples", key, "--out", tmp_path / "found")
    assert result.exit_code == 0, result.stderr
    text = " ".join(result.stdout.split())
    assert "rows of the form have no value and were left out" in text
    assert "cannot tell trace width" not in text
    (learnt,) = tmp_path.glob("found/*-calibration.toml")
    assert "5 readings of 3 boards and 2 coupons of lid-coil" in learnt.read_text()
    sibling = PANELLED.format(fewer=4) + '\n[[variant]]\nname = "never built"\nwinding = { turns = 7 }\n'
    (tmp_path / "plain.toml").write_text(sibling)
    (tmp_path / "next.toml").write_text(f'calibration = "found/{learnt.name}"\n{sibling}')
    before, after = (compared(run, tmp_path / name) for name in ("plain.toml", "next.toml"))
    assert set(before) == set(after) == {"as designed", "wide", "fewer", "never built"}
    for name, resistance in before.items():
        assert after[name] == pytest.approx(COPPER * resistance, rel=0.01), name


def expected_readings(key):
    """By label and figure: resistances of a batch of thinner copper at 23 degC."""
    warm = 1 + 0.00393 * 3
    found = {(row["label"], "resistance"): float(row["resistance_20c_ohm"]) for row in table(key)}
    for row in table(key.with_name(key.name.replace("samples", "coupons"))):
        if row["label"] in ("T1", "T2"):
            found[row["label"], "resistance"] = float(row["expected"])
    return {place: COPPER * warm * value for place, value in found.items()}


def table(path):
    """Rows of a CSV."""
    with path.open() as file:
        return [*csv.DictReader(file)]


def filled(form, values):
    """A form with its values filled in, as a spreadsheet with decimal commas saves it."""
    rows = [line.split(",") for line in form.splitlines() if not line.startswith("#")]
    for row in rows[1:]:
        value = values.get((row[0], row[1]))
        row[2] = "" if value is None else f"{value:.5g}".replace(".", ",")
    return "\ufeff" + "\r\n".join(";".join(row) for row in rows) + "\r\n"


def compared(run, path):
    """Resistance by variant."""
    result = run("compare", path, "--json")
    assert result.exit_code == 0, result.stderr
    return {row["name"]: row["values"]["resistance_20c"] for row in json.loads(result.stdout)["variants"]}
