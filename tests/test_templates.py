"""Every template is clean under its shop's rules, and what is written of it says the same to every reader."""

import cmath
import csv
import hashlib
import io
import json
import math
import os
import re
import subprocess
import sys
import zipfile
from dataclasses import replace
from functools import cache
from itertools import pairwise

import ezdxf
import gerber_reader
import pyogrio
import pytest
import shapely

import coilgen
from coilgen.catalogue import templates

ROUNDING = 0.75e-9  # of whole nanometres in x and y
SAME_PLACE = 1e-7

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")  # of a reader's own libraries


@cache
def made(name):
    return coilgen.make(coilgen.read_text(templates()[name]))


@pytest.fixture(params=sorted(templates()))
def result(request):
    return made(request.param)


def written(result, ending):
    (content,) = [content for path, content in result.files.items() if path.endswith(ending)]
    return content


def layers_of(result):
    return range(1, result.art.copper_layers + 1)


@cache
def copper_image(name, layer):
    return gerber_reader.read(written(made(name), f"-copper-L{layer}.gbr"))


def images(result):
    return {layer: copper_image(result.design.name, layer) for layer in layers_of(result)}


def test_there_is_one_of_each_sort():
    """One, two, four and eight layers; round, square, hexagonal; rigid and flexible; a pocket."""
    designs = [made(name).design for name in templates()]
    assert {design.winding.layers for design in designs} >= {1, 2, 4, 8}
    assert {design.winding.shape for design in designs} >= {"round", "square", "hexagonal"}
    assert {design.rules.shop for design in designs} >= {"rigid-standard", "flex-standard"}
    assert any(design.pocket for design in designs)
    assert any(made(name).design.winding.turns == 40 for name in templates())


def test_bears_the_name_of_its_file():
    assert [made(name).design.name for name in templates()] == list(templates())


def test_begins_with_a_comment_that_says_what_it_is():
    for text in templates().values():
        assert re.match(r"# [A-Z].{20,}\.\n", text)


def test_is_clean_under_its_shops_rules(result):
    assert result.findings == ()


def test_figures_are_finite_and_inside_their_bands(result):
    for figure in result.figures.values():
        if isinstance(figure.value, int | float):
            assert math.isfinite(figure.value), figure.name
            low, high = figure.band or (figure.value, figure.value)
            assert low <= figure.value <= high, figure.name


def test_measured_spacing_is_the_one_asked_for(result):
    """To 1 um and never less, on every layer."""
    spacing = result.figures["smallest_spacing"].value
    asked = result.design.winding.trace_spacing
    assert asked - 1e-9 <= spacing <= asked + 1e-6


class TestCopper:
    def test_length_of_the_strokes_is_the_trace_length(self, result):
        drawn = {layer: gerber_reader.stroke_length(image) for layer, image in images(result).items()}
        for layer, length in drawn.items():
            exact = sum(trace.path.length for trace in result.art.traces_on(layer))
            count = len(images(result)[layer].draws)
            assert length == pytest.approx(exact, abs=2 * ROUNDING * (count + 1))
        assert sum(drawn.values()) == pytest.approx(result.figures["trace_length"].value, rel=1e-6)

    def test_area_is_length_times_width_with_round_ends_and_corners(self, result):
        """Of a stroke that does not meet itself: length times width, a disc for both ends, and each corner's
        sector less the kite counted twice: w2/4 (turning/2 - tan(turning/2)). Elementary geometry."""
        for image in images(result).values():
            for chain in gerber_reader.chains(image):
                width = chain[0].width
                stroke = replace(image, draws=chain, flashes=[])
                exact = sum(draw.length for draw in chain) * width + math.pi * width**2 / 4
                exact += sum(corner_area(*pair) for pair in pairwise(chain))
                assert gerber_reader.dark_area(stroke).area == pytest.approx(exact, rel=3e-4)

    def test_is_one_piece_for_each_island_of_the_net_and_holds_no_loop(self, result):
        """A short would join two pieces or close a loop; a gap would part one."""
        for layer, image in images(result).items():
            dark = gerber_reader.dark_area(image)
            pieces = shapely.get_parts(dark)
            assert len(pieces) == islands(result, layer)
            assert [len(piece.interiors) for piece in pieces] == [0] * len(pieces)

    def test_pads_are_flashed_with_their_net(self, result):
        for layer, image in images(result).items():
            pads = sorted((f.at.real, f.at.imag, f.diameter) for f in image.flashes)
            exact = sorted((p.at.real, p.at.imag, p.diameter) for p in result.art.pads_on(layer))
            for flash, pad in zip(pads, exact, strict=True):
                assert flash == pytest.approx(pad, abs=ROUNDING)
            assert {thing.net for thing in [*image.draws, *image.flashes]} <= {"COIL"}

    def test_pygerber_reads_the_same(self, result):
        for path, content in result.files.items():
            if path.endswith(".gbr"):
                context, commands = by_pygerber(content)
                mine = gerber_reader.read(content)
                told = {str(key): value for key, value in context.file_attributes.mapping.items()}
                assert told == mine.attributes
                draws = [command for command in commands if hasattr(command, "start_point")]
                assert len(commands) - len(draws) == len(mine.flashes)
                assert sum(map(length_by_pygerber, draws)) == pytest.approx(
                    gerber_reader.stroke_length(mine), abs=ROUNDING * (len(draws) + 1)
                )


