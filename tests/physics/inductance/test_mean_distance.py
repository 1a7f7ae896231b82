"""Mean distances of rectangles against published tables, quadrature and the laws of means."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.physics.inductance.mean_distance import FAR, geometric_mean_distance

sizes = st.floats(0.05, 3.0)
offsets = st.floats(-20.0, 20.0)


# T. R. Lyle, Phil. Trans. R. Soc. A 213, 1914, Table 1.
@pytest.mark.parametrize(
    ("ratio", "share"), [(0.0, 0.223130), (0.1, 0.223599), (0.25, 0.223686), (0.5, 0.223601), (1.0, 0.223525)]
)
def test_self_distance_of_a_rectangle_over_its_half_perimeter(ratio, share):
    # A section without thickness is given 5e-5 of its width, which shows in the fifth digit.
    accuracy = 1e-4 if ratio == 0.0 else 5e-6
    found = geometric_mean_distance(0.0, 0.0, 1.0, ratio, 1.0, ratio)
    assert found / (1.0 + ratio) == pytest.approx(share, rel=accuracy)


# H. M. Greenhouse, IEEE Trans. Parts, Hybrids, Packaging 10, 1974, and the mean logarithm in closed form.
@pytest.mark.parametrize(("ratio", "log"), [(2.0, 0.671167), (3.0, 1.089139), (5.0, 1.606078)])
def test_coplanar_strips(ratio, log):
    places = np.array([ratio + 1, ratio, ratio - 1])
    closed = np.array([0.5, -1.0, 0.5]) @ (places**2 * np.log(places)) - 1.5
    assert closed == pytest.approx(log, abs=1e-6)
    assert np.log(geometric_mean_distance(ratio, 0.0, 1.0, 0.0, 1.0, 0.0)) == pytest.approx(log, abs=1e-5)


@given(offsets, offsets, sizes, sizes, sizes, sizes)
def test_two_sections_see_each_other_alike(x, z, wa, ta, wb, tb):
    there = geometric_mean_distance(x, z, wa, ta, wb, tb)
    assert there == pytest.approx(float(geometric_mean_distance(-x, -z, wb, tb, wa, ta)), rel=1e-9)
    assert there == pytest.approx(float(geometric_mean_distance(z, x, ta, wa, tb, wb)), rel=1e-6)


@given(offsets, offsets, sizes, sizes, sizes, sizes, st.floats(1e-4, 1e3))
def test_scales_with_size(x, z, wa, ta, wb, tb, k):
    whole = geometric_mean_distance(k * x, k * z, k * wa, k * ta, k * wb, k * tb)
    assert whole == pytest.approx(k * float(geometric_mean_distance(x, z, wa, ta, wb, tb)), rel=1e-7)


@given(offsets, sizes, sizes)
def test_halves_average_to_the_whole(x, width, thickness):
    halves = [
        geometric_mean_distance(x + s * width / 4, 0.0, width / 2, thickness, 1.0, 0.5) for s in (-1, 1)
    ]
    whole = geometric_mean_distance(x, 0.0, width, thickness, 1.0, 0.5)
    assert np.mean(np.log(halves)) == pytest.approx(float(np.log(whole)), abs=3e-5)


@given(st.floats(0.0, 2.0 * np.pi), sizes, sizes, sizes, sizes)
def test_series_meets_the_exact_form_where_it_takes_over(angle, wa, ta, wb, tb):
    distance = FAR * max(wa + ta, wb + tb)
    inside, outside = (
        geometric_mean_distance(k * distance * np.cos(angle), k * distance * np.sin(angle), wa, ta, wb, tb)
        / k
        for k in (1.0 - 1e-9, 1.0 + 1e-9)
    )
    assert inside == pytest.approx(float(outside), rel=2e-5)
