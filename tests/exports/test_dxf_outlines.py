"""The outline DXF read back: by ezdxf exactly, by GDAL as a foreign reader would."""

import io
import math
from collections import Counter
from collections.abc import Iterator

import ezdxf
import pyogrio
import pytest
import shapely
from ezdxf.document import Drawing
from hypothesis import given, settings
from hypothesis import strategies as st
from samples import TABLES, sample

from coilgen.exports.layout_files import dxf_outlines
from coilgen.exports.layout_files._dxf import vertices
from coilgen.geometry.arc import Arc
from coilgen.geometry.closed import circle, regular_polygon
from coilgen.geometry.offset import outline
from coilgen.geometry.path import Path
from coilgen.geometry.region import region
from coilgen.result.result import Result


@pytest.fixture(params=TABLES)
def result(request: pytest.FixtureRequest) -> Result:
    return sample(request.param)


def written(result: Result) -> bytes:
    (content,) = dxf_outlines.files(result).values()
    return content


def read(content: bytes) -> Drawing:
    return ezdxf.read(io.StringIO(content.decode("cp1252")))


def on_layers(document: Drawing, kind: str) -> Iterator[tuple[str, object]]:
    for entity in document.modelspace().query(kind):
        yield entity.dxf.layer, entity


def ring_area(corners: list[tuple[float, float, float]]) -> float:
    """Area of a closed polyline with bulges: the polygon's, and for each bulge a circular segment's."""
    area = 0.0
    for (x, y, bulge), (x2, y2, _) in zip(corners, corners[1:] + corners[:1], strict=True):
        area += (x * y2 - x2 * y) / 2
        if bulge:
            sweep, chord = 4 * math.atan(bulge), math.hypot(x2 - x, y2 - y)
            area += (chord / 2 / math.sin(sweep / 2)) ** 2 * (sweep - math.sin(sweep)) / 2
    return area


def copper_names(layers: int) -> list[str]:
    ends = {1: "top", layers: "bottom"} if layers > 1 else {1: "top"}
    return [f"copper {k} of {layers} {ends.get(k, 'inner')}" for k in range(1, layers + 1)]


def test_is_named_after_the_design(result: Result) -> None:
    assert list(dxf_outlines.files(result)) == [f"{result.design.name}.dxf"]


def test_the_auditor_finds_nothing(result: Result) -> None:
    audit = read(written(result)).audit()
    assert audit.errors == []
    assert audit.fixes == []


def test_is_r2000_in_millimetres_of_plain_entities(result: Result) -> None:
    document = read(written(result))
    assert document.dxfversion == "AC1015"
    assert document.header["$INSUNITS"] == 4
    assert document.header["$MEASUREMENT"] == 1
    assert {entity.dxftype() for entity in document.modelspace()} == {"LWPOLYLINE", "CIRCLE"}
    assert all(line.closed and line.dxf.elevation == 0 for line in document.modelspace().query("LWPOLYLINE"))
    assert all(circle.dxf.center.z == 0 for circle in document.modelspace().query("CIRCLE"))


def test_has_a_layer_for_each_copper_layer_and_for_all_else(result: Result) -> None:
    names = [layer.dxf.name for layer in read(written(result)).layers]
    assert names[:2] == ["0", "Defpoints"]  # every DXF has layer 0; ezdxf adds the other for dimensions
    assert names[2:] == [
        *copper_names(result.art.copper_layers),
        "holes plated",
        "holes unplated",
        "mask openings top",
        "mask openings bottom",
        "core pocket",
        "board profile",
    ]


def test_layer_names_are_legal_in_r2000(result: Result) -> None:
    assert all(not set(layer.dxf.name) & set('<>/\\":;?*|=`,') for layer in read(written(result)).layers)


def test_every_trace_is_its_outline_to_a_picometre(result: Result) -> None:
    document, art = read(written(result)), result.art
    for layer, name in enumerate(copper_names(art.copper_layers), start=1):
        lines = [line for own, line in on_layers(document, "LWPOLYLINE") if own == name]
        traces = art.traces_on(layer)
        assert len(lines) == len(traces)
        for line, trace in zip(lines, traces, strict=True):
            corners = list(line.get_points("xyb"))
            ring = outline(trace.path, trace.width)
            assert len(corners) == len(ring.segments)
            for (x, y, bulge), segment in zip(corners, ring.segments, strict=True):
                assert abs(complex(x, y) / 1e3 - segment.start) < 1e-12
                sweep = segment.sweep if isinstance(segment, Arc) else 0.0
                assert 4 * math.atan(bulge) == pytest.approx(sweep, abs=1e-12)


