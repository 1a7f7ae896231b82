"""The pads table read back."""

import csv
from dataclasses import replace

import pytest
from samples import TABLES, sample
from test_drill import drilled

from coilgen.design.design import Design
from coilgen.exports.fab import drill
from coilgen.exports.layout_files import pads_csv
from coilgen.job import draw
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


HOLES = [
    {"at": [11, 11], "diameter": 3.2, "plated": True},
    {"at": [-11, 11], "diameter": 2.2},
    {"at": [-11, -11], "diameter": 1.1, "plated": True},
]


@pytest.mark.parametrize("ring", [0.15, 0])
def test_every_hole_of_the_delivered_drill_files_is_told(ring: float) -> None:
    """Further holes too, with 0 mm of copper where the hole is unplated."""
    design = Design.model_validate(
        {
            "name": "screwed",
            **TABLES["shutter"],
            "board": {"outline": "square", "size": 30},
            "hole": HOLES,
            "rules": {"annular_ring": ring},
            "via": {"pad": 0.6},
        }
    )
    coil, art = draw(design)
    result = replace(sample("shutter"), design=design, coil=coil, art=art)
    table = rows(result)
    further = [row for row in table if row["number"].startswith("hole")]
    assert [row["number"] for row in further] == ["hole1", "hole2", "hole3"]
    assert [row["side"] for row in further] == ["through"] * 3
    sizes = [float(row["size_mm"]) for row in further]
    assert sizes == pytest.approx([3.2 + 2 * ring, 0.0, 1.1 + 2 * ring], abs=1e-6)
    drills = drill.EXPORT.files(result)
    for wall, copper in (("plated", True), ("unplated", False)):
        told = {
            (float(row["x_mm"]), float(row["y_mm"]), float(row["drill_mm"]))
            for row in table
            if (float(row["size_mm"]) > 0) == copper
        }
        _, hits = drilled(drills[f"fab/screwed-drill-{wall}.drl"])
        assert told == {hit[:3] for hit in hits}


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
