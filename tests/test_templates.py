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
from typing import NamedTuple

import ezdxf
import gerber_reader
import pyogrio
import pytest
import shapely

import coilgen
from coilgen.catalogue import templates
from coilgen.job import case_of, check, drawn, files_of, with_figures

SMALLEST = ["float-level-pickup", "optical-shutter"]
ROUNDING = 0.75e-9  # of whole nanometres in x and y
SAME_PLACE = 1e-7

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")  # of a reader's own libraries


TOLD = ("resistance_20c", "inductance")
"""Figures that files for the fab tell, besides the measures of the copper."""


@cache
def made(name):
    """A template with its files, figures only those of its copper: those of cores and heat take minutes."""
    checked = check(coilgen.read_text(templates()[name]))
    case = case_of(checked.design, checked.coil, checked.art)
    wanted = [each.name for each in case.quantities.values() if each.group == "winding" or each.name in TOLD]
    found = {each: figure for each in wanted if (figure := case.figure(each)) is not None}
    figured = with_figures(checked, found, case)
    return replace(figured, files=files_of(figured, drawn(figured)))


@pytest.fixture(params=sorted(templates()))
def result(request):
    return made(request.param)


def some_slow(quick):
    """Names of all templates, those that are not quick for the slow run."""
    return [each if each in quick else pytest.param(each, marks=pytest.mark.slow) for each in templates()]


def written(result, ending):
    (content,) = [content for path, content in result.files.items() if path.endswith(ending)]
    return content


def written_as(result, ending):
    (content,) = [content for path, content in result.files.items() if re.search(f"{ending}$", path)]
    return content


def layers_of(result):
    return range(1, result.art.copper_layers + 1)


@cache
def copper_image(name, layer):
    return gerber_reader.read(written_as(made(name), rf"-copper-L{layer}-\w+\.gbr"))


@cache
def dark_copper(name, layer):
    return gerber_reader.dark_area(copper_image(name, layer))


def images(result):
    return {layer: copper_image(result.design.name, layer) for layer in layers_of(result)}


def alone(design):
    """The design, or that of each of its windings."""
    return [each.design for each in design.windings] or [design]


def traces_length(result):
    """Of all windings and what joins them, m."""
    figures = [each.figures for each in result.windings] or [result.figures]
    joints = sum(trace.path.length for trace in result.joints)
    return joints + sum(each["trace_length"].value for each in figures)


def test_there_is_one_of_each_sort():
    """One, two, four and eight layers; round, square, hexagonal; rigid and flexible; a pocket."""
    designs = [design for name in templates() for design in alone(made(name).design)]
    assert {design.winding.layers for design in designs} >= {1, 2, 4, 8}
    assert {design.winding.shape for design in designs} >= {"round", "square", "hexagonal"}
    assert {design.rules.shop for design in designs} >= {"rigid-standard", "flex-standard"}
    assert any(design.pocket for design in designs)
    assert any(design.winding.turns == 40 for design in designs)
    several = [made(name).design for name in templates() if made(name).design.windings]
    assert sum(design.array is None for design in several) == 2
    assert {design.array.arrangement for design in several if design.array} >= {"ring", "row"}


def test_bears_the_name_of_its_file():
    assert [made(name).design.name for name in templates()] == list(templates())


def test_begins_with_a_comment_that_says_what_it_is():
    for text in templates().values():
        assert re.match(r"# [A-Z].{20,}\.\n", text)


def test_is_clean_under_its_shops_rules(result):
    assert result.findings == ()


@pytest.mark.parametrize("name", some_slow({*SMALLEST, "bucking-pair", "focus-stage"}))
def test_figures_are_finite_and_inside_their_bands(name, whole):
    """Of those that take longest in the slow run."""
    for figure in whole(name).figures.values():
        if isinstance(figure.value, int | float):
            assert math.isfinite(figure.value), figure.name
            low, high = figure.band or (figure.value, figure.value)
            assert low <= figure.value <= high, figure.name


def test_measured_spacing_is_the_one_asked_for(result):
    """To 1 um and never less, on every layer."""
    spacing = result.figures["smallest_spacing"].value
    asked = min(design.winding.trace_spacing for design in alone(result.design))
    assert asked - 1e-9 <= spacing <= asked + 1e-6


