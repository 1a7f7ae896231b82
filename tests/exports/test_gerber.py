"""Gerber files say exactly what the art holds, in the Gerber Layer Format Specification's terms (2023.08)."""

import math
import re
from dataclasses import replace
from itertools import pairwise

import pytest
from gerber_reader import chains, dark_area, read, stroke_length
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.artwork.art import Pad
from coilgen.exports.fab.gerber import EXPORT
from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.layout.coil import Trace

LEVELS = {1: ["top"], 2: ["top", "bottom"], 4: ["top", "inner", "inner", "bottom"]}
NANOMETRE = 1e-9
ROUNDING = 0.75 * NANOMETRE  # half a nanometre in x and in y


def images(result):
    return {path: read(content) for path, content in EXPORT.files(result).items()}


def copper_images(result):
    written = images(result)
    return [
        written[f"fab/{result.design.name}-copper-L{layer}-{level}.gbr"]
        for layer, level in enumerate(LEVELS[result.art.copper_layers], 1)
    ]


def rewritten(result, **changes):
    return replace(result, art=replace(result.art, **changes))


class TestFiles:
    def test_every_layer_of_the_stackup_has_its_file(self, result):
        name = result.design.name
        levels = LEVELS[result.art.copper_layers]
        copper = {f"fab/{name}-copper-L{layer}-{level}.gbr" for layer, level in enumerate(levels, 1)}
        films = ["soldermask-top", "soldermask-bottom"] if len(levels) > 1 else ["coverlay-top"]
        others = {f"fab/{name}-{what}.gbr" for what in (*films, "legend-top", "profile")}
        assert set(EXPORT.files(result)) == copper | others

    def test_same_bytes_on_every_run_and_no_clock(self, result):
        first = EXPORT.files(result)
        assert first == EXPORT.files(result)
        assert not any(b"Date" in content for content in first.values())

    def test_an_empty_layer_is_a_legal_file(self, four_layers):
        bare = rewritten(four_layers, traces=(), pads=(), openings=(), legend=(), pockets=())
        empty = [image for path, image in images(bare).items() if "profile" not in path]
        assert all(not image.draws and not image.flashes for image in empty)


class TestAttributes:
    def test_file_functions_of_a_four_layer_board(self, four_layers):
        assert {
            path[17:-4]: image.attributes[".FileFunction"] for path, image in images(four_layers).items()
        } == {
            "copper-L1-top": "Copper,L1,Top",
            "copper-L2-inner": "Copper,L2,Inr",
            "copper-L3-inner": "Copper,L3,Inr",
            "copper-L4-bottom": "Copper,L4,Bot",
            "soldermask-top": "Soldermask,Top",
            "soldermask-bottom": "Soldermask,Bot",
            "legend-top": "Legend,Top",
            "profile": "Profile,NP",
        }

    def test_a_flexible_board_of_one_layer_has_coverlay_on_the_top_alone(self, flexible):
        functions = {image.attributes[".FileFunction"] for image in images(flexible).values()}
        assert functions == {
            "Copper,L1,Top",
            "Other,Coverlay_Top",
            "Legend,Top",
            "Profile,NP",
        }

    def test_masks_alone_are_negative(self, result):
        for path, image in images(result).items():
            expected = "Negative" if "mask-" in path or "coverlay-" in path else "Positive"
            assert image.attributes[".FilePolarity"] == expected

    def test_all_files_are_one_part_in_the_same_coordinates(self, result):
        told = [image.attributes for image in images(result).values()]
        assert {attributes[".Part"] for attributes in told} == {"Single"}
        assert {attributes[".SameCoordinates"] for attributes in told} == {result.design.name}
        assert all(set(attributes) == set(told[0]) for attributes in told)
        assert len({attributes[".ProjectId"] for attributes in told}) == 1

    def test_all_copper_is_the_one_net_and_nothing_else_is(self, result):
        for path, image in images(result).items():
            nets = {thing.net for thing in [*image.draws, *image.flashes]}
            assert nets <= ({"COIL"} if "-copper-" in path else {""})

    def test_draws_bear_the_function_of_their_layer(self, result):
        expected = {"copper": "Conductor", "legend": "Material", "profile": "Profile"}
        for path, image in images(result).items():
            kind = next((kind for kind in expected if f"-{kind}" in path), None)
            assert {draw.function for draw in image.draws} <= {expected.get(kind)}


