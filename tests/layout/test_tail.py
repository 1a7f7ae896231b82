"""Tails: what every board with one keeps, and what is told where something has no room."""

import math
from itertools import pairwise

import numpy as np
import pytest

import coilgen
from coilgen.geometry.containment import contains
from coilgen.geometry.extent import extent
from coilgen.geometry.notched import circle_with_strip, filleted
from coilgen.geometry.region import region
from coilgen.job import check

OUT = {"south": -1j, "east": 1 + 0j, "north": 1j, "west": -1 + 0j}


def tables(*, layers=2, side="south", kind="contact-fingers", leads="beside", **more):
    """A round coil of 12 mm with a tail of 25 mm; more goes over its tables."""
    given = {
        "name": "flap",
        "winding": {
            "shape": "round",
            "layers": layers,
            "turns": 8,
            "trace_width": 0.15,
            "trace_spacing": 0.15,
            "outer_size": 12,
        },
        "board": {"stackup": "flex-2-layer" if layers < 3 else "flex-4-layer"},
        "tail": {"side": side, "length": 25, "leads": leads},
        "terminals": {"kind": kind, "lead_width": 0.3},
    }
    for table, keys in more.items():
        given[table] = {**given.get(table, {}), **keys} if isinstance(keys, dict) else keys
    return given


def checked(**more):
    return check(coilgen.Design.from_tables(tables(**more)))


def faults(**more):
    with pytest.raises(coilgen.DesignError) as caught:
        checked(**more)
    return [(fault.key, fault.says) for fault in caught.value.faults]


BOARDS = [
    {},
    {"side": "east", "winding": {"direction": "clockwise"}, "terminals": {"count": 4}},
    {"side": "north", "layers": 3, "leads": "above", "board": {"outline": "square"}},
    {"side": "west", "layers": 4, "kind": "plated-hole", "tail": {"offset": 2.5}},
    {"side": "north", "layers": 1, "kind": "surface-pad", "tail": {"offset": -2, "root_radius": 0}},
    {"leads": "above", "terminals": {"fingers": [0, 1, 1, 2, 2, 0]}, "winding": {"shape": "hexagonal"}},
    {"layers": 3, "winding": {"connection": "parallel"}, "board": {"outline": "rectangle"}},
    {"side": "east", "kind": "surface-pad", "leads": "above", "board": {"offset": [0.5, -1]}},
]


@pytest.mark.parametrize("board", BOARDS, ids=str)
def test_a_tail_keeps_every_rule_and_leads_from_terminal_to_terminal(board):
    """No finding of any rule, spacing and joints among them; traces meet end to end, or in a via."""
    result = checked(**board)
    assert result.findings == ()
    coil = result.coil
    joints = [via.at for via in coil.vias]
    if not coil.parallel:
        for before, after in pairwise(coil.traces):
            assert abs(before.path.end - after.path.start) < 1e-9
            assert before.layer == after.layer or min(abs(at - after.path.start) for at in joints) < 1e-9
    for trace, terminal in ((coil.traces[0].path.start, 0), (coil.traces[-1].path.end, 1)):
        reached = coil.terminals[terminal]
        root = reached.fingers[0].at - reached.fingers[0].span / 2 if reached.fingers else reached.at
        assert abs(trace - root) < 1e-9


@pytest.mark.parametrize("board", BOARDS, ids=str)
def test_the_outline_has_the_tail_asked_for(board):
    """Its end stands a tail's length from the winding's part, and all copper lies inside."""
    result = checked(**board)
    tail, out = result.coil.tail, OUT[board.get("side", "south")]
    outline = result.art.outline
    far = max((end * out.conjugate()).real for end in extent(outline))
    head = max((end * out.conjugate()).real for end in extent(tail.head))
    assert far - head == pytest.approx(25e-3, abs=1e-9)
    assert abs(tail.out - out) < 1e-12
    ends = [end for pad in result.art.pads for end in pad.ends]
    assert contains(outline, np.array(ends)).all()
    joint = region(outline, 1e-6)
    strip = tail.width * 25e-3
    assert joint.is_valid
    assert (
        region(tail.head, 1e-6).area + 0.9 * strip < joint.area < region(tail.head, 1e-6).area + 1.3 * strip
    )