def test_area_of_the_traces_is_length_times_width_with_ends_and_corners(result: Result) -> None:
    lines = [line for name, line in on_layers(read(written(result)), "LWPOLYLINE") if "copper" in name]
    area = sum(ring_area(list(line.get_points("xyb"))) for line in lines)
    exact = sum(outline(trace.path, trace.width).swept_area for trace in result.art.traces)
    assert area == pytest.approx(exact * 1e6, rel=1e-9)
    plain = sum(trace.path.length * trace.width + math.pi * trace.width**2 / 4 for trace in result.art.traces)
    assert area == pytest.approx(plain * 1e6, rel=0.01)


def test_copper_does_not_cross_itself(result: Result) -> None:
    assert all(region(outline(trace.path, trace.width), 1e-7).is_valid for trace in result.art.traces)


def test_circles_are_the_pads_holes_and_openings(result: Result) -> None:
    art = result.art
    names = copper_names(art.copper_layers)
    wanted = [
        *((names[pad.layer - 1], pad.at, pad.diameter) for pad in art.pads),
        *((f"holes {'plated' if hole.plated else 'unplated'}", hole.at, hole.diameter) for hole in art.holes),
        *((f"mask openings {opening.side}", opening.at, opening.diameter) for opening in art.openings),
    ]
    found = Counter(
        (name, round(disc.dxf.center.x, 6), round(disc.dxf.center.y, 6), round(2 * disc.dxf.radius, 6))
        for name, disc in on_layers(read(written(result)), "CIRCLE")
    )
    assert found == Counter(
        (name, round(at.real * 1e3, 6), round(at.imag * 1e3, 6), round(size * 1e3, 6))
        for name, at, size in wanted
    )


def test_pocket_and_profile(result: Result) -> None:
    outline = () if result.art.outline is None else (result.art.outline,)
    for layer, paths in (("core pocket", result.art.pockets), ("board profile", outline)):
        lines = [line for name, line in on_layers(read(written(result)), "LWPOLYLINE") if name == layer]
        drawn = [ring_area(list(line.get_points("xyb"))) for line in lines]
        assert drawn == pytest.approx([path.swept_area * 1e6 for path in paths], rel=1e-9)


def test_opens_on_the_whole_board(result: Result) -> None:
    low, high = (read(written(result)).header[name] for name in ("$EXTMIN", "$EXTMAX"))
    path = result.art.outline
    if path is not None:
        points = [segment.start * 1e3 for segment in path.segments]
        assert max(point.real for point in points) == pytest.approx(high[0])
        assert min(point.real for point in points) >= low[0] - 1e-9
    for pad in result.art.pads:
        assert low[0] <= (pad.at.real - pad.diameter / 2) * 1e3 + 1e-9
        assert high[1] >= (pad.at.imag + pad.diameter / 2) * 1e3 - 1e-9


def test_gdal_finds_closed_rings_of_the_right_area(result: Result, restored_gdal: None) -> None:
    pyogrio.set_gdal_config_options({"DXF_CLOSED_LINE_AS_POLYGON": "YES", "OGR_ARC_STEPSIZE": "1"})
    meta, _, shapes, fields = pyogrio.raw.read(written(result))
    names = fields[list(meta["fields"]).index("Layer")]
    polygons = shapely.from_wkb(shapes)
    assert all(shape.geom_type == "Polygon" or shape.is_closed for shape in polygons)
    for layer, name in enumerate(copper_names(result.art.copper_layers), start=1):
        area = sum(
            shapely.Polygon(shape.exterior if shape.geom_type == "Polygon" else shape).area
            for own, shape in zip(names, polygons, strict=True)
            if own == name
        )
        traces = sum(outline(trace.path, trace.width).swept_area for trace in result.art.traces_on(layer))
        pads = sum(math.pi * pad.diameter**2 / 4 for pad in result.art.pads_on(layer))
        assert area == pytest.approx((traces + pads) * 1e6, rel=1e-3)


@pytest.fixture
def restored_gdal() -> Iterator[None]:
    names = ("DXF_CLOSED_LINE_AS_POLYGON", "OGR_ARC_STEPSIZE")
    before = {name: pyogrio.get_gdal_config_option(name) for name in names}
    yield
    pyogrio.set_gdal_config_options(before)


def test_the_readers_own_choice_of_dates_survives(result: Result) -> None:
    before = ezdxf.options.write_fixed_meta_data_for_testing
    written(result)
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


@settings(deadline=None)
@given(st.floats(1e-4, 0.1), st.integers(3, 9), st.floats(0.0, 0.4))
def test_bulges_keep_the_area_of_any_closed_path(size: float, sides: int, share: float) -> None:
    for path in (circle(size), regular_polygon(sides, size, share * size), circle(size).reversed()):
        assert ring_area(list(vertices(path))) == pytest.approx(path.swept_area * 1e6, rel=1e-6)


def test_more_than_half_a_turn_is_split() -> None:
    corners = list(vertices(Path((Arc(0j, 1e-3, 0.0, math.tau),))))
    assert [bulge for _, _, bulge in corners] == pytest.approx([1.0, 1.0])
    assert ring_area(corners) == pytest.approx(math.pi)
