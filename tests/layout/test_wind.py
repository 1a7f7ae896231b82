"""Laws of the winding, over every shape, layer count, direction, corner and fraction of a turn."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from designs import CORNERS, SHAPES, Asked, asked_designs, made, text
from hypothesis import example, given, settings
from hypothesis import strategies as st

from coilgen.artwork.art import Art
from coilgen.artwork.gaps import smallest_gap
from coilgen.design.reading import read_text
from coilgen.errors import DesignError
from coilgen.geometry.arc import Arc
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.job import case_of, draw, findings_of
from coilgen.layout.coil import Coil, Trace
from coilgen.layout.seen import measured

QUARTERS = {"south": 0, "east": 1, "north": 2, "west": 3}


def turned(path: Path) -> float:
    """Angle that a path turns about the origin, rad."""
    points = np.array([segment.at(k / 4) for segment in path.segments for k in range(5)])
    return float(np.sum(np.angle(points[1:] / points[:-1])))


def chords(path: Path, tolerance: float = 2e-8) -> np.ndarray:
    points = [path.start]
    for segment in path.segments:
        count = 1
        if isinstance(segment, Arc):
            count = max(2, math.ceil(abs(segment.sweep) / math.sqrt(8 * tolerance / segment.radius)))
        points += [segment.at(k / count) for k in range(1, count + 1)]
    return np.array([(point.real, point.imag) for point in points])


def copper(art: Art, layer: int) -> list[shapely.Geometry]:
    """Every piece of copper of a layer, by an independent geometry engine, within a few tens of nm."""
    strokes = [
        shapely.LineString(chords(trace.path)).buffer(trace.width / 2, quad_segs=48)
        for trace in art.traces_on(layer)
    ]
    discs = [
        shapely.Point(pad.at.real, pad.at.imag).buffer(pad.diameter / 2, quad_segs=48)
        for pad in art.pads_on(layer)
    ]
    return strokes + discs


class TestEveryWinding:
    """What holds whatever the design asks for."""

    @given(asked_designs())
    @settings(max_examples=80, deadline=None)
    def test_is_one_conductor_from_terminal_1_to_terminal_2(self, asked: Asked) -> None:
        _, coil, _ = made(asked)
        at, layer = coil.terminals[0].at, coil.traces[0].layer
        for trace in coil.traces:
            if trace.layer != layer:
                change = [via for via in coil.vias if via.joins == (layer, trace.layer)]
                assert len(change) == asked.via_count
                places = [via.at for via in change]
                assert min(abs(place - at) for place in places) < 1e-9
                assert min(abs(place - trace.path.start) for place in places) < 1e-9
                at, layer = trace.path.start, trace.layer
            assert abs(trace.path.start - at) < 1e-9
            at = trace.path.end
        assert abs(at - coil.terminals[1].at) < 1e-9
        assert coil.terminals[1].drill or coil.terminals[1].layer == layer

    @given(asked_designs())
    @settings(max_examples=80, deadline=None)
    def test_circulates_in_the_asked_sense_on_every_layer(self, asked: Asked) -> None:
        _, coil, _ = made(asked)
        sense = 1 if asked.direction == "counterclockwise" else -1
        for trace in coil.traces[: asked.layers]:
            turns = sense * turned(trace.path) / math.tau
            assert turns == pytest.approx(asked.turns, abs=0.75)
        total = sense * sum(turned(trace.path) for trace in coil.traces) / math.tau
        aside = 0.02 * asked.layers  # each spiral ends where its vias have room
        assert total == pytest.approx(asked.turns * asked.layers, abs=1.0 + aside)

    @given(asked_designs())
    @settings(max_examples=60, deadline=None)
    def test_keeps_the_asked_spacing_exactly(self, asked: Asked) -> None:
        _, _, art = made(asked)
        for layer in range(1, asked.layers + 1):
            gap = smallest_gap(art, layer)
            assert gap is not None
            assert asked.spacing * 1e-3 - 1e-9 <= gap <= asked.spacing * 1e-3 + 1e-6

    @given(asked_designs())
    @settings(max_examples=25, deadline=None)
    def test_has_no_turn_to_turn_contact_and_no_copper_nearer_than_asked(self, asked: Asked) -> None:
        """Copper grown by just under half the spacing stays as many pieces without holes.

        An independent check.
        """
        _, _, art = made(asked)
        for layer in range(1, art.copper_layers + 1):
            bare = shapely.union_all(copper(art, layer))
            grown = bare.buffer(asked.spacing * 1e-3 / 2 - 2e-6, quad_segs=32)
            for shape in (bare, grown):
                pieces = shapely.get_parts(shape)
                assert sum(shapely.get_num_interior_rings(piece) for piece in pieces) == 0
                assert len(pieces) == len(shapely.get_parts(bare))

    @given(
        asked_designs(),
        st.sampled_from([2.5, 3.5, 6.0, 10.0]),
        st.sampled_from([0.6, 0.9]),
        st.sampled_from([None, None, 0.3, 1.0]),
    )
    @settings(max_examples=60, deadline=None)
    def test_breaks_no_rule_of_its_shop(
        self, asked: Asked, pitch: float, via_pad: float, lead_width: float | None
    ) -> None:
        together = asked.connection == "parallel" and asked.kind == "plated-hole"
        width = None if together or lead_width is None else max(lead_width, asked.width)
        asked = replace(asked, pitch=pitch, via_pad=via_pad, lead_width=width)
        assert [finding.says for finding in findings_of(*made(asked))] == []

    @given(asked_designs())
    @settings(max_examples=25, deadline=None)
    def test_layer_changes_keep_clear_of_the_pocket(self, asked: Asked) -> None:
        design, coil, art = made(asked)
        if not coil.pockets:
            return
        (pocket,) = (shapely.Polygon(chords(path)) for path in coil.pockets)
        for layer in range(1, art.copper_layers + 1):
            for piece in copper(art, layer):
                assert piece.distance(pocket) >= design.rules.limit("copper_to_pocket") - 1e-7
        for via in coil.vias:
            hole = shapely.Point(via.at.real, via.at.imag).buffer(via.drill / 2)
            assert hole.distance(pocket) >= design.rules.limit("hole_to_pocket") - 1e-7


@pytest.mark.parametrize(
    ("shape", "layers", "turns", "corner"),
    [
        ("octagonal", 1, 3.93, "sharp"),
        ("hexagonal", 3, 3.86, "rounded"),
        ("nonagonal", 5, 6.9, "chamfered"),
        ("dodecagonal", 2, 3.96, "sharp"),
    ],
)
@pytest.mark.parametrize("width", [0.2, 0.5])
def test_a_spiral_ends_clear_of_the_turn_before(shape, layers, turns, corner, width):
    """On the last side before its level falls, where the turn before lies a pitch further in already."""
    asked = Asked(shape=shape, layers=layers, turns=turns, corner=corner, width=width)
    _, _, art = made(asked)
    for layer in range(1, layers + 1):
        assert smallest_gap(art, layer) >= asked.spacing * 1e-3 - 1e-9


@pytest.mark.parametrize(
    "asked",
    [
        Asked(shape="pentagonal", turns=2.5, width=0.5, spacing=0.15, inner=12),
        Asked(shape="pentagonal", turns=2.1, width=1.0, spacing=0.15, inner=12),
        Asked(shape="wedge", turns=7.3, width=0.15, spacing=0.15, inner=15, side="north"),
        Asked(shape="wedge", layers=3, turns=7.3, width=0.15, spacing=0.2, inner=21, side="north"),
    ],
    ids=lambda asked: f"{asked.shape}-{asked.turns}-{asked.layers}",
)
def test_stubs_and_leads_beside_corners_keep_their_spacing(asked):
    """Where a side of a pentagon, or an arc of a wedge, ends next to where a layer changes."""
    _, _, art = made(asked)
    for layer in range(1, asked.layers + 1):
        assert smallest_gap(art, layer) >= asked.spacing * 1e-3 - 1e-9


def test_a_lead_round_the_innermost_turn_does_not_end_on_its_own_beginning():
    """A quarter of a turn of a short winding of wide traces ends just past the way out."""
    design = read_text(
        "name = 'x'\nboard = {stackup = 'rigid-4-layer-1.6mm', outline = 'rectangle'}\n"
        "winding = {shape = 'rectangular', turns = 2.25, trace_width = 1, trace_spacing = 0.45, "
        "outer_size = [14.3, 9.9]}\nvia = {drill = 0.3, pad = 0.6}"
    )
    coil, art = draw(design)
    assert findings_of(design, coil, art) == ()
    assert sum(turned(trace.path) for trace in coil.traces) / math.tau == pytest.approx(2.25, abs=0.3)


def test_a_lead_whose_way_out_lies_past_its_own_beginning_does_not_go_once_round():
    """The way out is a corner's length further on: round and back it would run over its own beginning."""
    design = read_text(
        "name = 'x'\nboard = {stackup = 'rigid-8-layer-1.6mm', outline = 'rectangle'}\n"
        "winding = {shape = 'octagonal', turns = 1.25, trace_width = 0.26, trace_spacing = 0.48, "
        "inner_size = 9.2, corner = 'rounded'}\nvia = {drill = 0.38, pad = 0.84}\n"
        "pocket = {shape = 'rectangular', size = [5.7, 4.64]}\nterminals = {pad = 2.3, side = 'south'}"
    )
    coil, art = draw(design)
    assert findings_of(design, coil, art) == ()
    lead = next(trace for trace in coil.traces if trace.layer == 2)
    assert abs(turned(lead.path)) < math.pi


