"""Copper and holes against the board's edge and the pocket, both exact on arcs."""

import math
from dataclasses import replace

import pytest
from boards import blank_art, coil_of, hole, mm, pad, polygon_spiral, read_design, round_spiral, straight
from hypothesis import given
from hypothesis import strategies as st

from coilgen.artwork.art import NO_NET
from coilgen.geometry.closed import circle, rectangle, regular_polygon
from coilgen.rules import copper_to_edge, copper_to_pocket, hole_to_pocket

OUTLINES = [circle(22 * mm), rectangle(22 * mm, 24 * mm), rectangle(22 * mm, 22 * mm, 1 * mm)]


def check(module, **fields):
    art = blank_art(**fields)
    return list(module.RULE.check(read_design(), coil_of(art.traces), art))


def test_no_edge_no_finding():
    fields = {"traces": (straight(0, 50),), "holes": (hole(0),)}
    assert [*check(copper_to_edge, **fields), *check(copper_to_pocket, **fields)] == []
    assert check(hole_to_pocket, **fields) == []


@pytest.mark.parametrize("outline", OUTLINES)
def test_a_pad_at_the_limit_from_the_edge_passes_and_nearer_is_found(outline):
    assert check(copper_to_edge, outline=outline, pads=(pad(10.2),)) == []
    (found,) = check(copper_to_edge, outline=outline, pads=(pad(10.2 + 2e-6),))
    assert found.value == pytest.approx(0.3 * mm - 2e-9, abs=1e-12)
    assert found.at == pytest.approx(10.85 * mm, abs=1e-6)


@pytest.mark.parametrize("outline", OUTLINES)
@pytest.mark.parametrize("at", [10.6, 11.2, 30])
def test_copper_over_the_edge_or_beyond_it_is_found(outline, at):
    found = check(copper_to_edge, outline=outline, pads=(pad(at),))
    assert found[0].value == pytest.approx((10.5 - at) * mm, abs=1e-9)
    assert "over the board's edge" in found[0].says


@pytest.mark.parametrize("past", [-1e-10, 0.0, 1e-10])
def test_copper_that_ends_at_the_edge_does_not_reach_over_it_by_nothing(past):
    """Rounding puts it to either side by less than the files can show."""
    board = rectangle(21 * mm, 21 * mm)
    found = check(copper_to_edge, outline=board, pads=(pad(10 + past),))
    assert found[0].value == 0.0
    assert found[0].says.startswith("Copper is 0 mm from the board's edge, under 0.3 mm")


def test_a_trace_that_leaves_the_board_and_comes_back_is_found():
    (found, *_) = check(copper_to_edge, outline=circle(10 * mm), traces=(straight(4, 4 + 9j, -4 + 9j, -4),))
    assert found.value < 0


@pytest.mark.parametrize("apart", [2.0, 3.0])
def test_copper_at_the_limit_from_an_unplated_hole_passes_and_nearer_is_found(apart):
    """The pad's diameter is told by the pad; a plated hole has a ring, whose spacing is another rule's."""
    fields = {"pads": (pad(0, 0.6),), "outline": None}
    drill = 2 * (apart - 0.3 - 0.3)
    assert check(copper_to_edge, holes=(hole(apart, drill, plated=False),), **fields) == []
    (found,) = check(copper_to_edge, holes=(hole(apart, drill + 4e-6, plated=False),), **fields)
    assert found.value == pytest.approx(0.3 * mm - 2e-9, abs=1e-12)
    assert found.at == pytest.approx(apart * mm) and "from an unplated hole" in found.says
    assert check(copper_to_edge, holes=(hole(apart, drill + 1),), **fields) == []


def test_a_hole_through_turns_is_told_once_on_each_layer():
    spirals = (round_spiral(), round_spiral(layer=2))
    found = check(copper_to_edge, copper_layers=2, traces=spirals, holes=(hole(9.2, 3.0, plated=False),))
    assert [each.layer for each in found] == [1, 2]
    assert all("An unplated hole cuts through copper" in each.says and each.value < 0 for each in found)


@pytest.mark.parametrize("spiral", [round_spiral(), polygon_spiral()])
@pytest.mark.parametrize("outline", [circle(60 * mm), rectangle(60 * mm, 60 * mm), None])
def test_a_winding_in_the_middle_passes(spiral, outline):
    assert check(copper_to_edge, outline=outline, traces=(spiral,)) == []


def test_a_round_winding_in_a_round_board_keeps_its_difference_of_radii():
    spiral = round_spiral(turns=3, pitch=0.4)
    d = 0.4 * math.sqrt(2) / 8
    outermost = 10 + d + 0.15  # the first arc's centre lies d to the west, and it reaches past the south-west
    (found, *_) = check(copper_to_edge, outline=circle(2 * (outermost + 0.1) * mm), traces=(spiral,))
    assert 0.1 * mm <= found.value < 0.15 * mm


@given(st.floats(0, 2 * math.pi), st.floats(0.0, 0.29))
def test_a_hole_near_a_round_pocket_is_found_at_its_distance(angle, gap):
    at = complex(math.cos(angle), math.sin(angle)) * (3 + 0.15 + gap)
    (found,) = check(hole_to_pocket, pockets=(circle(6 * mm),), holes=(hole(at),))
    assert found.value == pytest.approx(gap * mm, abs=1e-9)


@pytest.mark.parametrize("pocket", [circle(6 * mm), regular_polygon(4, 6 * mm, 0.5 * mm)])
def test_holes_at_the_limit_from_the_pocket_pass_and_in_it_are_found(pocket):
    assert check(hole_to_pocket, pockets=(pocket,), holes=(hole(3.6),)) == []
    (found,) = check(hole_to_pocket, pockets=(pocket,), holes=(hole(1),))
    assert found.value == pytest.approx(-2.15 * mm)


def test_a_hole_near_the_pocket_is_mended_by_the_keys_of_its_own_table():
    """One of the designer's own, plated or not, knows no via.drill."""
    own = (replace(hole(2), net=NO_NET), hole(-2j, 3.2, plated=False))
    for drilled, key in ((hole(1), "via.drill"), (hole(1, terminal=2), "terminals.drill")):
        (found,) = check(hole_to_pocket, pockets=(circle(6 * mm),), holes=(drilled,))
        assert key in found.says
    found = check(hole_to_pocket, pockets=(circle(6 * mm),), holes=own)
    assert {each.at for each in found} >= {2 * mm, -2j * mm}
    assert all("hole.at" in each.says and "via" not in each.says for each in found)


@pytest.mark.parametrize("pocket", [circle(6 * mm), regular_polygon(6, 6 * mm, 0.5 * mm).reversed()])
def test_copper_outside_the_pocket_passes_and_near_it_is_found(pocket):
    far, near = pad(-3.8j), pad(-3.7j, layer=2)
    assert check(copper_to_pocket, pockets=(pocket,), pads=(far,)) == []
    (found,) = check(copper_to_pocket, pockets=(pocket,), pads=(far, near))
    assert (found.layer, found.value) == (2, pytest.approx(0.2 * mm))
    assert "pocket.size" in found.says


def test_copper_across_the_pocket_is_found():
    found = check(copper_to_pocket, pockets=(circle(6 * mm),), traces=(straight(-9, 9),))
    assert found[0].value < 0
    inside = check(copper_to_pocket, pockets=(circle(6 * mm),), traces=(straight(-1, 1),))
    assert inside[0].value == pytest.approx(-2.15 * mm)
