"""A bench finds what boards were made like, names what no tolerance explains, and narrows the bands."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from benches import COIL, asked, coil, held, problem_of

from coilgen.design.reading import read, read_text
from coilgen.errors import DesignError
from coilgen.job import case_of, draw_copper
from coilgen.study.bench.bench import bench
from coilgen.study.bench.files import blank, calibration_text, files_of
from coilgen.study.bench.forecast import Forecaster
from coilgen.study.bench.form import form_of_csv, form_of_toml
from coilgen.study.bench.outliers import SHORTED
from coilgen.study.bench.proposals import bearable_drive
from coilgen.study.bench.reading import Reading, averaged


@pytest.mark.slow
def test_readings_without_errors_give_the_causes_back() -> None:
    design = coil()
    problem = problem_of(design, ("A1", "wide"))
    places = np.zeros(len(problem.causes))
    names = [each.name for each in problem.causes]
    places[names.index("trace width")], places[names.index("copper thickness")] = 0.7, -0.5
    readings = [
        Reading(
            sample=each.sample,
            figure=each.figure,
            value=problem.forecast(each, places).value,
            uncertainty=1e-3 * problem.forecast(each, places).value,
            at=each.at,
        )
        for each in problem.readings
    ]
    found = bench(readings, design)
    assert not found.named
    told = {each.cause.name: each for each in found.causes}
    # Thicker copper and copper that conducts better are nearly one: their product is what is found.
    thick, conducting = (told[name].after[1] for name in ("copper thickness", "conductivity"))
    truth = problem.causes[names.index("copper thickness")].value(-0.5)
    assert thick * conducting == pytest.approx(truth, rel=0.02)
    assert told["trace width"].after[1] == pytest.approx(0.7 * design.tolerance.trace_width, rel=0.15)


@pytest.mark.slow
def test_round_trip_from_the_form_to_a_calibrated_variant(tmp_path: Path) -> None:
    _, _, found = held(3)
    files = files_of(found)
    assert set(files) == {"lid-coil-bench.html", "lid-coil-bench.csv", "lid-coil-calibration.toml"}
    (tmp_path / "lid-coil-calibration.toml").write_bytes(files["lid-coil-calibration.toml"])
    (tmp_path / "coil.toml").write_text('calibration = "lid-coil-calibration.toml"\n' + COIL)
    again = read(tmp_path / "coil.toml")
    variant = again.variant[0].design
    before = _cold(read_text(COIL).variant[0].design)
    after = _cold(variant)
    assert after.band is not None
    assert before.band is not None
    assert (before.band[1] - before.band[0]) > 5 * (after.band[1] - after.band[0])
    assert "lid-coil-calibration.toml" in after.model
    assert draw_copper(again)[0].traces == draw_copper(read_text(COIL))[0].traces
    written = calibration_text(found.calibration)
    assert again.calibration is not None
    assert [each.cause for each in again.calibration.learnt] == [
        each.cause for each in found.calibration.learnt
    ]
    assert written.count("[[learnt]]") == len(found.calibration.learnt)


def _cold(design):  # type: ignore[no-untyped-def]  # a figure of a design
    figure = case_of(design, *draw_copper(design)).figure("resistance_20c")
    assert figure is not None
    return figure


@pytest.mark.slow
def test_a_shorted_turn_is_named_and_left_out() -> None:
    _, _, found = held(5, shorted="A2")
    assert [(each.what, each.sample) for each in found.named] == [(SHORTED, "A2")]
    assert "shorted turn" in found.remarks[0]


@pytest.mark.slow
def test_sound_boards_are_not_blamed() -> None:
    _, _, found = held(7)
    assert not [each for each in found.named if each.what == SHORTED]


def test_resistance_alone_cannot_tell_a_shorted_turn() -> None:
    design = coil()
    resistance = asked("A1")[0]
    value = (
        problem_of(design, ("A1",))
        .forecast(resistance, np.zeros(len(problem_of(design, ("A1",)).causes)))
        .value
    )
    found = bench(
        [Reading(sample="A1", figure="resistance", value=value, uncertainty=0.003 * value, at=resistance.at)],
        design,
    )
    assert any("cannot tell whether a turn is shorted" in each for each in found.remarks)
    assert any("cannot tell trace width from copper thickness" in each for each in found.remarks)


def test_a_bench_whose_readings_all_fail_writes_no_calibration() -> None:
    resistance = asked("A1")[0]
    broken = Reading(sample="A1", figure="resistance", value=500.0, uncertainty=0.5, at=resistance.at)
    found = bench([broken], coil())
    assert not found.teaches and any("no calibration is written" in each for each in found.remarks)
    assert found.says.startswith("0 readings of 1 board")
    assert [name for name in files_of(found) if "calibration" in name] == []


BOARDS = ("A1", "A2", "A3", "A4", "A5")


@pytest.mark.parametrize(("apart", "told"), [(0.001, False), (0.01, True)])
def test_boards_that_differ_more_than_their_readings_are_told(apart: float, told: bool) -> None:
    design = coil()
    given = asked("A1")[0]
    problem = problem_of(design, ("A1",))
    value = problem.forecast(given, np.zeros(len(problem.causes))).value
    readings = [
        Reading(sample=name, figure="resistance", value=share * value, uncertainty=0.003 * value, at=given.at)
        for name, share in zip(BOARDS, (1.0, 1 + apart, 1 - apart, 1 + apart, 1 - apart), strict=True)
    ]
    remarks = bench(readings, design).remarks
    assert any("The boards differ in resistance by 1.0 %" in each for each in remarks) == told
    assert "of boards identical to these" in remarks[-1] and "no scatter" in remarks[-1]


SEMICOLONS = """sample;figure;value;unit;uncertainty;temperature;frequency
A1;resistance;1,234;ohm;0,3 %;23;
A1;inductance;3,21;uH;;23;100 kHz
A1;inductance;3,23;uH;;23;100 kHz
"""


def test_semicolons_and_decimal_commas() -> None:
    first, second, _ = form_of_csv(SEMICOLONS).readings
    assert (first.value, first.uncertainty) == (1.234, pytest.approx(0.003 * 1.234))
    assert (second.value, second.at.frequency) == (pytest.approx(3.21e-6), 1e5)


def test_toml_and_csv_are_one() -> None:
    told = form_of_toml(
        '[[reading]]\nsample = "A1"\nfigure = "resistance"\nvalue = 1.234\nunit = "ohm"\n'
        'uncertainty = "0.3 %"\ntemperature = 23\n'
    )
    first = form_of_csv(SEMICOLONS).readings[0]
    assert replace(told.readings[0], place="") == replace(first, place="")


def test_toml_takes_labels_of_digits():
    told = form_of_toml('[[reading]]\nsample = 7\nfigure = "capacitance"\nvalue = 3\nunit = "pF"\n')
    assert told.readings[0].sample == "7"


@pytest.mark.parametrize(
    ("line", "place", "says"),
    [
        ("A1;resistance;x;ohm;;23;", "line 2, column 3 (value)", "is no number"),
        ("A1;resistanc;1;ohm;;23;", "line 2, column 2 (figure)", "resistance"),
        ("A1;resistance;1;;;23;", "line 2, column 4 (unit)", "not given"),
        ("A1;resistance;1;mm;;23;", "line 2, column 3 (value)", "not a unit of resistance"),
        ("A1;resistance;1;ohm;-1;23;", "line 2, column 5 (uncertainty)", "not over 0"),
        ("A1;resistance;1;ohm;-1 %;23;", "line 2, column 5 (uncertainty)", '"-1 %" is not over 0'),
        ("A1;inductance;1;uH;;23;", "line 2, column 7 (frequency)", "needs"),
        ("A1;resistance;-1;ohm;;23;", "line 2, column 3 (value)", "not over 0"),
        ("A1;resistance;1;ohm;;23;;;9", "line 2, column 8", "cells"),
        ("A1;resistance;1,234.5;ohm;;23;", "line 2, column 3 (value)", '"1,234.5" is no number; write one'),
        ("A1;resistance;1.234,5;ohm;;23;", "line 2, column 3 (value)", "nothing between thousands"),
        ('A1;"resistance;1,2;ohm;;23;', "line 2, column 2", "a quote is not closed"),
        ("A1;inductance;3;uH;;23;-5", "line 2, column 7 (frequency)", "a bench has, 1 Hz to 1e+09 Hz"),
        ("A1;resistance;1;ohm;;-300;", "line 2, column 6 (temperature)", "-100 degC to 400 degC"),
    ],
)
def test_faults_tell_line_and_column(line: str, place: str, says: str) -> None:
    head = "sample;figure;value;unit;uncertainty;temperature;frequency\n"
    with pytest.raises(DesignError) as caught:
        form_of_csv(head + line + "\n")
    fault = caught.value.faults[0]
    assert fault.key == place
    assert says in fault.says


def test_toml_faults_tell_line_and_column() -> None:
    text = '[[reading]]\nsample = "A1"\nfigure = "resistance"\nvalue = "1,2"\nunit = "ohm"\n'
    with pytest.raises(DesignError) as caught:
        form_of_toml("# a remark\n" + text)
    told = {fault.key: fault.says for fault in caught.value.faults}
    assert "write one decimal point" in told["line 5, column 9 (value)"]
    assert "not given" in told["line 2, temperature"]


def test_names_of_columns_may_be_capitals_after_a_spreadsheets_own_line() -> None:
    head, *rows = SEMICOLONS.splitlines()
    again = form_of_csv("\r\n".join(["sep=;", head.upper(), *rows]))
    assert [replace(each, place="") for each in again.readings] == [
        replace(each, place="") for each in form_of_csv(SEMICOLONS).readings
    ]


def test_duplicates_are_averaged_and_said() -> None:
    means, says = averaged(form_of_csv(SEMICOLONS).readings)
    assert [each.value for each in means] == [1.234, pytest.approx(3.22e-6)]
    assert means[1].uncertainty == pytest.approx(0.01 * 3.23e-6)
    assert "2 readings of inductance" in says[0]


@pytest.mark.parametrize("toml", [True, False])
def test_an_empty_form_is_a_form_once_it_is_filled_in(toml: bool) -> None:
    text = blank({"A1": coil()}, toml=toml).decode()
    with pytest.raises(DesignError, match="none has a value"):
        (form_of_toml if toml else form_of_csv)(text)
    filled = text.replace('value = ""', "value = 7") if toml else text.replace(",,", ",7,", 99)
    if toml:
        assert len(form_of_toml(filled).readings) == filled.count("[[reading]]") > 5


def test_a_form_asks_for_no_drive_that_the_coil_does_not_bear() -> None:
    """At 20 V the coil would burn: what is read under current is read at what may stay on."""
    forecaster = Forecaster()
    burning = read_text(COIL.replace('current = "0.4 A"', "voltage = 20"))
    volts = bearable_drive(burning, forecaster)["voltage"]
    most = forecaster.case(burning).value("largest_voltage")
    assert 0.7 * most < volts <= 0.8 * most < 20.0
    limited = burning.changed({"drive.current_limit": "20 mA"})
    assert bearable_drive(limited, forecaster) == {"current": 0.02}
    rows = blank({"A1": burning}, toml=False).decode()
    assert "20 V" not in rows
    assert f"{volts:g} V" in rows