def fine(shape: str, turns: float, layers: int, via_count: int = 1, **other: Any) -> Asked:
    """A winding of fine traces on a board of many layers."""
    told = {"width": 0.15, "spacing": 0.15, "stackup": "rigid-8-layer-1.6mm", **other}
    return Asked(shape=shape, turns=turns, layers=layers, via_count=via_count, **told)


ON_TOP = {"kind": "surface-pad"}
SIDE_BY_SIDE = {"kind": "surface-pad", "connection": "parallel", "pitch": 2.5, "via_pad": 0.8}
CUT, BENT = {"corner": "chamfered"}, {"corner": "rounded"}


@pytest.mark.parametrize(
    "asked",
    {
        "stub beside a via round a corner": fine("heptagonal", 4.25, 6, inner=15.0),
        "via beside a lead round a corner": fine(
            "nonagonal", 7.5, 8, 3, width=0.3, inner=10.344, pitch=10, **ON_TOP
        ),
        "row beside a via round a corner": fine(
            "triangular", 4.5, 6, 2, width=0.9, inner=22.022, pitch=10, via_pad=0.9, **ON_TOP
        ),
        "via aside of its lead": fine("octagonal", 2.25, 4, width=0.2, inner=13.89, pitch=6, **ON_TOP, **CUT),
        "via level with its lead": fine(
            "pentagonal", 4.5, 2, width=0.5, spacing=0.3, inner=8.273, pitch=10, **ON_TOP, **CUT
        ),
        "terminal aside of its lead": fine(
            "racetrack", 3.25, 7, width=0.3, spacing=0.3, inner=13.735, pitch=10, via_pad=0.9
        ),
        "terminal aside of its wide lead": fine(
            "racetrack", 5, 5, 3, inner=12.821, pitch=10, lead_width=0.6, **ON_TOP
        ),
        "lead that narrows beside its pad": fine(
            "decagonal", 5, 3, 2, spacing=0.3, inner=23.857, pitch=10, via_pad=0.9, lead_width=0.3, **BENT
        ),
        "pad aside of the last via": fine("decagonal", 3, 3, 2, spacing=0.3, inner=24.152, **SIDE_BY_SIDE),
        "pad that ends at a lead": fine(
            "nonagonal", 4.25, 4, 2, width=0.2, spacing=0.2, inner=9.317, **SIDE_BY_SIDE, **BENT
        ),
    }.items(),
    ids=lambda case: case[0].replace(" ", "-"),
)
def test_leads_and_vias_at_corners_break_no_rule(asked):
    """Where the side that leads and vias stand on ends beside them, nearer than the terminals' pitch asks."""
    assert [finding.says for finding in findings_of(*made(asked[1]))] == []