def test_fingers_stand_in_their_order_at_their_pitch():
    result = checked(terminals={"fingers": [0, 1, 1, 2], "pitch": 0.5, "pad": 0.3})
    first, second = result.coil.terminals
    assert {finger.number for finger in first.fingers} == {2, 3}
    assert [finger.number for finger in second.fingers] == [4]
    assert [finger.number for finger in result.coil.tail.idle_fingers] == [1]
    named = sorted([*first.fingers, *second.fingers, *result.coil.tail.idle_fingers], key=lambda f: f.number)
    assert [round((b.at - a.at).real * 1e6) for a, b in pairwise(named)] == [500] * 3
    idle = [pad for pad in result.art.pads if not pad.net]
    assert len(idle) == 1
    assert idle[0].terminal is None


def test_a_clockwise_coil_has_its_first_finger_on_the_other_side():
    one, other = checked().coil.terminals[0], checked(winding={"direction": "clockwise"}).coil.terminals[0]
    assert one.at.real == pytest.approx(-other.at.real)


def test_a_lead_to_an_inner_finger_passes_the_other_that_has_left_before():
    """Fingers 1 1 2: terminal 1's inner one is in the middle, as near to the other lead as to its own."""
    terminals = {"fingers": [1, 1, 2], "pitch": 1.92, "pad": 1.41, "lead_width": 0.53, "length": 4.3}
    assert checked(terminals=terminals).findings == ()


def test_leads_have_the_width_and_spacing_asked_for():
    result = checked(tail={"lead_spacing": 0.4}, terminals={"lead_width": 0.6})
    leads = [trace for trace in result.coil.traces if trace.is_lead]
    assert {trace.width for trace in leads} == {0.6e-3}
    tracks = [max(trace.path.segments, key=lambda piece: piece.length) for trace in leads]
    assert abs(tracks[0].start.real - tracks[1].start.real) == pytest.approx(1.0e-3)


def test_leads_above_one_another_run_on_two_layers_in_one_track():
    result = checked(leads="above", terminals={"count": 4})
    leads = [trace for trace in result.coil.traces if trace.is_lead]
    tracks = [max(trace.path.segments, key=lambda piece: piece.length) for trace in leads[:2]]
    assert [trace.layer for trace in leads] == [1, 2, 1]
    assert tracks[0].start.real == pytest.approx(tracks[1].start.real, abs=1e-12)


class TestWhatHasNoRoom:
    def test_a_narrow_tail_is_told_what_would_do(self):
        ((key, says),) = faults(tail={"width": 1})
        assert key == "tail.width"
        assert "give at least 2.3 mm" in says
        assert checked(tail={"width": 2.3}).findings == ()

    def test_so_is_a_short_one(self):
        ((key, says),) = faults(tail={"length": 4})
        assert key == "tail.length"
        least = float(says.split("give at least ")[1].split(" mm")[0])
        assert checked(tail={"length": least}).findings == ()

    def test_one_beside_the_board_is_told_by_how_much(self):
        ((key, says),) = faults(tail={"offset": 7}, board={"outline": "square"})
        assert key == "tail.width"
        assert says.startswith("left out, it is 3 mm")
        side = float(says.split("board.size at least ")[1].split(" mm")[0])
        roomy = {"outline": "square", "size": side}
        assert checked(tail={"offset": 7}, board=roomy).findings == ()

    def test_no_layer_leads_out(self):
        ((key, says),) = faults(layers=1, kind="surface-pad", board={"stackup": "flex-1-layer"})
        assert key == "tail"
        assert "one copper layer more" in says


