"""The pads table read back."""

import csv
from dataclasses import replace

import pytest
from samples import TABLES, sample

from coilgen.exports.layout_files import pads_csv
from coilgen.result.figure import Figure
from coilgen.result.result import Result


@pytest.fixture(params=TABLES)
def result(request: pytest.FixtureRequest) -> Result:
    return sample(request.param)


def rows(result: Result) -> list[dict[str, str]]:
    (content,) = pads_csv.files(result).values()
    table = (line for line in content.decode().splitlines() if not line.startswith("#"))
    return list(csv.DictReader(table))


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


def test_the_head_tells_the_copper_of_each_layer() -> None:
    """What a layout program must show after an import; nothing where it was not computed."""
    areas = Figure(
        name="copper_areas",
        unit="table",
        says="",
        group="winding",
        value=[{"layer": 1, "area": 1.5e-4}, {"layer": 2, "area": 2e-4}],
        model="",
        band=None,
        cautions=(),
    )
    told = replace(sample("shutter"), figures={"copper_areas": areas})
    (content,) = pads_csv.files(told).values()
    assert content.decode().splitlines()[:3] == [
        "# copper 1 of 2 top: 150.00 mm2 of copper, holes not taken out",
        "# copper 2 of 2 bottom: 200.00 mm2 of copper, holes not taken out",
        ",".join(pads_csv.COLUMNS),
    ]
    assert b"#" not in next(iter(pads_csv.files(sample("shutter")).values()))


def test_no_minus_before_zero(result: Result) -> None:
    assert all("-0.000000" not in row.values() for row in rows(result))


def test_ends_in_a_newline_and_uses_plain_ones(result: Result) -> None:
    (content,) = pads_csv.files(result).values()
    assert content.endswith(b"\n")
    assert b"\r" not in content
