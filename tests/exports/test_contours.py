"""Contours: on the level, closed or from border to border, round where the field is round."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from coilgen.exports.page._contours import contours


def between(grid: np.ndarray, x: float, y: float) -> float:
    """Bilinear value at a place of a grid of unit steps, rows along y."""
    i, j = min(int(x), grid.shape[1] - 2), min(int(y), grid.shape[0] - 2)
    u, v = x - i, y - j
    cell = grid[j : j + 2, i : i + 2]
    return float(np.array([1 - v, v]) @ cell @ np.array([1 - u, u]))


@given(arrays(float, (5, 6), elements=st.integers(-4, 4).map(float)), st.sampled_from([-1.5, 0.5, 2.5]))
@settings(max_examples=40)
def test_lie_on_the_level_and_end_at_the_border_or_where_they_began(grid, level):
    xs, ys = tuple(map(float, range(6))), tuple(map(float, range(5)))
    values = {(x, y): float(grid[int(y), int(x)]) for x in xs for y in ys}
    lines = contours(xs, ys, values, level)
    for line in lines:
        assert all(between(grid, x, y) == pytest.approx(level, abs=1e-9) for x, y in line)
        at_border = [x in (0.0, 5.0) or y in (0.0, 4.0) for x, y in (line[0], line[-1])]
        assert line[0] == line[-1] or all(at_border)
    over = grid > level
    changes = (over[1:] != over[:-1]).sum() + (over[:, 1:] != over[:, :-1]).sum()
    assert sum(len(line) - (line[0] == line[-1] and len(line) > 2) for line in lines) == changes


def test_of_a_cone_are_circles():
    xs = tuple(np.linspace(-1, 1, 41).tolist())
    (line,) = contours(xs, xs, {(x, y): float(np.hypot(x, y)) for x in xs for y in xs}, 0.6)
    assert line[0] == line[-1]
    assert np.hypot(*np.array(line).T) == pytest.approx(0.6, abs=1e-3)


def test_run_along_a_line_at_which_values_jump():
    """A disc of 1 over nothing: its edge is the contour of every level between, not steps of the grid."""
    xs = tuple(np.linspace(-1, 1, 21).tolist())
    values = {(x, y): float(np.hypot(x - 0.03, y) < 0.6) for x in xs for y in xs}
    angle = np.linspace(0, 2 * np.pi, 721)
    edge = tuple(zip((0.03 + 0.6 * np.cos(angle)).tolist(), (0.6 * np.sin(angle)).tolist(), strict=True))
    for level in (0.01, 0.5, 0.99):
        (line,) = contours(xs, xs, values, level, [edge])
        assert np.hypot(*(np.array(line) - [0.03, 0.0]).T) == pytest.approx(0.6, abs=1e-5)