AT_A_CORNER = Asked(
    shape="heptagonal",
    layers=1,
    turns=7.5,
    corner="chamfered",
    side="north",
    width=0.15,
    spacing=0.3,
    inner=15.0,
)
"""Its last turn may end as far before a corner as after it."""


class TestSymmetry:
    """Mirrored, rotated, scaled designs give mirrored, rotated, scaled art."""

    @given(asked_designs())
    @settings(max_examples=40, deadline=None)
    def test_other_directions_and_sides_are_images(self, asked: Asked) -> None:
        _, coil, _ = made(asked)
        _, plain, _ = made(replace(asked, direction="counterclockwise", side="south"))
        image = Isometry(asked.direction == "clockwise", QUARTERS[asked.side])
        assert_same(coil, [trace.path.moved(image) for trace in plain.traces])
        for via, other in zip(coil.vias, plain.vias, strict=True):
            assert abs(via.at - image.point(other.at)) < 1e-12

    @given(asked_designs())
    @example(AT_A_CORNER)
    @settings(max_examples=30, deadline=None)
    def test_scaled_design_is_scaled_art(self, asked: Asked) -> None:
        _, coil, _ = made(asked)
        _, double, _ = made(replace(asked, scale=2.0))
        for trace, twice in zip(coil.traces, double.traces, strict=True):
            for a, b in zip(trace.path.segments, twice.path.segments, strict=True):
                assert abs(2 * a.start - b.start) < 1e-9
                assert 2 * a.length == pytest.approx(b.length, abs=1e-9)


