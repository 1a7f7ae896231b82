"""Image charges against the half space, the slab's infinite series, and Gauss's law across interfaces."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.physics.circuit.layered_dielectric import image_charges


def potential(images, a, b, x):
    """2 pi e0 times the potential at level a of 1 C/m on level b, up to a constant."""
    distance = np.hypot(np.asarray(x)[..., None], images.separation[a, b] + images.depth)
    return -np.sum(images.strength[a, b] * np.log(distance), axis=-1)


stacks = st.lists(
    st.tuples(st.floats(2e-5, 2e-3), st.floats(1.0, 10.0)), min_size=1, max_size=7
)  # thickness m, relative permittivity


@settings(max_examples=60, deadline=None)
@given(stack=stacks, shares=st.lists(st.floats(0.0, 1.0), min_size=1, max_size=5))
def test_images_total_the_charge_and_the_fit_is_close(stack, shares):
    faces = np.cumsum([0.0, *(thickness for thickness, _ in stack)])
    levels = np.round(np.array(shares) * faces[-1], 5)
    images = image_charges(levels, faces, [permittivity for _, permittivity in stack])
    assert np.allclose(images.strength.sum(axis=-1), 1.0, atol=1e-6)
    assert images.fit_error < 3e-4


@settings(max_examples=30, deadline=None)
@given(stack=stacks, share=st.floats(0.0, 1.0))
def test_potential_is_reciprocal(stack, share):
    faces = np.cumsum([0.0, *(thickness for thickness, _ in stack)])
    levels = [faces[0], round(share * faces[-1], 5), faces[-1] + 1e-4]
    images = image_charges(levels, faces, [permittivity for _, permittivity in stack])
    x = np.geomspace(1e-5, 1e-2, 7)
    for a in range(3):
        for b in range(a):
            assert potential(images, a, b, x) == pytest.approx(potential(images, b, a, x), rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(stack=stacks, share=st.floats(0.0, 1.0))
def test_a_stack_turned_upside_down_has_the_same_images(stack, share):
    faces = np.cumsum([0.0, *(thickness for thickness, _ in stack)])
    levels = np.array([-2e-4, round(share * faces[-1], 5), faces[-1] + 1e-4])
    relative = np.array([permittivity for _, permittivity in stack])
    images = image_charges(levels, faces, relative)
    turned = image_charges(-levels, -faces[::-1], relative[::-1])
    x = np.geomspace(1e-5, 1e-2, 7)
    for a in range(3):
        for b in range(3):
            assert potential(turned, a, b, x) == pytest.approx(potential(images, a, b, x), rel=1e-6)


def test_dielectric_of_permittivity_one_is_not_seen():
    images = image_charges([1e-4, 4e-4], [0.0, 2e-4, 1e-3], [1.0, 1.0])
    x = np.array([2e-5, 1e-4, 3e-3])
    for a, b in ((0, 0), (0, 1), (1, 1)):
        expected = -np.log(np.hypot(x, images.separation[a, b]))
        assert potential(images, a, b, x) == pytest.approx(expected, rel=1e-9)


def test_charge_above_a_deep_dielectric_has_the_half_spaces_image():
    """Image -(e - 1)/(e + 1) below the face (Smythe, Static and Dynamic Electricity, plane dielectric)."""
    height, relative = 1e-4, 5.0
    images = image_charges([height], [-10.0, 0.0], [relative])
    x = np.array([2e-5, 5e-5, 1e-4, 3e-4, 1e-3])
    expected = -np.log(x) + (relative - 1) / (relative + 1) * np.log(np.hypot(x, 2 * height))
    found = potential(images, 0, 0, x)
    assert found - found[0] == pytest.approx(expected - expected[0], abs=2e-4)


def test_charge_on_a_slabs_face_has_silvesters_series():
    """Images in both faces of a slab (Silvester, Proc. IEE 115(1), 1968: microstrip's multiple images)."""
    thickness, relative = 1.6e-3, 4.5
    k = (relative - 1) / (relative + 1)
    n = np.arange(1, 60)
    x = np.geomspace(1e-5, 0.05, 9)
    deeper = (k ** (2 * n) + k ** (2 * n - 1)) * np.log(np.hypot(x[:, None], 2 * n * thickness))
    expected = -2 / (1 + relative) * (np.log(x) + deeper.sum(axis=1))
    images = image_charges([0.0], [-thickness, 0.0], [relative])
    found = potential(images, 0, 0, x)
    assert found - found[-1] == pytest.approx(expected - expected[-1], abs=2e-4)


def test_gauss_law_round_a_box_across_interfaces():
    """The flux of D through a box whose faces lie in three dielectrics is the charge inside, not outside."""
    faces, relative = [-1e-3, 0.0, 1e-4], [4.5, 3.5]
    low, high, step = -4e-4, 3e-4, 1e-6
    inner = np.linspace(low, high, 141)[1::2]  # middles of 70 pieces of the upright sides, none on a face
    levels = [5e-5, low - step, low + step, high - step, high + step, *inner]
    images = image_charges(levels, faces, relative)
    here = np.array([4.5 if z < 0 else 3.5 if z < 1e-4 else 1.0 for z in inner])

    def flux(left, right):
        x = np.linspace(left, right, 2001)
        x = (x[1:] + x[:-1]) / 2
        across = (right - left) / x.size / (2 * step)
        down = 4.5 * across * np.sum(potential(images, 1, 0, x) - potential(images, 2, 0, x))
        up = 1.0 * across * np.sum(potential(images, 4, 0, x) - potential(images, 3, 0, x))
        sides = 0.0
        for x, sense in ((left, -1), (right, 1)):
            slope = [np.diff(potential(images, 5 + k, 0, [x - step, x + step]))[0] for k in range(inner.size)]
            sides -= sense * np.sum(here * slope) / (2 * step) * (high - low) / inner.size
        return (sides - down - up) / (2 * np.pi)

    assert flux(-5e-4, 8e-4) == pytest.approx(1.0, abs=3e-3)
    assert flux(2e-4, 9e-4) == pytest.approx(0.0, abs=3e-3)


@pytest.mark.parametrize(
    ("faces", "relative", "says"),
    [
        ([0.0, 1e-3], [4.5, 3.5], "one value between"),
        ([1e-3, 0.0], [4.5], "must rise"),
        ([0.0, 1e-3], [0.5], "1 or more"),
    ],
)
def test_wrong_stacks_are_refused(faces, relative, says):
    with pytest.raises(ValueError, match=says):
        image_charges([0.0], faces, relative)
