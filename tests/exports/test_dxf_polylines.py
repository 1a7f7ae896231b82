"""The DXF of straight segments read back: no bulge, plain names, the copper of the exact file."""

import io
import re
from collections.abc import Iterator

import ezdxf
import pyogrio
import pytest
import shapely
import shapely.affinity
from ezdxf.document import Drawing
from samples import TABLES, sample

from coilgen.artwork.copper_area import CHORD_ERROR, copper_areas
from coilgen.exports.layout_files import dxf_polylines
from coilgen.geometry.offset import outline
from coilgen.geometry.region import region
from coilgen.result.result import Result


@pytest.fixture(params=TABLES)
def result(request: pytest.FixtureRequest) -> Result:
    return sample(request.param)


def written(result: Result) -> bytes:
    (content,) = dxf_polylines.files(result).values()
    return content


def read(result: Result) -> Drawing:
    return ezdxf.read(io.StringIO(written(result).decode("cp1252")))


def loops(result: Result) -> Iterator[tuple[str, shapely.Polygon]]:
    for line in read(result).modelspace().query("LWPOLYLINE"):
        yield line.dxf.layer, shapely.Polygon([(x, y) for x, y in line.get_points("xy")])


def test_is_named_after_the_design(result: Result) -> None:
    assert list(dxf_polylines.files(result)) == [f"{result.design.name}-polylines.dxf"]


def test_the_auditor_finds_nothing(result: Result) -> None:
    audit = read(result).audit()
    assert (audit.errors, audit.fixes) == ([], [])


def test_holds_closed_polylines_of_straight_segments_only(result: Result) -> None:
    document = read(result)
    assert document.header["$INSUNITS"] == 4
    assert {entity.dxftype() for entity in document.modelspace()} == {"LWPOLYLINE"}
    for line in document.modelspace():
        assert line.closed
        assert not any(bulge for *_, bulge in line.get_points("xyb"))


def test_layer_names_are_plain_and_short(result: Result) -> None:
    names = [layer.dxf.name for layer in read(result).layers][2:]
    assert len(names) == result.art.copper_layers + 6
    assert all(re.fullmatch(r"[a-z0-9-]{1,31}", name) for name in names)


def test_copper_is_one_union_that_does_not_cross_itself(result: Result) -> None:
    """Outer loops less the inner ones, read as any importer would: loops within loops are holes."""
    areas = copper_areas(result.art)
    for layer, area in enumerate(areas, start=1):
        own = [loop for name, loop in loops(result) if name.startswith(f"copper-{layer}-")]
        assert all(loop.is_valid for loop in own)
        filled = shapely.Polygon()
        for loop in sorted(own, key=lambda each: -each.area):
            filled = filled.symmetric_difference(loop)
        assert filled.area == pytest.approx(area * 1e6, rel=1e-6)


def test_keeps_to_the_exact_copper_within_the_chord_error(result: Result) -> None:
    for layer in range(1, result.art.copper_layers + 1):
        own = [loop for name, loop in loops(result) if name.startswith(f"copper-{layer}-")]
        drawn = shapely.union_all(own)
        for trace in result.art.traces_on(layer):
            fine = shapely.affinity.scale(
                region(outline(trace.path, trace.width), 1e-7), 1e3, 1e3, origin=(0, 0)
            )
            assert fine.difference(drawn.buffer(1.1e3 * CHORD_ERROR)).area < 1e-6


def test_gdal_reads_the_same_loops(result: Result) -> None:
    meta, _, shapes, fields = pyogrio.raw.read(written(result))
    names = fields[list(meta["fields"]).index("Layer")]
    found = sorted(
        (name, round(shapely.length(shape), 3))
        for name, shape in zip(names, shapely.from_wkb(shapes), strict=True)
    )
    assert found == sorted((name, round(loop.length, 3)) for name, loop in loops(result))