def assert_same(coil: Coil, paths: list[Path]) -> None:
    for trace, path in zip(coil.traces, paths, strict=True):
        for a, b in zip(trace.path.segments, path.segments, strict=True):
            assert type(a) is type(b)
            assert abs(a.start - b.start) < 1e-12
            assert abs(a.end - b.end) < 1e-12
            assert a.turning == pytest.approx(b.turning, abs=1e-12)


class TestSizes:
    @pytest.mark.parametrize("shape", SHAPES)
    @pytest.mark.parametrize("turns", [3, 4.5, 7])
    @pytest.mark.parametrize("corner", CORNERS)
    def test_winding_measures_what_was_asked(self, shape: str, turns: float, corner: str) -> None:
        """Over the copper, on each line on which the shape says that its sizes are measured."""
        design, coil, _ = made(Asked(shape=shape, turns=turns, corner=corner))
        trace = coil.traces[0]
        wound = shapely.LineString(chords(trace.path)).buffer(trace.width / 2, quad_segs=64)
        told = measured(design)
        asked = design.winding.outer_size
        assert tuple(size for *_, size in told) == ((asked,) if isinstance(asked, float) else asked)
        for start, end, size in told:
            along = (end - start) / abs(end - start)
            line = shapely.LineString([(each.real, each.imag) for each in (start - along, end + along)])
            points = shapely.get_coordinates(wound.intersection(line)) @ [along.real, along.imag]
            assert abs(end - start) == pytest.approx(size, abs=1e-12)
            # Arcs of opposite ends have their centres a little aside of each other.
            assert points.max() - points.min() == pytest.approx(size, abs=2e-6 if len(told) == 1 else 5e-6)

    def test_says_how_much_room_is_missing(self) -> None:
        with pytest.raises(DesignError, match=r"winding.inner_size: .* mm is missing"):
            made(Asked(shape="round", layers=8, inner=7.0, pocket="round"))

    def test_a_wedge_pocket_over_the_copper_is_refused(self) -> None:
        pocket = '[pocket]\nshape = "wedge"\nangle = 88\ninner_radius = 18.6\nouter_radius = 20\n'
        with pytest.raises(DesignError, match=r"the 18\.6 mm to 20 mm over 88 degrees pocket and the pads"):
            draw(read_text(text(Asked(shape="triangular", layers=1)) + pocket))

    def test_room_that_is_said_to_do_does(self) -> None:
        asked = Asked(shape="round", layers=8, inner=7.0, pocket="round")
        with pytest.raises(DesignError) as caught:
            made(asked)
        needed = float(str(caught.value).split(" need ")[1].split(" mm")[0])
        enough = text(asked).replace("inner_size = 7", f"inner_size = {needed}")
        draw(read_text(enough))
        short = text(asked).replace("inner_size = 7", f"inner_size = {needed - 0.01}")
        with pytest.raises(DesignError):
            draw(read_text(short))

    @pytest.mark.parametrize(
        ("shape", "corner", "size"),
        [
            ("octagonal", "rounded", 2.638),
            ("octagonal", "rounded", 2.6),
            ("octagonal", "chamfered", 1.3),
            ("square", "rounded", 3.05),
        ],
    )
    def test_corners_that_leave_no_side_are_told_the_largest_that_do(
        self, shape: str, corner: str, size: float
    ) -> None:
        asked = Asked(shape=shape, layers=1, turns=3, spacing=0.15, inner=6.165, corner=corner)
        design = text(asked).replace("corner_size = 0.5", "corner_size = {:.3f}")
        with pytest.raises(DesignError, match=r"winding.corner_size: ") as caught:
            draw(read_text(design.format(size)))
        most = float(str(caught.value).split("at most ")[1].split(" mm")[0])
        assert 0.5 < most < size
        draw(read_text(design.format(most)))
        with pytest.raises(DesignError, match=r"winding.corner_size: "):
            draw(read_text(design.format(most + 0.001)))

    def test_terminals_too_near_say_how_far(self) -> None:
        design = text(Asked()).replace("pitch = 3.5", "pitch = 3.5\ndistance = 9")
        with pytest.raises(DesignError, match=r"terminals.distance: 9 mm .* at least \d+\.\d+ mm"):
            draw(read_text(design))