def corner_area(before, after):
    turning = abs(cmath.phase(heading(after, after.start) / heading(before, before.end)))
    return before.width**2 / 4 * (turning / 2 - math.tan(turning / 2))


def heading(draw, at):
    """Direction of travel at one end of a draw."""
    if draw.centre is None:
        return draw.end - draw.start
    return (at - draw.centre) * (-1j if draw.clockwise else 1j)


def islands(result, layer):
    """Pieces of copper that traces ending on pads, and traces passing over them, join on a layer."""
    traces = [line_of(trace.path) for trace in result.art.traces_on(layer)]
    pads = [shapely.Point(pad.at.real, pad.at.imag) for pad in result.art.pads_on(layer)]
    count = len(traces) + len(pads)
    group = list(range(count))
    things = [*traces, *pads]
    for one in range(count):
        for other in range(one):
            if things[one].distance(things[other]) < SAME_PLACE:
                old, new = group[one], group[other]
                group = [new if own == old else own for own in group]
    return len(set(group))


def line_of(path):
    points = [segment.at(k / 64) for segment in path.segments for k in range(65)]
    return shapely.LineString([(point.real, point.imag) for point in points])


def by_pygerber(content):
    from pygerber.gerberx3.parser2.parser2 import Parser2
    from pygerber.gerberx3.tokenizer.tokenizer import Tokenizer

    parser = Parser2()
    commands = list(parser.parse(Tokenizer().tokenize(content.decode())))
    return parser.context, commands


def length_by_pygerber(command):
    start, end = place(command.start_point), place(command.end_point)
    if not hasattr(command, "center_point"):
        return abs(end - start)
    centre = place(command.center_point)
    turned = cmath.phase((end - centre) / (start - centre))
    clockwise = "Clockwise" in type(command).__name__ and "Counter" not in type(command).__name__
    sweep = -turned % (2 * math.pi) if clockwise else turned % (2 * math.pi)
    return abs(start - centre) * (sweep or 2 * math.pi)


def place(vector):
    return complex(float(vector.x.as_millimeters()), float(vector.y.as_millimeters())) * 1e-3


class TestBoard:
    def test_drill_files_hold_the_holes(self, result):
        for ending, plated in (("-plated.drl", True), ("-unplated.drl", False)):
            holes = [hole for hole in result.art.holes if hole.plated == plated]
            assert sorted(drilled(written(result, ending))) == sorted(
                (round(hole.at.real * 1e3, 6), round(hole.at.imag * 1e3, 6), round(hole.diameter * 1e3, 6))
                for hole in holes
            )

    def test_profile_is_closed(self, result):
        profile = gerber_reader.read(written(result, "-profile.gbr"))
        loops = [loop for loop in (result.art.outline, result.art.pocket) if loop is not None]
        chains = gerber_reader.chains(profile)
        assert len(chains) == len(loops)
        assert all(chain[0].start == chain[-1].end for chain in chains)

    def test_mask_opens_every_terminal(self, result):
        top = gerber_reader.read(written(result, "-mask-top.gbr"))
        for terminal in result.coil.terminals:
            assert any(abs(flash.at - terminal.at) < ROUNDING for flash in top.flashes)

    def test_pads_table_holds_both_terminals(self, result):
        table = list(csv.DictReader(io.StringIO(written(result, "-pads.csv").decode())))
        found = {row["number"]: (float(row["x_mm"]), float(row["y_mm"])) for row in table}
        for terminal in result.coil.terminals:
            assert complex(*found[str(terminal.number)]) * 1e-3 == pytest.approx(terminal.at, abs=1e-6)

    def test_zip_is_the_fab_folder(self, result):
        with zipfile.ZipFile(io.BytesIO(written(result, "-fab.zip"))) as bundle:
            held = {f"fab/{name}": bundle.read(name) for name in bundle.namelist()}
        assert held == {path: content for path, content in result.files.items() if path.startswith("fab/")}

    def test_json_is_legal(self, result):
        document = json.loads(written(result, f"{result.design.name}.json"), parse_constant=pytest.fail)
        assert document["findings"] == []
        assert document["figures"].keys() == result.figures.keys()