@pytest.mark.parametrize(
    ("more", "key"),
    [
        ({"terminals": {"side": "north"}}, "terminals.side"),
        ({"terminals": {"distance": 20}}, "terminals.distance"),
        ({"terminals": {"fingers": [1, 2, 1, 2]}}, "terminals.fingers"),
        ({"terminals": {"fingers": [2, 1]}}, "terminals.fingers"),
        ({"terminals": {"fingers": [1, 2], "count": 4}}, "terminals.fingers"),
        ({"terminals": {"drill": 1}}, "terminals.drill"),
        ({"kind": "plated-hole", "terminals": {"count": 4}}, "terminals.count"),
        ({"terminals": {"pitch": 0.5, "pad": 0.5}}, "terminals.pitch"),
        ({"board": {"outline": "none"}}, "tail"),
        ({"tail": {"leads": "above", "lead_spacing": 1}}, "tail.lead_spacing"),
        ({"stiffener": [{"thickness": 0.2, "place": "top"}]}, "stiffener 1.place"),
        ({"stiffener": [{"thickness": 0.2, "length": 30}]}, "stiffener 1.length"),
        ({"stiffener": [{"thickness": 0.2, "beneath": [1, 1, 0, 2]}]}, "stiffener 1.beneath"),
        ({"stiffener": [{"thickness": 0.2, "beneath": "winding", "length": 3}]}, "stiffener 1.length"),
        ({"bend": [{"at": 24, "radius": 3}]}, "bend 1.at"),
        ({"bend": [{"at": 12, "radius": 30}]}, "bend 1.radius"),
        ({"bend": [{"at": 9, "radius": 3}], "board": {"stackup": "rigid-2-layer-0.8mm"}}, "bend 1"),
        ({"stiffener": [{"thickness": 1}], "board": {"stackup": "rigid-2-layer-0.8mm"}}, "stiffener 1"),
    ],
)
def test_what_does_not_go_together_is_told_by_its_key(more, key):
    found = faults(**more)
    assert key in [each for each, _ in found]


def test_a_stiffener_beside_the_board_is_told():
    ((key, says),) = faults(stiffener=[{"thickness": 0.2}, {"thickness": 0.2, "beneath": [7, -20, 9, -15]}])
    assert key == "stiffener 2.beneath"
    assert says.startswith("lies beside the board, which reaches over [")


def test_a_bend_is_told_where_it_may_be():
    ((_, says),) = faults(bend=[{"at": 1, "radius": 2.5}])
    low, high = (float(part) for part in says.split("give ")[1].removesuffix(" mm").split(" mm to "))
    for at in (low, high):
        coilgen.Design.from_tables(tables(bend=[{"at": at + (1e-5 if at == low else -1e-5), "radius": 2.5}]))


def test_a_bent_tail_is_told_as_flat():
    bent = checked(bend=[{"at": 10, "radius": 2.5}])
    assert any("reckoned flat" in caution for caution in bent.cautions)
    assert not any("reckoned flat" in caution for caution in checked().cautions)


@pytest.mark.parametrize("key", ["bend", "stiffener"])
def test_without_a_tail_there_is_nothing_to_bend_or_to_stiffen_at_its_end(key):
    given = tables(
        kind="surface-pad", **{key: [{"at": 5, "radius": 3} if key == "bend" else {"thickness": 1}]}
    )
    del given["tail"], given["terminals"]["lead_width"]
    with pytest.raises(coilgen.DesignError, match=rf"{key} 1"):
        coilgen.Design.from_tables(given)


def test_fingers_are_for_tails():
    given = tables()
    del given["tail"]
    with pytest.raises(coilgen.DesignError, match=r"terminals\.kind"):
        coilgen.Design.from_tables(given)