class TestCopper:
    def test_stroke_length_is_the_length_of_the_paths(self, result):
        for layer, image in enumerate(copper_images(result), 1):
            length = sum(trace.path.length for trace in result.art.traces_on(layer))
            assert stroke_length(image) == pytest.approx(length, abs=2 * ROUNDING * (len(image.draws) + 1))

    def test_each_trace_is_one_unbroken_chain_of_its_width(self, result):
        for layer, image in enumerate(copper_images(result), 1):
            traces = result.art.traces_on(layer)
            assert [chain[0].width for chain in chains(image)] == pytest.approx([t.width for t in traces])
            for trace, chain in zip(traces, chains(image), strict=True):
                assert abs(chain[0].start - trace.path.start) <= ROUNDING
                assert abs(chain[-1].end - trace.path.end) <= ROUNDING

    def test_arcs_stay_arcs_with_their_sense(self, result):
        for layer, image in enumerate(copper_images(result), 1):
            arcs = [s for t in result.art.traces_on(layer) for s in t.path.segments if isinstance(s, Arc)]
            drawn = [draw for draw in image.draws if draw.centre is not None]
            for arc, draw in zip(arcs, drawn, strict=True):
                assert abs(draw.centre - arc.centre) <= ROUNDING
                assert draw.sweep == pytest.approx(arc.sweep, abs=1e-6)

    def test_flashes_are_the_pads(self, result):
        for layer, image in enumerate(copper_images(result), 1):
            pads = result.art.pads_on(layer)
            for pad, flash in zip(pads, image.flashes, strict=True):
                assert abs(flash.at - pad.at) <= ROUNDING
                assert flash.diameter == pytest.approx(pad.diameter, abs=ROUNDING)

    def test_pads_bear_their_functions(self, result):
        terminal = "SMDPad,CuDef" if result.art.copper_layers == 1 else "ComponentPad"
        for layer, image in enumerate(copper_images(result), 1):
            for pad, flash in zip(result.art.pads_on(layer), image.flashes, strict=True):
                assert flash.function == ("ViaPad" if pad.terminal is None else terminal)

    def test_a_pad_whose_edge_is_covered_is_defined_by_its_opening(self, flexible):
        """Solder stops at the film: the specification calls such a pad SMDef, not CuDef."""
        held = tuple(replace(opening, diameter=1.2e-3) for opening in flexible.art.openings)
        (image,) = copper_images(rewritten(flexible, openings=held))
        assert {flash.function for flash in image.flashes} == {"SMDPad,SMDef"}

    def test_pins_stand_on_the_outer_layers_terminals_only(self, result):
        for layer, image in enumerate(copper_images(result), 1):
            outer = layer in (1, result.art.copper_layers)
            for pad, flash in zip(result.art.pads_on(layer), image.flashes, strict=True):
                expected = ("L1", str(pad.terminal)) if outer and pad.terminal else None
                assert flash.pin == expected

    def test_area_is_that_of_strokes_with_round_ends(self, two_layers):
        """Area of a stroke that does not meet itself: length times width and one disc [Pappus]."""
        bare = rewritten(two_layers, pads=())
        for layer, image in enumerate(copper_images(bare), 1):
            (trace,) = bare.art.traces_on(layer)
            expected = trace.path.length * trace.width + math.pi * trace.width**2 / 4
            assert dark_area(image).area == pytest.approx(expected, rel=1e-4)

    def test_a_layer_is_one_piece_without_a_turn_to_turn_short(self, two_layers):
        for image in copper_images(rewritten(two_layers, pads=())):
            dark = dark_area(image)
            assert dark.geom_type == "Polygon"
            assert not dark.interiors

    def test_a_short_between_turns_would_show_as_a_hole(self, two_layers):
        bridge = Trace(layer=1, path=Path((Line(-5e-3 + 0j, -3.5e-3 + 0j),)), width=0.2e-3)
        shorted = rewritten(two_layers, pads=(), traces=(*two_layers.art.traces, bridge))
        assert dark_area(copper_images(shorted)[0]).interiors

    def test_strokes_that_go_on_where_another_ended_keep_nets_in_their_places(self, two_layers):
        """The format's writer leaves out a move to where the tool stands; nets must not slip by it."""
        stops = (0j, 1e-3 + 0j, 1e-3 + 1e-3j)
        run = [Path((Line(one, other),)) for one, other in pairwise(stops)]
        traces = (
            *(Trace(layer=1, path=path, width=0.2e-3, net="first") for path in run),
            Trace(layer=1, path=Path((Line(3e-3 + 0j, 4e-3 + 0j),)), width=0.2e-3, net="second"),
        )
        pads = tuple(
            Pad(layer=1, at=at, diameter=1e-3, terminal=None, net=net)
            for at, net in ((0j, "first"), (3e-3 + 0j, "second"))
        )
        art = replace(two_layers.art, traces=traces, pads=pads)
        image = copper_images(replace(two_layers, art=art))[0]
        assert [draw.net for draw in image.draws] == ["first", "first", "second"]
        assert [flash.net for flash in image.flashes] == ["first", "second"]