def drilled(content):
    """(x, y, diameter) of every hit, mm."""
    tools, tool = {}, None
    for line in content.decode("ascii").splitlines():
        if found := re.fullmatch(r"T(\d\d)C([\d.]+)", line):
            tools[found[1]] = float(found[2])
        elif found := re.fullmatch(r"T(\d\d)", line):
            tool = tools[found[1]]
        elif found := re.fullmatch(r"X([-\d.]+)Y([-\d.]+)", line):
            yield float(found[1]), float(found[2]), tool


@pytest.fixture
def gdal_as_readers_find_it():
    names = ("DXF_CLOSED_LINE_AS_POLYGON", "OGR_ARC_STEPSIZE")
    before = {name: pyogrio.get_gdal_config_option(name) for name in names}
    yield
    pyogrio.set_gdal_config_options(before)


class TestDrawings:
    @pytest.mark.parametrize("centre", ["", "-centrelines"])
    def test_ezdxf_finds_no_fault(self, result, centre):
        content = written(result, f"{result.design.name}{centre}.dxf")
        audit = ezdxf.read(io.StringIO(content.decode("cp1252"))).audit()
        assert (audit.errors, audit.fixes) == ([], [])

    def test_gdal_finds_the_copper_of_every_layer(self, result, gdal_as_readers_find_it):
        """Rings closed, and copper of the area that the Gerber file of the layer has."""
        pyogrio.set_gdal_config_options({"DXF_CLOSED_LINE_AS_POLYGON": "YES", "OGR_ARC_STEPSIZE": "1"})
        meta, _, shapes, fields = pyogrio.raw.read(written(result, f"{result.design.name}.dxf"))
        names = fields[list(meta["fields"]).index("Layer")]
        rings = [
            shapely.get_exterior_ring(s) if s.geom_type == "Polygon" else s for s in shapely.from_wkb(shapes)
        ]
        assert all(ring.is_closed for ring in rings)
        for layer in layers_of(result):
            own = [
                shapely.Polygon(ring)
                for ring, name in zip(rings, names, strict=True)
                if name.startswith(f"copper {layer} of")
            ]
            area = shapely.union_all(own).area * 1e-6
            dark = gerber_reader.dark_area(copper_image(result.design.name, layer)).area
            assert area == pytest.approx(dark, rel=2e-3)

    def test_centre_lines_are_as_long_as_the_traces(self, result):
        content = written(result, "-centrelines.dxf")
        space = ezdxf.read(io.StringIO(content.decode("cp1252"))).modelspace()
        lines = sum(line.dxf.start.distance(line.dxf.end) for line in space.query("LINE"))
        arcs = sum(
            arc.dxf.radius * math.radians((arc.dxf.end_angle - arc.dxf.start_angle) % 360)
            for arc in space.query("ARC")
        )
        assert (lines + arcs) * 1e-3 == pytest.approx(result.figures["trace_length"].value, rel=1e-6)


SUMS = """
import hashlib, json, coilgen
from coilgen.catalogue import templates
print(json.dumps({
    f"{name}/{path}": hashlib.sha256(content).hexdigest()
    for name, text in templates().items()
    for path, content in coilgen.make(coilgen.read_text(text)).files.items()
}))
"""


def test_same_bytes_in_two_processes_with_different_hashes_and_numbers_of_threads():
    here = {
        f"{name}/{path}": hashlib.sha256(content).hexdigest()
        for name in templates()
        for path, content in made(name).files.items()
    }
    program = subprocess.run(
        [sys.executable, "-c", SUMS],
        capture_output=True,
        check=True,
        env={
            **os.environ,
            "PYTHONHASHSEED": "1" if os.environ.get("PYTHONHASHSEED") != "1" else "2",
            "OPENBLAS_NUM_THREADS": "4" if os.environ.get("OPENBLAS_NUM_THREADS") == "1" else "1",
        },
    )
    there = json.loads(program.stdout)
    assert [path for path in here if here[path] != there.get(path)] == []
    assert here.keys() == there.keys()
