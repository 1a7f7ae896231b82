"""Corners as text, held against the shortest text of each number."""

import numpy as np
import pytest

from coilgen.exports.layout_files._corners import corners


def test_each_number_is_told_to_the_picometre_without_needless_zeros() -> None:
    places = np.random.default_rng(7).uniform(-0.04, 0.04, (2000, 2))
    places[:6] = [
        (0.0, -0.0),
        (1e-3, -2e-3),
        (0.0125, 0.5),
        (-99.0, 1e-6),
        (-2e-13, 0.1),
        (1e-7, 1.000000001),
    ]
    wanted = [round(value * 1e3, 9) + 0.0 for value in places.ravel().tolist()]
    lines = corners(places).splitlines()
    assert lines[1::2] == [repr(value) for value in wanted]
    assert lines[::2] == [" 10", " 20"] * len(places)


def test_no_exponent_is_written() -> None:
    assert corners([(1e-8, -1e-12)]) == " 10\n0.00001\n 20\n-0.000000001\n"


def test_what_is_beyond_a_hundred_metres_is_refused() -> None:
    with pytest.raises(ValueError, match="100 m"):
        corners([(0.0, 100.0)])