def turns_only(trace: Trace) -> list:
    """The spiral of a trace without its leads."""
    return [
        segment
        for segment in trace.path.segments
        if abs(segment.start) < 1 and abs(turned(Path((segment,)))) > 0.05
    ]


class TestWayOut:
    """Where the current leaves the winding."""

    @pytest.mark.parametrize("layers", [1, 3, 5, 7])
    def test_odd_layers_leave_on_the_next_layer(self, layers: int) -> None:
        _, coil, _ = made(Asked(layers=layers, stackup="rigid-8-layer-1.6mm"))
        assert coil.traces[-1].layer == layers + 1
        assert any(f"copper layer {layers + 1}" in remark for remark in coil.says)

    def test_one_copper_layer_ends_on_a_pad_inside(self) -> None:
        asked = Asked(layers=1, stackup="flex-1-layer", kind="surface-pad")
        _, coil, art = made(asked)
        assert abs(coil.terminals[1].at) < asked.inner * 1e-3 / 2
        assert any("terminal 2 is a pad inside" in remark for remark in coil.says)
        assert not art.holes

    def test_surface_pads_are_both_on_the_top(self) -> None:
        _, coil, art = made(Asked(layers=4, kind="surface-pad"))
        assert {terminal.layer for terminal in coil.terminals} == {1}
        assert {opening.side for opening in art.openings} == {"top"}
        assert [pad.layer for pad in art.pads if pad.terminal] == [1, 1]


class TestPartsOfATurn:
    """A lead that goes round goes on as the current does; what goes back is under a quarter of a turn."""

    @pytest.mark.parametrize("shape", SHAPES)
    @pytest.mark.parametrize("layers", [1, 3])
    def test_more_turns_are_worth_more(self, shape: str, layers: int) -> None:
        """Below the winding: 3.25 turns were worth 3.5 % less than 3."""
        worth = [self.area(shape, layers, turns) for turns in (3, 3.1, 3.25, 3.4, 3.5, 3.75, 4)]
        assert worth == sorted(worth)

    @pytest.mark.parametrize("shape", SHAPES)
    def test_round_the_winding_a_lead_takes_no_more_than_the_part(self, shape: str) -> None:
        whole = self.area(shape, 2, 3)
        assert self.area(shape, 2, 3.25) > whole
        assert self.area(shape, 2, 3.1) > whole * (1 - 0.2 / 6)

    @pytest.mark.parametrize("shape", SHAPES)
    def test_effective_turns(self, shape: str) -> None:
        """About as many as asked where leads go straight; beyond the asked where one goes on round."""
        for turns, least, most in ((3, 2.9, 3.02), (3.25, 3.5, 4.0), (5, 4.9, 5.02)):
            asked = made(Asked(shape=shape, layers=1, turns=turns))
            found = case_of(*asked)
            assert least < found.value("effective_turns") < most
            told = any("effective_turns" in remark for remark in asked[1].says)
            assert told == (turns == 3.25)

    @staticmethod
    def area(shape: str, layers: int, turns: float) -> float:
        stackup = "rigid-4-layer-1.6mm"
        asked = Asked(shape=shape, layers=layers, turns=turns, width=0.5, spacing=0.3, stackup=stackup)
        return float(case_of(*made(asked)).value("turn_area"))


