"""Gaps between copper that is not joined: exact on spirals, blind to what is joined, awake to what is not."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from boards import blank_art, hole, mm, pad, polygon_spiral, round_spiral, straight
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.artwork.copper_pieces import conductor_shares, copper
from coilgen.artwork.gaps import smallest_gap, unjoined_gaps
from coilgen.geometry.arc import Arc
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.layout.coil import Trace

NANOMETRE = 1e-9

SPIRALS = st.one_of(
    st.builds(round_spiral, turns=st.integers(2, 6), pitch=st.floats(0.45, 1.2)),
    st.builds(
        polygon_spiral,
        sides=st.sampled_from([3, 4, 6, 8]),
        turns=st.integers(2, 6),
        pitch=st.floats(0.45, 1.2),
    ),
)


@given(st.integers(2, 8), st.floats(0.45, 1.2), st.floats(0.1, 0.4))
def test_gap_of_a_round_spiral_is_pitch_less_width(turns, pitch, width):
    art = blank_art(traces=(round_spiral(turns=turns, pitch=pitch, width=width),))
    assert smallest_gap(art, 1) == pytest.approx((pitch - width) * mm, abs=NANOMETRE)


@given(st.sampled_from([4, 6, 8]), st.integers(2, 8), st.floats(0.45, 1.0), st.floats(0.1, 0.4))
def test_gap_of_a_polygon_spiral_is_pitch_less_width(sides, turns, pitch, width):
    art = blank_art(traces=(polygon_spiral(sides=sides, turns=turns, pitch=pitch, width=width),))
    assert smallest_gap(art, 1) == pytest.approx((pitch - width) * mm, abs=NANOMETRE)


@given(SPIRALS, st.booleans(), st.integers(0, 3))
def test_gap_is_kept_by_isometries_and_by_travelling_backwards(spiral, mirrored, quarters):
    moved = replace(spiral, path=spiral.path.moved(Isometry(mirrored, quarters)).reversed())
    assert smallest_gap(blank_art(traces=(moved,)), 1) == pytest.approx(
        smallest_gap(blank_art(traces=(spiral,)), 1), abs=NANOMETRE
    )


@given(SPIRALS, st.data())
def test_one_piece_moved_outward_closes_its_gap_by_as_much(spiral, data):
    """A side or arc of an inner turn, cut out and moved towards the turn outside it."""
    segments = spiral.path.segments
    place = data.draw(st.integers(len(segments) // 2 + 1, len(segments) - 2))
    shift = data.draw(st.floats(0.01, 0.1)) * mm
    piece = segments[place]
    if isinstance(piece, Arc):
        moved = replace(piece, radius=piece.radius + shift)
    else:
        outward = -1j * piece.start_heading * shift
        middle = (piece.start + piece.end) / 2
        start, end = middle + (piece.start - middle) / 4, middle + (piece.end - middle) / 4
        moved = Line(start + outward, end + outward)
    before = smallest_gap(blank_art(traces=(spiral,)), 1)
    rest = [Path(segments[:place]), Path((moved,)), Path(segments[place + 1 :])]
    art = blank_art(traces=tuple(Trace(layer=1, path=path, width=spiral.width) for path in rest))
    outer = [g for g in gaps_above(art, place) if g > 0]
    assert min(outer) == pytest.approx(before - shift, abs=NANOMETRE)


def gaps_above(art, moved):
    """Gaps between a piece, by its place, and those at least three before it in order: the turn outside."""
    board = copper(art)
    near = unjoined_gaps(board, 1.0 * mm)
    mine = (near.second == moved) & (near.first <= moved - 3)
    return near.value[mine].tolist()


@pytest.mark.slow
@settings(max_examples=30)
@given(SPIRALS)
def test_gaps_of_far_turns_equal_those_of_stroked_polygons(spiral):
    """Against shapely's distances of chords, piece by piece."""
    board = copper(blank_art(traces=(spiral,)))
    near = unjoined_gaps(board, 1.0 * mm)
    lines = [chords(segment) for segment in spiral.path.segments]
    expected = [
        shapely.distance(lines[i], lines[j]) - spiral.width
        for i, j in zip(near.first, near.second, strict=True)
    ]
    assert near.value == pytest.approx(expected, abs=2e-8)


def chords(segment):
    points = [segment.at(k / 500) for k in range(501)]
    return shapely.LineString([(point.real, point.imag) for point in points])