class TestWideLeads:
    """Leads without a tail widen toward their terminals, where they have room."""

    def made(self, **more):
        given = tables(kind="plated-hole", board={"stackup": "rigid-4-layer-1.6mm"}, **more)
        del given["tail"]
        return check(coilgen.Design.from_tables(given))

    @pytest.mark.parametrize("width", [0.1, 0.5, 1.2])
    @pytest.mark.parametrize(
        "more", [{}, {"layers": 3}, {"layers": 1, "winding": {"direction": "clockwise"}}]
    )
    def test_they_have_the_width_at_their_terminals_and_keep_every_rule(self, width, more):
        terminals = {"lead_width": width, "distance": 12}
        result = self.made(terminals=terminals, rules={"shop": "rigid-fine"}, **more)
        assert result.findings == ()
        coil = result.coil
        assert (coil.traces[0].width, coil.traces[-1].width) == (width * 1e-3, width * 1e-3)
        assert abs(coil.traces[0].path.start - coil.terminals[0].at) < 1e-9
        assert abs(coil.traces[-1].path.end - coil.terminals[1].at) < 1e-9
        for before, after in pairwise(coil.traces):
            assert abs(before.path.end - after.path.start) < 1e-9

    def test_the_copper_runs_as_without(self):
        wide, plain = (self.made(terminals={"lead_width": each, "distance": 12}) for each in (0.6, 0.15))
        lengths = [sum(trace.path.length for trace in each.coil.traces) for each in (wide, plain)]
        assert lengths[0] == pytest.approx(lengths[1], rel=1e-12)
        assert (len(wide.coil.traces), len(plain.coil.traces)) == (4, 2)

    def test_where_the_pads_stand_close_nothing_is_widened(self):
        assert len(self.made(terminals={"lead_width": 0.6}).coil.traces) == 2

    def test_layers_in_parallel_have_no_single_lead_to_a_hole(self):
        with pytest.raises(coilgen.DesignError, match="layers in parallel"):
            self.made(layers=3, winding={"connection": "parallel"})
        result = self.made(
            layers=3, winding={"connection": "parallel"}, terminals={"kind": "surface-pad", "distance": 14}
        )
        assert result.findings == ()
        assert result.coil.parallel == (2, 3, 4)


class TestOutlines:
    def test_an_offset_shifts_the_outline_and_keeps_the_coil(self):
        given = tables()
        del given["tail"], given["terminals"]
        given["board"] |= {"outline": "rectangle", "width": 20, "height": 18, "offset": [2, -1]}
        result = check(coilgen.Design.from_tables(given))
        assert result.findings == ()
        low, high = extent(result.art.outline)
        assert (low, high) == (pytest.approx(-8e-3 - 10e-3j), pytest.approx(12e-3 + 8e-3j))

    @pytest.mark.parametrize("outline", ["round", "square", "rectangle"])
    def test_a_size_left_open_holds_the_copper_about_the_offset(self, outline):
        given = tables()
        del given["tail"], given["terminals"]
        given["board"] |= {"outline": outline, "offset": [1, 2]}
        result = check(coilgen.Design.from_tables(given))
        assert result.findings == ()
        assert abs(sum(extent(result.art.outline)) / 2 - (1e-3 + 2e-3j)) < 1e-9

    def test_hollow_corners_take_what_round_ones_leave(self):
        """Of a right angle a quarter disc's complement, (1 - pi/4) r²."""
        ell = [0j, 4 + 0j, 4 + 1j, 1 + 1j, 1 + 4j, 4j]
        path = filleted(ell, [0, 0, 0, 0.5, 0, 0])
        assert path.closed
        assert path.swept_area == pytest.approx(7 + 0.25 * (1 - math.pi / 4))
        assert filleted(ell, [0.3] * 6).swept_area == pytest.approx(7 - 4 * 0.09 * (1 - math.pi / 4))

    @pytest.mark.parametrize("root", [0.0, 0.4, 1.5])
    def test_a_circle_with_a_strip_is_their_union_with_rounded_roots(self, root):
        path = circle_with_strip(1 + 1j, 5.0, (0.0, 3.0), -12.0, root, 0.0)
        import shapely

        union = shapely.Point(1, 1).buffer(5.0, quad_segs=128).union(shapely.box(0, -12, 3, 1))
        # A closing by a disc, (A + B) - B, fills the roots as arcs of its radius do.
        closed = union.buffer(root, quad_segs=128).buffer(-root, quad_segs=128) if root else union
        assert path.closed
        assert path.swept_area == pytest.approx(closed.area, rel=5e-5)
