"""The centre-line DXF read back: lengths, ends, layers with their widths."""

import io
import math
from collections import defaultdict

import ezdxf
import pyogrio
import pytest
import shapely
from ezdxf.document import Drawing
from ezdxf.entities import DXFGraphic
from samples import TABLES, sample

from coilgen.exports.layout_files import dxf_centrelines
from coilgen.result.result import Result


@pytest.fixture(params=TABLES)
def result(request: pytest.FixtureRequest) -> Result:
    return sample(request.param)


def written(result: Result) -> bytes:
    (content,) = dxf_centrelines.files(result).values()
    return content


def read(result: Result) -> Drawing:
    return ezdxf.read(io.StringIO(written(result).decode("cp1252")))


def length(entity: DXFGraphic) -> float:
    if entity.dxftype() == "LINE":
        return entity.dxf.start.distance(entity.dxf.end)
    return entity.dxf.radius * math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360)


def ends(entity: DXFGraphic) -> tuple[complex, complex]:
    points = (
        (entity.dxf.start, entity.dxf.end)
        if entity.dxftype() == "LINE"
        else (entity.start_point, entity.end_point)
    )
    return complex(points[0].x, points[0].y), complex(points[1].x, points[1].y)


def wanted_lengths(result: Result) -> dict[str, float]:
    layers = result.art.copper_layers
    lengths: dict[str, float] = defaultdict(float)
    for trace in result.art.traces:
        place = "top" if trace.layer == 1 else "bottom" if trace.layer == layers else "inner"
        name = f"copper {trace.layer} of {layers} {place} - width {trace.width * 1e3:g} mm"
        lengths[name] += trace.path.length * 1e3
    return lengths


def test_is_named_after_the_design(result: Result) -> None:
    assert list(dxf_centrelines.files(result)) == [f"{result.design.name}-centrelines.dxf"]


def test_the_auditor_finds_nothing(result: Result) -> None:
    audit = read(result).audit()
    assert audit.errors == []
    assert audit.fixes == []


def test_holds_lines_and_arcs_in_millimetres(result: Result) -> None:
    document = read(result)
    assert document.header["$INSUNITS"] == 4
    assert {entity.dxftype() for entity in document.modelspace()} <= {"LINE", "ARC"}


def test_lengths_by_layer_and_width(result: Result) -> None:
    found: dict[str, float] = defaultdict(float)
    for entity in read(result).modelspace():
        found[entity.dxf.layer] += length(entity)
    assert found == pytest.approx(wanted_lengths(result), rel=1e-9)


def test_pieces_follow_each_other_as_the_current_does(result: Result) -> None:
    pieces = [ends(entity) for entity in read(result).modelspace()]
    traces = sorted(result.art.traces, key=lambda trace: trace.layer)
    segments = [segment for trace in traces for segment in trace.path.segments]
    for piece, segment in zip(pieces, segments, strict=True):
        wanted = {segment.start * 1e3, segment.end * 1e3}
        assert all(min(abs(point - other) for other in wanted) < 1e-8 for point in piece)
        assert all(min(abs(point - other) for other in piece) < 1e-8 for point in wanted)


def test_gdal_reads_the_same_layers_and_lengths(result: Result) -> None:
    meta, _, shapes, fields = pyogrio.raw.read(written(result))
    names = fields[list(meta["fields"]).index("Layer")]
    found: dict[str, float] = defaultdict(float)
    for name, shape in zip(names, shapely.from_wkb(shapes), strict=True):
        found[name] += shape.length
    assert found == pytest.approx(wanted_lengths(result), rel=1e-3)
