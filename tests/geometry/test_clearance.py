"""The search for near pairs finds every near pair, and its gaps are exact."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.geometry.arc import Arc
from coilgen.geometry.clearance import Strokes, gaps, near_pairs, near_pairs_between
from coilgen.geometry.distance import pieces
from coilgen.geometry.line import Line

COORDINATE = st.floats(-10, 10).map(lambda x: round(x, 9))
POINT = st.builds(complex, COORDINATE, COORDINATE)
SWEEP = st.floats(0.1, math.pi / 2) | st.floats(-2 * math.pi, -0.1)
CENTRED_ARC = st.builds(
    Arc,
    st.builds(complex, st.floats(-0.3, 0.3).map(lambda x: round(x, 9))),
    st.floats(1, 9),
    st.floats(-7, 7),
    SWEEP,
)
ARC = st.builds(Arc, POINT, st.floats(0.1, 8), st.floats(-7, 7), SWEEP)
LINE = st.builds(Line, POINT, POINT).filter(lambda line: line.length > 1e-3)
SIDE = st.builds(
    lambda at, heading, length: Line(at, at + heading * length),
    POINT,
    st.sampled_from([1 + 0j, 1j, -1 + 0j, 0.5 + 0.75**0.5 * 1j, -0.5 + 0.75**0.5 * 1j]),
    st.floats(0.1, 9),
)
SHAPES = st.lists(CENTRED_ARC | ARC | LINE | SIDE | POINT, min_size=2, max_size=12)


def strokes(shapes, width=0.2, sheets=1):
    count = len(shapes)
    return Strokes(
        pieces=pieces(shapes), width=np.linspace(width / 2, width, count), sheet=np.arange(count) % sheets
    )


def all_pairs(count):
    return np.triu_indices(count, 1)


@given(SHAPES, st.floats(0.01, 6), st.integers(1, 3))
def test_every_pair_within_reach_is_found_once(shapes, reach, sheets):
    board = strokes(shapes, sheets=sheets)
    first, second = near_pairs(board, reach)
    found = list(zip(first.tolist(), second.tolist(), strict=True))
    every = gaps(board, board, all_pairs(len(shapes)))
    within = (every.value < reach) & (board.sheet[every.first] == board.sheet[every.second])
    near = every.where(within)
    assert len(set(found)) == len(found)
    assert set(zip(near.first.tolist(), near.second.tolist(), strict=True)) <= set(found)
    assert all(board.sheet[i] == board.sheet[j] and i < j for i, j in found)


@given(SHAPES, SHAPES, st.floats(0.01, 6))
def test_every_pair_between_two_sets_is_found(shapes, others, reach):
    one, two = strokes(shapes), strokes(others)
    first, second = np.divmod(np.arange(len(one) * len(two)), len(two))
    near = gaps(one, two, (first, second))
    near = near.where(near.value < reach)
    found = near_pairs_between(one, two, reach)
    assert set(zip(near.first.tolist(), near.second.tolist(), strict=True)) <= set(
        zip(found[0].tolist(), found[1].tolist(), strict=True)
    )


def test_a_gap_is_the_distance_less_the_two_half_widths_and_lies_between_the_edges():
    board = Strokes(
        pieces=pieces([Line(0j, 4 + 0j), 2 + 3j]), width=np.array([1.0, 2.0]), sheet=np.zeros(2, np.intp)
    )
    found = gaps(board, board, (np.array([0]), np.array([1])))
    assert found.value[0] == pytest.approx(1.5)
    assert found.at[0] == pytest.approx(2 + 1.25j)


def nest(turns, piece):
    shapes = [piece(k, quarter) for k in range(turns) for quarter in range(4)]
    return replace(strokes(shapes), width=np.full(4 * turns, 0.5))


def nested_arc(k, quarter):
    return Arc(0j, 10.0 + k, math.pi / 4 + quarter * math.pi / 2, math.pi / 2)


def nested_side(k, quarter):
    return Line((10 + k) * (1 - 1j) * 1j**quarter, (10 + k) * (1 + 1j) * 1j**quarter)


def nested_slanted_side(k, quarter):
    turn = complex(math.cos(quarter * math.pi / 3 + 0.2), math.sin(quarter * math.pi / 3 + 0.2))
    return Line((10 + k) * (1 - 0.5j) * turn, (10 + k) * (1 + 0.5j) * turn)


@pytest.mark.parametrize("piece", [nested_arc, nested_side, nested_slanted_side])
def test_the_number_of_pairs_looked_at_grows_with_the_number_of_turns(piece):
    few, many = (len(near_pairs(nest(turns, piece), 0.6)[0]) for turns in (20, 80))
    assert few >= 19 * 4
    assert many < 4.4 * few
    assert many < 80 * 4 * 4


def test_pieces_of_different_sheets_never_meet():
    board = Strokes(
        pieces=pieces([Line(0j, 1 + 0j)] * 3), width=np.ones(3), sheet=np.array([1, 2, 1], dtype=np.intp)
    )
    first, second = near_pairs(board, 1.0)
    assert (first.tolist(), second.tolist()) == ([0], [2])