class TestCopper:
    def test_length_of_the_strokes_is_the_trace_length(self, result):
        drawn = {layer: gerber_reader.stroke_length(image) for layer, image in images(result).items()}
        for layer, length in drawn.items():
            exact = sum(trace.path.length for trace in result.art.traces_on(layer))
            count = len(images(result)[layer].draws)
            assert length == pytest.approx(exact, abs=2 * ROUNDING * (count + 1))
        assert sum(drawn.values()) == pytest.approx(traces_length(result), rel=1e-6)

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
        for layer in layers_of(result):
            dark = dark_copper(result.design.name, layer)
            pieces = shapely.get_parts(dark)
            assert len(pieces) == islands(result, layer)
            assert [len(piece.interiors) for piece in pieces] == [0] * len(pieces)

    def test_pads_are_flashed_with_their_net(self, result):
        for layer, image in images(result).items():
            pads = sorted(flashed(f.at, f.diameter, f.span) for f in image.flashes)
            exact = sorted(flashed(p.at, p.diameter, p.span) for p in result.art.pads_on(layer))
            for flash, pad in zip(pads, exact, strict=True):
                assert flash == pytest.approx(pad, abs=ROUNDING)
            array = result.design.array
            nets = {each.name for each in result.design.windings} or {"COIL"}
            nets = {"ABC"} if array is not None and array.coils != "open" else nets
            assert {thing.net for thing in [*image.draws, *image.flashes]} <= nets

    def test_pygerber_reads_the_same(self, result):
        for path, content in result.files.items():
            if path.endswith(".gbr"):
                theirs, mine = by_pygerber(content), gerber_reader.read(content)
                assert theirs.attributes == mine.attributes
                assert theirs.others == len(mine.flashes) + len(mine.regions)
                assert theirs.length == pytest.approx(
                    gerber_reader.stroke_length(mine), abs=ROUNDING * (theirs.draws + 1)
                )


def flashed(at, diameter, span):
    """Place and sizes, in whole nanometres, so that they sort alike."""
    return tuple(round(part, 9) for part in (at.real, at.imag, diameter, abs(span.real), abs(span.imag)))


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
    pads = [pad_of(pad) for pad in result.art.pads_on(layer)]
    count = len(traces) + len(pads)
    group = list(range(count))
    things = [*traces, *pads]
    for one in range(count):
        for other in range(one):
            if things[one].distance(things[other]) < SAME_PLACE:
                old, new = group[one], group[other]
                group = [new if own == old else own for own in group]
    return len(set(group))


def pad_of(pad):
    """The middle of a round pad, or the line between the round ends of an oblong one."""
    ends = [(end.real, end.imag) for end in pad.ends]
    return shapely.LineString(ends) if pad.span else shapely.Point(*ends[0])


def line_of(path):
    points = [segment.at(k / 64) for segment in path.segments for k in range(65)]
    return shapely.LineString([(point.real, point.imag) for point in points])


class Read(NamedTuple):
    """What another reader finds in a Gerber file: attributes; draws, their length m; flashes and regions."""

    attributes: dict[str, str]
    draws: int
    length: float
    others: int


@cache
def by_pygerber(content):
    from pygerber.gerberx3.parser2.parser2 import Parser2
    from pygerber.gerberx3.tokenizer.tokenizer import Tokenizer

    parser = Parser2()
    commands = list(parser.parse(Tokenizer().tokenize(content.decode())))
    draws = [command for command in commands if hasattr(command, "start_point")]
    return Read(
        attributes={str(key): value for key, value in parser.context.file_attributes.mapping.items()},
        draws=len(draws),
        length=sum(map(length_by_pygerber, draws)),
        others=len(commands) - len(draws),
    )


def length_by_pygerber(command):
    start, end = place(command.start_point), place(command.end_point)
    if not hasattr(command, "center_point"):
        return abs(end - start)
    centre = place(command.center_point)
    turned = cmath.phase((end - centre) / (start - centre))
    clockwise = not type(command).__name__.startswith("CC")
    sweep = -turned % (2 * math.pi) if clockwise else turned % (2 * math.pi)
    return abs(start - centre) * (sweep or 2 * math.pi)


def place(vector):
    return complex(float(vector.x.as_millimeters()), float(vector.y.as_millimeters())) * 1e-3