def test_layers_do_not_see_each_other():
    one, other = straight(0, 5, layer=1), straight(0.1j, 5 + 0.1j, layer=2)
    assert smallest_gap(blank_art(traces=(one, other)), 1) is None
    both = (one, replace(other, layer=1))
    assert smallest_gap(blank_art(traces=both), 1) == pytest.approx(-0.2 * mm, abs=NANOMETRE)


def test_a_layer_without_copper_or_with_one_piece_has_no_gap():
    assert smallest_gap(blank_art(), 1) is None
    assert smallest_gap(blank_art(traces=(straight(0, 5),)), 1) is None
    assert smallest_gap(blank_art(traces=(straight(0, 5),)), 2) is None


def test_far_apart_copper_still_has_its_gap():
    art = blank_art(traces=(straight(0, 1), straight(90, 91)))
    assert smallest_gap(art, 1) == pytest.approx(88.7 * mm)


@pytest.mark.parametrize("angle", [30, 60, 90, 120, 150])
def test_pieces_that_meet_through_a_bend_have_no_gap(angle):
    bend = complex(math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    art = blank_art(traces=(straight(0, 5, 5 + 5 * bend),))
    assert smallest_gap(art, 1) is None


def test_sides_of_a_hairpin_have_a_gap():
    art = blank_art(traces=(straight(0, 5, 5 + 1j, 1j),))
    assert smallest_gap(art, 1) == pytest.approx(0.7 * mm)


def test_sides_of_a_round_hairpin_have_a_gap():
    bend = Path(
        (
            Line(0j, 5 * mm + 0j),
            Arc((5 + 0.5j) * mm, 0.5 * mm, -math.pi / 2, math.pi),
            Line((5 + 1j) * mm, 1j * mm),
        )
    )
    art = blank_art(traces=(Trace(layer=1, path=bend, width=0.3 * mm),))
    assert smallest_gap(art, 1) == pytest.approx(0.7 * mm)


def test_a_jog_has_no_gap_but_two_hairpins_have():
    """Left then right: the trace moves on. Left twice and right twice: three runs face each other."""
    jog = straight(0, 5j, 0.4 + 5j, 0.4 + 10j, width=0.3)
    assert smallest_gap(blank_art(traces=(jog,)), 1) is None
    meander = straight(0, 5j, 1 + 5j, 1, 2, 2 + 5j)
    assert smallest_gap(blank_art(traces=(meander,)), 1) == pytest.approx(0.7 * mm)
    near = unjoined_gaps(copper(blank_art(traces=(meander,))), 1.8 * mm)
    assert {(0, 2), (2, 4), (0, 4)} <= set(zip(near.first.tolist(), near.second.tolist(), strict=True))


def test_a_trace_that_runs_back_over_itself_is_found():
    assert smallest_gap(blank_art(traces=(straight(0, 5, 2),)), 1) == pytest.approx(-0.3 * mm)


def test_traces_joined_end_to_end_are_one_run():
    art = blank_art(traces=(straight(0, 5), straight(5, 5 + 5j), straight(5 + 5j, 5j)))
    assert smallest_gap(art, 1) == pytest.approx(4.7 * mm)


def stub_board(stub, diameter=1.0):
    """A turn's side from west to east, then a stub north to a pad."""
    return blank_art(traces=(straight(-5, 0, 1j * stub),), pads=(pad(1j * stub, diameter),))


@pytest.mark.parametrize("gap", [0.1, 0.2, 0.35])
def test_a_pad_at_the_end_of_a_stub_keeps_its_distance_from_the_turn(gap):
    assert smallest_gap(stub_board(0.5 + gap + 0.15), 1) == pytest.approx(gap * mm, abs=NANOMETRE)


def test_a_pad_has_no_gap_to_the_trace_that_runs_to_it():
    assert smallest_gap(blank_art(traces=(straight(0, 5),), pads=(pad(5),)), 1) is None
    bent = blank_art(traces=(straight(0, 5, 5 + 1j),), pads=(pad(0),))
    assert smallest_gap(bent, 1) == pytest.approx(4.35 * mm)


def test_a_pad_joined_in_the_middle_of_a_trace_has_no_gap_to_either_side():
    assert smallest_gap(blank_art(traces=(straight(0, 5, 9),), pads=(pad(5),)), 1) is None


def test_a_pad_under_its_own_short_bend_has_no_gap():
    assert smallest_gap(blank_art(traces=(straight(0, 0.3, 0.3 + 4j),), pads=(pad(0),)), 1) is None


@pytest.mark.parametrize("aside", [0.0, 0.3, 0.6])
def test_a_via_on_a_trace_it_does_not_join_is_a_short(aside):
    art = blank_art(traces=(straight(0, 5, 5 + 5j),), pads=(pad(2 + 1j * aside),))
    assert smallest_gap(art, 1) == pytest.approx((aside - 0.65) * mm, abs=NANOMETRE)


def test_a_trace_that_ends_beside_a_vias_centre_is_a_short_but_on_a_terminal_is_joined():
    via = blank_art(traces=(straight(0, 5),), pads=(pad(5.2),))
    assert smallest_gap(via, 1) < 0
    terminal = blank_art(traces=(straight(0, 5),), pads=(pad(5.2, terminal=1),))
    assert smallest_gap(terminal, 1) is None


def test_a_barrel_without_a_pad_counts_with_its_own_diameter():
    art = blank_art(traces=(straight(-5, 5, layer=2),), pads=(pad(1j, layer=1),), holes=(hole(1j, 0.3),))
    assert smallest_gap(art, 2) == pytest.approx(0.7 * mm)
    unplated = replace(art, holes=(hole(1j, 0.3, plated=False),))
    assert smallest_gap(unplated, 2) is None


def test_a_pad_hidden_in_its_trace_has_no_gaps_of_its_own():
    fields = {"traces": (straight(-5j, 0, 1, 9, width=0.9),)}
    assert smallest_gap(blank_art(**fields, pads=(pad(1, 1.0),)), 1) == pytest.approx(0.05 * mm)
    assert smallest_gap(blank_art(**fields, pads=(pad(1, 0.9),)), 1) is None


def test_pads_apart_have_a_gap_even_on_one_trace():
    art = blank_art(traces=(straight(0, 1.2, 5),), pads=(pad(0), pad(1.2)))
    assert smallest_gap(art, 1) == pytest.approx(0.2 * mm)


def test_overlapping_pads_are_joined_only_along_a_straight_trace():
    pads = (pad(0), pad(0.8))
    along = blank_art(traces=(straight(0, 0.8, 5),), pads=pads)
    assert smallest_gap(along, 1) is None
    around = blank_art(traces=(straight(0, -3, -3 + 3j, 0.8 + 3j, 0.8),), pads=pads)
    assert smallest_gap(around, 1) < 0
    elsewhere = blank_art(
        traces=(straight(0, 0.8, 5, layer=2),), pads=(*pads, *(replace(each, layer=2) for each in pads))
    )
    assert smallest_gap(elsewhere, 1) is None


def test_gaps_about_some_strokes_are_those_of_all():
    art = blank_art(
        traces=(round_spiral(pitch=0.5), polygon_spiral(layer=2)),
        pads=(pad(9.6), pad(8.3j), pad(-9.9, layer=2), pad(-9, layer=2)),
    )
    board = copper(art)
    every = unjoined_gaps(board, 0.5 * mm)
    kept = every.where(board.disc[every.first] | board.disc[every.second])
    some = unjoined_gaps(board, 0.5 * mm, board.disc)
    assert len(some) > 4
    assert sorted(zip(some.first, some.second, some.value, strict=True)) == sorted(
        zip(kept.first, kept.second, kept.value, strict=True)
    )


def test_shares_grow_along_the_conductor_and_are_those_of_the_trace_at_a_pad():
    art = blank_art(
        traces=(straight(0, 6), straight(6, 6 + 2j, layer=2)), pads=(pad(0), pad(6), pad(6, layer=2), pad(9))
    )
    assert conductor_shares(copper(art)) == pytest.approx(
        [3 / 8, 7 / 8, 0, 6 / 8, 6 / 8, np.nan], nan_ok=True
    )


def test_smallest_gap_tells_whether_turns_touch_as_the_stroked_region_does():
    """Touching turns leave holes in the copper's outline; turns apart leave none."""
    for width, touching in ((0.3, False), (0.49, False), (0.51, True)):
        spiral = polygon_spiral(pitch=0.5, width=width)
        points = [spiral.path.start, *(segment.end for segment in spiral.path.segments)]
        stroked = shapely.LineString([(p.real, p.imag) for p in points]).buffer(spiral.width / 2)
        assert (smallest_gap(blank_art(traces=(spiral,)), 1) < 0) == touching
        assert (len(stroked.interiors) > 0) == touching