class TestOtherLayers:
    def test_masks_show_the_openings_of_their_side(self, result):
        film = "coverlay" if result.art.copper_layers == 1 else "soldermask"
        for side in ("top", "bottom") if result.art.copper_layers > 1 else ("top",):
            image = images(result)[f"fab/{result.design.name}-{film}-{side}.gbr"]
            openings = [opening for opening in result.art.openings if opening.side == side]
            for opening, flash in zip(openings, image.flashes, strict=True):
                assert abs(flash.at - opening.at) <= ROUNDING
                assert flash.diameter == pytest.approx(opening.diameter, abs=ROUNDING)
                assert flash.function == "Material"

    def test_an_empty_mask_says_that_it_is_meant(self, two_layers):
        top = tuple(opening for opening in two_layers.art.openings if opening.side == "top")
        files = EXPORT.files(rewritten(two_layers, openings=top))
        first = files["fab/optical-shutter-soldermask-bottom.gbr"].decode().splitlines()[0]
        assert first == "G04 optical-shutter: openings in the solder mask on the bottom: none is meant*"

    def test_legend_strokes_the_marks(self, result):
        image = images(result)[f"fab/{result.design.name}-legend-top.gbr"]
        length = sum(stroke.path.length for stroke in result.art.legend)
        assert stroke_length(image) == pytest.approx(length, abs=2 * ROUNDING * len(image.draws))

    def test_profile_is_closed_loops_of_outline_and_pocket(self, result):
        loops = [loop for loop in (result.art.outline, *result.art.pockets) if loop is not None]
        drawn = chains(images(result)[f"fab/{result.design.name}-profile.gbr"])
        for loop, chain in zip(loops, drawn, strict=True):
            assert chain[0].start == chain[-1].end
            assert sum(d.length for d in chain) == pytest.approx(loop.length, abs=4 * ROUNDING * len(chain))


points = st.builds(complex, *[st.integers(-150_000_000, 150_000_000).map(lambda n: n * NANOMETRE)] * 2)
sweeps = st.floats(0.02, 2 * math.pi) | st.floats(-2 * math.pi, -0.02)
arcs = st.builds(Arc, points, st.floats(0.1e-3, 80e-3), st.floats(-7.0, 7.0), sweeps)
lines = st.tuples(points, points).filter(lambda ends: abs(ends[1] - ends[0]) > 1e-6).map(lambda e: Line(*e))