class TestParallel:
    """Layers side by side."""

    @pytest.mark.parametrize("kind", ["plated-hole", "surface-pad"])
    @pytest.mark.parametrize("via_count", [1, 3])
    @pytest.mark.parametrize("layers", [2, 3, 7])
    @pytest.mark.parametrize("shape", SHAPES)
    def test_every_layer_joins_both_ends(self, shape: str, layers: int, via_count: int, kind: str) -> None:
        asked = Asked(shape=shape, layers=layers, via_count=via_count, kind=kind, connection="parallel")
        design, coil, art = made(asked)
        wound = [coil.traces[index] for index in coil.parallel]
        assert [trace.layer for trace in wound] == list(range(1, layers + 1))
        assert {round(turned(trace.path) / math.tau) for trace in wound} == {round(asked.turns)}
        inner = next(via for via in coil.vias if via.joins == (*range(1, layers + 1), layers + 1))
        assert all(abs(trace.path.end - wound[0].path.end) < 1e-12 for trace in wound)
        assert min(abs(segment.end - inner.at) for segment in wound[0].path.segments) < 1e-9
        assert coil.turns == asked.turns
        assert findings_of(design, coil, art) == ()

    def test_inner_pad_joins_them_when_no_layer_is_left(self) -> None:
        _, coil, art = made(Asked(layers=2, connection="parallel", stackup="rigid-2-layer-1.6mm"))
        assert coil.terminals[1].drill
        assert not coil.vias
        assert len(art.pads) == 4

    def test_surface_pads_without_a_layer_to_leave_on_are_refused(self) -> None:
        asked = Asked(layers=2, connection="parallel", kind="surface-pad", stackup="rigid-2-layer-1.6mm")
        with pytest.raises(DesignError, match=r"terminals.kind: .*plated-hole"):
            made(asked)


@pytest.mark.parametrize("inner", [5.0, 5.38, 5.7, 6.2])
@pytest.mark.parametrize("corner", ["rounded", "chamfered"])
def test_a_spiral_whose_end_lies_within_its_last_corner_is_refused(inner, corner):
    """The corner was turned by where the spiral ended, and so back: what it left did not meet."""
    given = (
        'name = "twelve"\n[board]\nstackup = "rigid-8-layer-1.6mm"\n[winding]\nshape = "dodecagonal"\n'
        f'layers = 2\nturns = 19\ntrace_width = 0.296\ntrace_spacing = 0.564\ncorner = "{corner}"\n'
        f'inner_size = {inner}\n[terminals]\nkind = "surface-pad"\npad = 1.83\npitch = 14.2\n'
        "[rules]\ndrill_aspect_ratio = 5.55\n"
    )
    try:
        drawn = draw(read_text(given))
    except DesignError as error:
        assert str(error).startswith(("winding.inner_size: the winding leaves", "winding.corner_size: "))
    else:
        assert smallest_gap(drawn[1]) > 0


@pytest.mark.parametrize("shape", ["round", "square", "pentagonal", "oval"])
@pytest.mark.parametrize(("layers", "count"), [(2, 1), (3, 2), (4, 1)])
def test_a_lead_to_layers_in_parallel_is_none_of_them(shape, layers, count):
    """From a surface pad the current of all runs in one trace until vias divide it."""
    asked = Asked(shape=shape, layers=layers, connection="parallel", kind="surface-pad", via_count=count)
    design, coil, art = made(replace(asked, stackup="rigid-8-layer-1.6mm"))
    shares = case_of(design, coil, art).shares
    side_by_side = [coil.traces[index] for index in coil.parallel]
    assert {trace.layer for trace in side_by_side} == set(range(1, layers + 1))
    begin, pad = side_by_side[0].path.start, coil.terminals[0].at
    assert all(abs(trace.path.start - begin) < 1e-9 for trace in side_by_side)
    (lead,) = [index for index, trace in enumerate(coil.traces) if abs(trace.path.start - pad) < 1e-9]
    assert shares[lead] == 1.0
    assert abs(coil.traces[lead].path.end - begin) < 1e-9