class TestBoard:
    def test_drill_files_hold_the_holes(self, result):
        for ending, plated in (("-drill-plated.drl", True), ("-drill-unplated.drl", False)):
            holes = [hole for hole in result.art.holes if hole.plated == plated]
            assert any(path.endswith(ending) for path in result.files) == bool(holes)
            if holes:
                assert sorted(drilled(written(result, ending))) == sorted(
                    (
                        round(hole.at.real * 1e3, 6),
                        round(hole.at.imag * 1e3, 6),
                        round(hole.diameter * 1e3, 6),
                    )
                    for hole in holes
                )

    def test_profile_is_closed(self, result):
        profile = gerber_reader.read(written(result, "-profile.gbr"))
        loops = [loop for loop in (result.art.outline, *result.art.pockets) if loop is not None]
        chains = gerber_reader.chains(profile)
        assert len(chains) == len(loops)
        assert all(chain[0].start == chain[-1].end for chain in chains)

    def test_mask_opens_every_terminal(self, result):
        top = gerber_reader.read(written_as(result, r"-(soldermask|coverlay)-top\.gbr"))
        bare = gerber_reader.dark_area(top)
        for terminal in result.coil.terminals:
            at = shapely.Point(terminal.at.real, terminal.at.imag)
            assert any(abs(flash.at - terminal.at) < ROUNDING for flash in top.flashes) or (
                terminal.fingers and bare.contains(at)
            )

    def test_pads_table_holds_both_terminals(self, result):
        lines = written(result, "-pads.csv").decode().splitlines()
        table = list(csv.DictReader(line for line in lines if not line.startswith("#")))
        found = {row["number"]: (float(row["x_mm"]), float(row["y_mm"])) for row in table}
        for terminal in result.coil.terminals:
            finger = f"-finger{terminal.fingers[0].number}" if terminal.fingers else ""
            assert complex(*found[f"{terminal.number}{finger}"]) * 1e-3 == pytest.approx(
                terminal.at, abs=1e-6
            )

    def test_zip_is_the_fab_folder(self, result):
        with zipfile.ZipFile(io.BytesIO(written(result, "-fab.zip"))) as bundle:
            held = {f"fab/{name}": bundle.read(name) for name in bundle.namelist()}
        assert held == {path: content for path, content in result.files.items() if path.startswith("fab/")}

    def test_json_is_legal(self, result):
        document = json.loads(written(result, f"{result.design.name}.json"), parse_constant=pytest.fail)
        assert document["findings"] == []
        assert document["figures"].keys() == result.figures.keys()


class TestFabSet:
    """The set as somebody who knows nothing of it reads it: by file functions, with readers not ours."""

    def test_functions_make_the_whole_board(self, result):
        flexible, count = result.design.board.stackup.flexible, result.art.copper_layers
        levels = ["Top", *["Inr"] * (count - 2), *(["Bot"] if count > 1 else [])]
        film = "Other,Coverlay_" if flexible else "Soldermask,"
        wanted = [f"Copper,L{k},{level}" for k, level in enumerate(levels, 1)]
        wanted += [f"{film}Top", *([f"{film}Bot"] if count > 1 else []), "Legend,Top", "Profile,NP"]
        sides = {"top": "Top", "bottom": "Bot"}
        wanted += [f"Other,Stiffener_{sides[sheet.side]}" for sheet in result.art.stiffeners]
        wanted += ["Other,Bend_Lines"] * bool(result.art.bends)
        told = [functions_by_pygerber(content) for content in gerbers(result)]
        assert sorted(function for function, _ in told) == sorted(wanted)
        job = job_of(result)
        (identity,) = {identity for _, identity in told}
        assert identity == ",".join(
            job["GeneralSpecs"]["ProjectId"][key] for key in ("Name", "GUID", "Revision")
        )

    def test_the_job_file_lists_every_file_and_calls_it_by_its_function(self, result):
        told = {entry["Path"]: entry["FileFunction"] for entry in job_of(result)["FilesAttributes"]}
        files = {path.removeprefix("fab/") for path in result.files if path.startswith("fab/")}
        assert told.keys() | {f"{result.design.name}.gbrjob"} == files
        for name, function in told.items():
            if name.endswith(".gbr"):
                assert functions_by_pygerber(result.files[f"fab/{name}"])[0] == function

    def test_sheets_of_the_job_file_make_the_finished_thickness(self, result):
        """Of a flexible board the thickness over its coverlays is the one ordered, of a rigid one without."""
        job, stackup = job_of(result), result.design.board.stackup
        whole = sum(sheet.get("Thickness", 0.0) for sheet in job["MaterialStackup"])
        films = [s for s in job["MaterialStackup"] if s["Type"] in ("SolderMask", "Coverlay")]
        assert len(films) == min(result.art.copper_layers, 2)
        ordered = whole if stackup.flexible else whole - sum(sheet["Thickness"] for sheet in films)
        assert job["GeneralSpecs"]["BoardThickness"] == pytest.approx(ordered, abs=1e-6)
        assert stackup.finished_thickness * 1e3 == pytest.approx(whole, abs=1e-6)

    def test_gerbyx_finds_the_drills_on_their_pads(self, result):
        from gerbyx.dispatcher import process_file

        found = 0
        for path, content in result.files.items():
            if path.endswith(".drl"):
                hits = process_file(content.decode(), format_hint="excellon").primitives
                assert {hit.plating for hit in hits} == {"PTH" if "-plated" in path else "NPTH"}
                pads = [flash.at for flash in copper_image(result.design.name, 1).flashes]
                for hit in hits if "-plated" in path else ():
                    assert min(abs(complex(hit.x_mm, hit.y_mm) * 1e-3 - pad) for pad in pads) < ROUNDING
                found += len(hits)
        assert found == len(result.art.holes)

    def test_gerbyx_sees_the_copper_area_that_is_told(self, result):
        """Coarse arcs: to 1 %."""
        from gerbyx.dispatcher import process_file

        told = [row["area"] for row in result.figures["copper_areas"].value]
        content = written_as(result, r"-copper-L1-top\.gbr").decode()
        shape = shapely.union_all(process_file(content).geometries)
        assert shape.area * 1e-6 == pytest.approx(told[0], rel=0.01)