class TestExactness:
    @settings(max_examples=60, deadline=None)
    @given(at=points)
    def test_whole_nanometres_come_back_whole(self, two_layers, at):
        pad = Pad(layer=1, at=at, diameter=0.6e-3, terminal=None)
        (flash,) = copper_images(rewritten(two_layers, pads=(pad,)))[0].flashes
        assert (flash.at * 1e9).real == pytest.approx(round(at.real * 1e9), abs=1e-3)
        assert (flash.at * 1e9).imag == pytest.approx(round(at.imag * 1e9), abs=1e-3)

    @settings(max_examples=150, deadline=None)
    @given(segment=arcs | lines)
    def test_any_stroke_comes_back(self, two_layers, segment):
        trace = Trace(layer=1, path=Path((segment,)), width=0.1e-3)
        draws = copper_images(rewritten(two_layers, pads=(), traces=(trace,)))[0].draws
        assert abs(draws[0].start - segment.start) <= ROUNDING
        assert abs(draws[-1].end - segment.end) <= 2 * ROUNDING
        assert sum(draw.length for draw in draws) == pytest.approx(segment.length, abs=20 * NANOMETRE)
        assert all((draw.centre is None) == isinstance(segment, Line) for draw in draws)

    @settings(max_examples=100, deadline=None)
    @given(arc=arcs)
    def test_centres_are_exact_and_no_arc_is_over_half_a_turn(self, two_layers, arc):
        trace = Trace(layer=1, path=Path((arc,)), width=0.1e-3)
        for draw in copper_images(rewritten(two_layers, pads=(), traces=(trace,)))[0].draws:
            assert abs(draw.centre - arc.centre) <= ROUNDING
            assert abs(abs(draw.start - draw.centre) - abs(draw.end - draw.centre)) <= 4 * ROUNDING
            assert abs(draw.sweep) <= math.pi + 1e-4

    def test_arcs_too_short_for_whole_nanometres_are_drawn_straight(self, two_layers):
        short = Arc(0j, 1e-3, 0.0, 1e-3)
        trace = Trace(layer=1, path=Path((short, Line(short.end, 2e-3 + 0j))), width=0.1e-3)
        draws = copper_images(rewritten(two_layers, pads=(), traces=(trace,)))[0].draws
        assert [draw.centre for draw in draws] == [None, None]
        assert draws[0].end == draws[1].start


# The readers' own libraries warn of their own future.
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
class TestIndependentReaders:
    def test_pygerber_reads_functions_nets_and_draws(self, result):
        from pygerber.gerberx3.parser2.commands2.arc2 import Arc2
        from pygerber.gerberx3.parser2.commands2.flash2 import Flash2
        from pygerber.gerberx3.parser2.commands2.line2 import Line2

        for path, content in EXPORT.files(result).items():
            context, commands = parsed(content)
            mine = read(content)
            told = {str(key): value for key, value in context.file_attributes.mapping.items()}
            assert told == mine.attributes, path
            assert sum(isinstance(command, Flash2) for command in commands) == len(mine.flashes)
            assert sum(isinstance(command, Line2 | Arc2) for command in commands) == len(mine.draws)
            nets = {command.attributes.get(".N") for command in commands}
            assert nets <= ({"COIL"} if "-copper-" in path else {None})

    def test_pygerber_reads_the_same_draws(self, result):
        from pygerber.gerberx3.parser2.commands2.flash2 import Flash2

        for content in EXPORT.files(result).values():
            draws = [command for command in parsed(content)[1] if not isinstance(command, Flash2)]
            for draw, command in zip(read(content).draws, draws, strict=True):
                centre = getattr(command, "center_point", None)
                assert abs(place(command.start_point) - draw.start) < NANOMETRE / 10
                assert abs(place(command.end_point) - draw.end) < NANOMETRE / 10
                assert (centre is None) == (draw.centre is None)
                assert centre is None or abs(place(centre) - draw.centre) < NANOMETRE / 10

    def test_gerbyx_finds_the_same_area(self, two_layers):
        from gerbyx.parser import GerberParser
        from gerbyx.processor import GerberProcessor
        from gerbyx.tokenizer import tokenize_gerber
        from shapely import union_all

        for path, content in EXPORT.files(rewritten(two_layers, pads=())).items():
            if "-copper-" not in path:
                continue
            processor = GerberProcessor()
            GerberParser(processor).parse(tokenize_gerber(content.decode()))
            area = union_all(processor.geometries).area
            assert area * 1e-6 == pytest.approx(dark_area(read(content)).area, rel=0.01)


def parsed(content):
    from pygerber.gerberx3.parser2.parser2 import Parser2
    from pygerber.gerberx3.tokenizer.tokenizer import Tokenizer

    parser = Parser2()
    commands = parser.parse(Tokenizer().tokenize(content.decode()))
    return parser.context, list(commands)


def place(vector):
    return complex(float(vector.x.as_millimeters()), float(vector.y.as_millimeters())) * 1e-3


def test_lines_are_whole_commands(result):
    for content in EXPORT.files(result).values():
        assert all(re.fullmatch(r"%.*\*%|[^%]*\*", line) for line in content.decode("ascii").splitlines())
