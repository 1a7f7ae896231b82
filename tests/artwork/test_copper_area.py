"""Copper of a layer as areas, against closed forms of strokes and discs that overlap, cross or face."""

import math
from dataclasses import replace

import pytest
from boards import blank_art, mm, pad, straight

from coilgen.artwork.copper_area import CHORD_ERROR, copper_areas, copper_union, facing_area
from coilgen.geometry.region import region

ROUND_ENDS = math.pi / 4 * 0.3**2
SQUARE = mm**2


def of(net, *copper):
    return tuple(replace(each, net=net) for each in copper)


@pytest.mark.parametrize(
    ("copper", "area"),
    [
        ({"traces": (straight(0, 10),)}, 3.0 + ROUND_ENDS),
        ({"traces": (straight(-5, 5), straight(-5j, 5j))}, 2 * (3.0 + ROUND_ENDS) - 0.3**2),
        ({"pads": (pad(0), pad(3, 2.0))}, math.pi / 4 * (1 + 4)),
        ({"pads": (pad(0, 0.6), replace(pad(3), span=4 * mm))}, math.pi / 4 * (0.36 + 1) + 4),
        ({"traces": (straight(0, 10),), "pads": (pad(5, 0.3),)}, 3.0 + ROUND_ENDS),
        ({"traces": of("A", straight(-5, 5)) + of("B", straight(-5j, 5j))}, 2 * (3.0 + ROUND_ENDS) - 0.09),
    ],
)
def test_what_overlaps_counts_once(copper, area):
    board = blank_art(**copper)
    close = 2e-3 if board.traces else 1e-9  # round ends of traces are chords
    assert copper_areas(board)[0] == pytest.approx(area * SQUARE, rel=close)
    assert copper_union(board, 1).area == pytest.approx(copper_areas(board)[0], rel=1e-9)
    assert copper_areas(board)[1] == 0.0


@pytest.mark.parametrize("span", [0, 0.4, 9.0])
@pytest.mark.parametrize("size", [0.3, 1.8])
def test_chords_of_pads_keep_to_their_edges(span, size):
    """On both sides of it."""
    round_ = replace(pad(3, size), span=span * mm)
    found, exact = copper_union(blank_art(pads=(round_,)), 1), region(round_.path, 1e-8)
    assert found.boundary.hausdorff_distance(exact.exterior) < CHORD_ERROR


def test_a_trace_that_runs_over_its_own_beginning_counts_once():
    """Once round a square of 10 mm and half a side on: the ring between two squares, its corners round."""
    board = blank_art(traces=(straight(0, 10, 10 + 10j, 10j, 0, 5),))
    ring = 10.3**2 - 9.7**2 - 4 * 0.15**2 * (1 - math.pi / 4)
    assert copper_union(board, 1).area == pytest.approx(ring * SQUARE, rel=1e-3)
    assert copper_areas(board)[0] == pytest.approx(copper_union(board, 1).area, rel=1e-9)


def test_a_pad_shares_with_its_trace_what_lies_in_it():
    """A disc of 1 mm about the end of a strip of 0.3 mm: the strip adds what is beyond the disc."""
    half = math.asin(0.3)  # of the disc's arc within the strip, whose cap at the other end stays
    inside = 0.3 * 0.5 * math.cos(half) + 0.25 * (half - math.sin(half) * math.cos(half))
    board = blank_art(traces=(straight(0, 10),), pads=(pad(0),))
    area = math.pi / 4 + 3.0 - inside + ROUND_ENDS / 2
    assert copper_areas(board)[0] == pytest.approx(area * SQUARE, rel=2e-3)


def test_nets_face_one_another_where_both_are_grown_by_the_margin():
    traces = (*of("A", straight(-5, 5)), *of("B", straight(-5j, 5j, layer=2)))
    board = blank_art(traces=traces)
    for margin in (0.0, 0.2):
        crossed = (0.3 + 2 * margin) ** 2
        assert facing_area(board, 1, "A", "B", margin * mm) == pytest.approx(crossed * SQUARE, rel=1e-6)