def gerbers(result):
    return [content for path, content in result.files.items() if path.endswith(".gbr")]


def functions_by_pygerber(content):
    """File function and project of a Gerber file."""
    told = by_pygerber(content).attributes
    return told[".FileFunction"], told[".ProjectId"]


def job_of(result):
    return json.loads(written(result, ".gbrjob"))


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
    @pytest.mark.parametrize("centre", ["", "-centrelines", "-polylines"])
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
        assert all(ring.is_closed for ring, name in zip(rings, names, strict=True) if name != "bends")
        for layer in layers_of(result):
            own = [
                shapely.Polygon(ring)
                for ring, name in zip(rings, names, strict=True)
                if name.startswith(f"copper {layer} of")
            ]
            area = shapely.union_all(own).area * 1e-6
            dark = dark_copper(result.design.name, layer).area
            assert area == pytest.approx(dark, rel=2e-3)

    def test_straight_copper_has_the_area_told_in_the_pads_table(self, result, gdal_as_readers_find_it):
        """As a poor importer would read it: rings without bulges, those within others holes."""
        pyogrio.set_gdal_config_options({"DXF_CLOSED_LINE_AS_POLYGON": "YES", "OGR_ARC_STEPSIZE": "1"})
        meta, _, shapes, fields = pyogrio.raw.read(written(result, "-polylines.dxf"))
        names = fields[list(meta["fields"]).index("Layer")]
        lines = written(result, "-pads.csv").decode().splitlines()
        told = [float(line.split(": ")[1].split()[0]) for line in lines if line.startswith("#")]
        for layer, area in enumerate(told, 1):
            own = [
                shapely.Polygon(shapely.get_exterior_ring(s) if s.geom_type == "Polygon" else s)
                for s, name in zip(shapely.from_wkb(shapes), names, strict=True)
                if name.startswith(f"copper-{layer}-")
            ]
            assert all(ring.is_valid for ring in own)
            dark = dark_copper(result.design.name, layer).area
            assert area == pytest.approx(dark * 1e6, rel=2e-3)
            assert shapely.union_all(own).area == pytest.approx(area, abs=0.006)

    def test_centre_lines_are_as_long_as_the_traces(self, result):
        content = written(result, "-centrelines.dxf")
        space = ezdxf.read(io.StringIO(content.decode("cp1252"))).modelspace()
        lines = sum(line.dxf.start.distance(line.dxf.end) for line in space.query("LINE"))
        arcs = sum(
            arc.dxf.radius * math.radians((arc.dxf.end_angle - arc.dxf.start_angle) % 360)
            for arc in space.query("ARC")
        )
        assert (lines + arcs) * 1e-3 == pytest.approx(traces_length(result), rel=1e-6)


SUMS = """
import hashlib, json, sys, coilgen
from coilgen.catalogue import templates
print(json.dumps({
    f"{name}/{path}": hashlib.sha256(content).hexdigest()
    for name in sys.argv[1:]
    for path, content in coilgen.make(coilgen.read_text(templates()[name])).files.items()
}))
"""


@pytest.mark.parametrize(
    "names",
    [SMALLEST, pytest.param(sorted(templates().keys() - set(SMALLEST)), marks=pytest.mark.slow)],
    ids=["the smallest", "the others"],
)
def test_same_bytes_in_two_processes_with_different_hashes_and_numbers_of_threads(names, whole):
    here = {
        f"{name}/{path}": hashlib.sha256(content).hexdigest()
        for name in names
        for path, content in whole(name).files.items()
    }
    program = subprocess.run(
        [sys.executable, "-c", SUMS, *names],
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
