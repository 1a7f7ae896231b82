"""The pads table read back."""

import csv
import io

import pytest
from samples import TABLES, sample

from coilgen.exports.layout_files import pads_csv
from coilgen.result.result import Result


@pytest.fixture(params=TABLES)
def result(request: pytest.FixtureRequest) -> Result:
    return sample(request.param)


def rows(result: Result) -> list[dict[str, str]]:
    (content,) = pads_csv.files(result).values()
    return list(csv.DictReader(io.StringIO(content.decode())))


def test_is_named_after_the_design(result: Result) -> None:
    assert list(pads_csv.files(result)) == [f"{result.design.name}-pads.csv"]


def test_terminals_come_first_then_vias_in_current_order(result: Result) -> None:
    assert [row["number"] for row in rows(result)] == [
        "1",
        "2",
        *(f"via{count}" for count in range(1, len(result.coil.vias) + 1)),
    ]


def test_places_and_sizes_are_the_coils(result: Result) -> None:
    parts = (*result.coil.terminals, *result.coil.vias)
    for row, part in zip(rows(result), parts, strict=True):
        assert abs(complex(float(row["x_mm"]), float(row["y_mm"])) - part.at * 1e3) < 1e-6
        assert float(row["size_mm"]) == pytest.approx(part.pad * 1e3, abs=1e-6)
        assert float(row["drill_mm"]) == pytest.approx(part.drill * 1e3, abs=1e-6)
        assert row["shape"] == "round"


def test_side_of_a_hole_is_through_and_of_a_pad_its_face() -> None:
    assert [row["side"] for row in rows(sample("shutter"))] == ["through", "through", "through"]
    assert [row["side"] for row in rows(sample("stator"))][:2] == ["top", "top"]


def test_no_minus_before_zero(result: Result) -> None:
    assert all("-0.000000" not in row.values() for row in rows(result))


def test_ends_in_a_newline_and_uses_plain_ones(result: Result) -> None:
    (content,) = pads_csv.files(result).values()
    assert content.endswith(b"\n")
    assert b"\r" not in content
