"""A comparison as table, CSV and JSON: read back as it was, narrow, in one unit for each column."""

import csv
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

import coilgen
from coilgen.study.compare import Comparison, Row
from coilgen.study.comparison_columns import COLUMNS
from coilgen.study.comparison_text import (
    cells,
    common_cautions,
    csv_text,
    json_text,
    same_for_all,
    single_cautions,
    where,
)

values = st.none() | st.floats(-1e6, 1e6) | st.booleans()


def comparison(*rows):
    """Rows of a name with values in the first columns, nothing in the others; cautions after them."""
    columns = COLUMNS[: len(rows[0][1])]
    made = [
        Row(
            name=name, values=dict(zip((c.name for c in columns), own, strict=True)), cautions=tuple(cautions)
        )
        for name, own, *cautions in rows
    ]
    return Comparison(name="latch", height=0.5e-3, columns=columns, rows=tuple(made))


def any_comparison():
    row = st.tuples(
        st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "Zs"]), min_size=1, max_size=30),
        st.lists(values, min_size=len(COLUMNS), max_size=len(COLUMNS)),
        st.sampled_from(["one", "two"]),
    )
    return st.lists(row, min_size=1, max_size=4, unique_by=lambda each: each[0]).map(
        lambda rows: comparison(*rows)
    )


class TestCsv:
    @given(any_comparison())
    def test_reads_back_as_it_was(self, given_rows):
        heads, *rows = csv.reader(io.StringIO(csv_text(given_rows), newline=""))
        assert heads[0] == "variant"
        for row, (name, *texts) in zip(given_rows.rows, rows, strict=True):
            assert name.removeprefix("'") == row.name.removeprefix("'")
            assert [read(text) for text in texts[:-2]] == list(row.values.values())
            assert texts[-2:] == ["; ".join(row.cannot), " ".join(row.cautions)]

    @pytest.mark.parametrize("name", ["=1+2", "+5 V", "-10 degC", "@home", '=HYPERLINK("x")', "－1 dB"])
    def test_a_name_that_a_spreadsheet_would_run_is_text(self, name):
        """An apostrophe first (common practice, no standard)."""
        _, row = csv.reader(io.StringIO(csv_text(comparison((name, [-1.5])))))
        assert row[:2] == [f"'{name}", "-1.5"]

    @pytest.mark.parametrize("name", ["bare", "-5", "+1e-3", "5-3", "a=b"])
    def test_other_names_and_numbers_stay(self, name):
        _, row = csv.reader(io.StringIO(csv_text(comparison((name, [-1.5])))))
        assert row[:2] == [name, "-1.5"]

    def test_heads_bear_si_units(self):
        head = csv_text(comparison(("bare", [1.0] * len(COLUMNS)))).splitlines()[0]
        assert head == (
            "variant,inductance H,flux_density_front T,flux_density_back T,ratio_front,ratio_back,"
            "pull_on_target N,lifts,force_constant N/A,force_on_magnet N,force_reversed N,force_at_rest N,"
            "core_peak_flux_density T,core_saturated,core_mass kg,resistance_20c ohm,current A,"
            "pulse_temperature degC,temperature degC,rules_broken,cannot,cautions"
        )


def read(text):
    return {"": None, "true": True, "false": False}[text] if text in ("", "true", "false") else float(text)


class TestJson:
    @given(any_comparison())
    def test_reads_back_as_it_was(self, given_rows):
        document = json.loads(json_text(given_rows), parse_constant=pytest.fail)
        for row, told in zip(given_rows.rows, document["variants"], strict=True):
            assert told == {
                "name": row.name,
                "values": dict(row.values),
                "cannot": list(row.cannot),
                "cautions": list(row.cautions),
            }

    def test_document_tells_version_name_height_and_columns(self):
        document = json.loads(json_text(comparison(("bare", [1e-4, 2e-3]))))
        assert list(document) == ["coilgen", "name", "height", "columns", "best", "variants"]
        assert (document["coilgen"], document["name"]) == (coilgen.__version__, "latch")
        assert document["height"] == 0.5e-3
        assert {name: column["unit"] for name, column in document["columns"].items()} == {
            "inductance": "H",
            "flux_density_front": "T",
        }
        assert all(column["says"] for column in document["columns"].values())


class TestTable:
    @given(any_comparison())
    def test_is_as_wide_everywhere_as_its_heads(self, given_rows):
        heads, rows = cells(given_rows)
        assert {len(row) for row in rows} == {len(heads)}
        assert [row[0] for row in rows] == [row.name for row in given_rows.rows]
        assert {head.count("\n") for head in heads} == {2}

    def test_a_column_has_one_unit_that_suits_its_largest_value(self):
        heads, rows = cells(comparison(("bare", [1.234e-4, 0.5]), ("plate", [4e-6, None])))
        assert heads == ("variant\n\n", "L\n\nµH", "B\nfront\nmT")
        assert rows == [("bare", "123", "500"), ("plate", "4", "–")]

    def test_what_is_the_same_for_all_is_told_once(self):
        told = comparison(("bare", [1e-4, 0.5]), ("plate", [1e-4, 0.6]))
        heads, _ = cells(told)
        assert [head.split("\n")[0] for head in heads] == ["variant", "B"]
        assert same_for_all(told) == "L 100 µH"

    def test_nothing_is_the_same_for_all(self):
        assert same_for_all(comparison(("bare", [1e-4]), ("plate", [2e-4]))) == ""

    def test_ratios_have_no_unit_and_lifting_is_yes_or_no(self):
        one = [1e-4, 1e-3, 1e-3, 1.5, 0.2, 0.01, True]
        other = [2e-4, 2e-3, 2e-3, 1.7, None, 0.02, False]
        heads, rows = cells(comparison(("plate", one), ("bare", other)))
        assert heads[4:] == ("ratio\nfront\n", "ratio\nback\n", "pull\n\nmN", "lifts\n\n")
        assert rows[0][4:] == ("1.50", "0.200", "10", "yes")
        assert rows[1][4:] == ("1.70", "–", "20*", "no")

    def test_says_where_front_and_back_are(self):
        assert "0.5 mm from the outermost face" in where(comparison(("bare", [1e-4])))


class TestCautions:
    def test_those_of_all_are_told_and_the_others_counted(self):
        told = comparison(("bare", [1e-4], "hot", "loose"), ("plate", [1e-4], "dear", "hot"))
        assert common_cautions(told) == ["hot"]
        assert single_cautions(told) == 2

    @given(any_comparison())
    def test_all_are_counted(self, given_rows):
        told = {caution for row in given_rows.rows for caution in row.cautions}
        assert len(common_cautions(given_rows)) + single_cautions(given_rows) == len(told)
