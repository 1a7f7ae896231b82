"""Boards on shelves and in grids: none lies on another, all keep their gap and the largest size."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from coilgen.study.panel.packing import grid, shared_sides, shelves

SIDE = st.integers(5, 60).map(lambda side: side * 1e-3)
SIZES = st.lists(st.builds(complex, SIDE, SIDE), min_size=1, max_size=8)
GAP = st.sampled_from([0.0, 2e-3, 6e-3])
LARGEST = 0.25 + 0.2j


def apart(packed, sizes, gap):
    """Whether every board is inside, and keeps its gap to every other."""
    boxes = []
    for place, size in zip(packed.places, sizes, strict=True):
        half = complex(size.imag, size.real) / 2 if place.turned else size / 2
        boxes.append((place.middle - half, place.middle + half))
    inside = all(
        low.real > -1e-5
        and low.imag > -1e-5
        and high.real < packed.size.real + 1e-5
        and high.imag < packed.size.imag + 1e-5
        for low, high in boxes
    )
    return inside and all(
        max(b[0].real - a[1].real, a[0].real - b[1].real, b[0].imag - a[1].imag, a[0].imag - b[1].imag)
        > gap - 1e-5
        for a, b in combinations(boxes, 2)
    )


@given(SIZES, GAP)
def test_shelves_keep_boards_apart_and_within_the_largest_size(sizes, gap):
    packed = shelves(sizes, gap, LARGEST)
    if packed is not None:
        assert apart(packed, sizes, gap)
        assert packed.size.real <= LARGEST.real + 1e-9
        assert packed.size.imag <= LARGEST.imag + 1e-9


@given(SIDE, st.lists(st.tuples(SIDE, st.booleans()), min_size=1, max_size=8), GAP)
def test_a_grid_keeps_boards_that_share_a_side_apart(width, others, gap):
    sizes = [complex(other, width) if turned else complex(width, other) for other, turned in others]
    packed = grid(sizes, gap, 1 + 1j)
    assert shared_sides(sizes)
    assert packed is not None
    assert apart(packed, sizes, gap)


def test_boards_that_share_no_side_have_no_grid():
    assert grid([20e-3 + 30e-3j, 25e-3 + 31e-3j], 0.0, 1 + 1j) is None


def test_boards_lie_turned_where_that_makes_the_panel_smaller():
    packed = shelves([10e-3 + 40e-3j, 40e-3 + 10e-3j], 0.0, 0.05 + 0.05j)
    assert packed is not None
    assert {place.turned for place in packed.places} == {True, False}


def test_nothing_fits_a_panel_that_is_too_small():
    assert shelves([60e-3 + 60e-3j], 0.0, 0.05 + 0.05j) is None
