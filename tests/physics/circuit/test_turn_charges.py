"""Turn-to-turn capacitances against surface charges on every interface, and against published strip lines."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipk

from coilgen.physics.circuit.capacitance import turn_capacitances
from coilgen.physics.circuit.layered_dielectric import VACUUM_PERMITTIVITY
from coilgen.physics.circuit.turn_charges import potential_matrix
from coilgen.physics.circuit.turn_section import checked_section, mirror_images


def two_layers(turns, width, spacing, shift=0.0):
    """Copper on both faces of a 0.2 mm laminate, 20 um of solder mask over it."""
    x = np.arange(turns) * (width + spacing)
    height = np.repeat([17.5e-6, -217.5e-6], turns)
    section = checked_section(
        height, np.concatenate([x, x + shift]), np.full(2 * turns, width), np.full(2 * turns, 35e-6)
    )
    return section, np.array([-255e-6, -200e-6, 0.0, 55e-6]), np.array([3.5, 4.5, 3.5])


@pytest.mark.parametrize("shift", [0.0, 1.1e-4])
def test_capacitances_agree_with_surface_charges_on_every_interface(shift):
    section, interfaces, permittivity = two_layers(3, 1.5e-4, 1.5e-4, shift)
    expected = surface_charge_capacitances(section, interfaces, permittivity)
    assert turn_capacitances(section, interfaces, permittivity) == pytest.approx(expected, rel=1.5e-2, abs=0)


def four_layers(turns, shift):
    """Copper on four levels of a laminate under solder mask, even about its middle; inner layers moved."""
    x = np.tile(np.arange(turns) * 3e-4, (4, 1)) + np.array([[0.0], [shift], [shift], [0.0]])
    height = np.repeat([2.75e-4, 1.1e-4, -1.1e-4, -2.75e-4], turns)
    thickness = np.repeat([35e-6, 15e-6, 15e-6, 35e-6], turns)
    section = checked_section(height, x.ravel(), np.full(4 * turns, 1.5e-4), thickness)
    planes = np.array([-3.2e-4, -2.575e-4, -1.1e-4, 1.1e-4, 2.575e-4, 3.2e-4])
    return section, planes, np.array([3.5, 4.0, 4.6, 4.0, 3.5])


@pytest.mark.parametrize("shift", [0.0, 4e-5])
def test_even_sections_by_halves_are_as_by_the_whole(shift):
    """Dielectrics a billionth apart leave no mirror image."""
    section, planes, relative = four_layers(5, shift)
    assert mirror_images(section, planes, relative) is not None
    uneven = relative * (1 + 1e-9 * np.arange(5))
    assert mirror_images(section, planes, uneven) is None
    whole = turn_capacitances(section, planes, uneven)
    by_halves = turn_capacitances(section, planes, relative)
    assert by_halves == pytest.approx(whole, rel=1e-6, abs=1e-6 * np.max(whole))


def test_mirror_images_lie_as_high_on_the_other_side():
    section, planes, relative = four_layers(3, 4e-5)
    mirror = mirror_images(section, planes, relative)
    assert section.height[mirror] == pytest.approx(-section.height)
    assert np.array_equal(section.position[mirror], section.position)
    assert mirror_images(section, planes + 1e-6, relative) is None
    moved = checked_section(
        section.height, section.position + 1e-6 * (section.height > 2e-4), section.width, section.thickness
    )
    assert mirror_images(moved, planes, relative) is None
    single = checked_section([0.0], [0.0], [1e-4], [35e-6])
    assert mirror_images(single, np.array([-1e-4, 1e-4]), np.array([4.0])) is None


def test_wide_copper_across_a_thin_film_agrees_with_surface_charges():
    """Where facing copper overlaps in part, the elements follow its edges."""
    height = [17.5e-6, 17.5e-6, -67.5e-6, -67.5e-6]
    section = checked_section(height, [0.0, 7e-4, 2.5e-4, 9.5e-4], [6e-4] * 4, [35e-6] * 4)
    interfaces, permittivity = np.array([-1e-4, 5e-5]), np.array([3.4])
    expected = surface_charge_capacitances(section, interfaces, permittivity, element=8e-6)
    found = turn_capacitances(section, interfaces, permittivity)
    assert found == pytest.approx(expected, rel=0, abs=1.5e-2 * np.max(expected))
    fine = turn_capacitances(section, interfaces, permittivity, 10)
    assert fine == pytest.approx(expected, rel=2e-2, abs=0)
    assert fine == pytest.approx(expected, rel=0, abs=3e-3 * np.max(expected))


@pytest.mark.parametrize("ratio", [0.2, 0.5, 1.0, 2.0])
def test_coplanar_strips_in_free_space(ratio):
    """C = e0 K(k')/K(k), k = s/(s + 2w), exact for thin strips (Wen, IEEE Trans. MTT 17(12), 1969)."""
    width, spacing = 1e-3, ratio * 1e-3
    section = checked_section([0.0, 0.0], [0.0, width + spacing], [width] * 2, [1e-6] * 2)
    k = spacing / (spacing + 2 * width)
    expected = VACUUM_PERMITTIVITY * ellipk(1 - k**2) / ellipk(k**2)
    assert turn_capacitances(section, [], [])[0, 0] == pytest.approx(expected, rel=4e-2, abs=0)
    assert turn_capacitances(section, [], [], 12)[0, 0] == pytest.approx(expected, rel=4e-3, abs=0)


@pytest.mark.parametrize("relative", [1.0, 4.5, 9.8])
@pytest.mark.parametrize("shape", [0.4, 1.0, 3.0, 10.0])
def test_strips_on_both_faces_of_a_slab_are_microstrips_back_to_back(shape, relative):
    """Two microstrips in series (Hammerstad and Jensen, IEEE MTT-S Digest 1980, with the
    constants that the library scikit-rf 1 has; 0.2 %)."""
    height, thickness = 8e-4, 8e-7
    z = height + thickness / 2
    section = checked_section([z, -z], [0.0, 0.0], [shape * height] * 2, [thickness] * 2)
    expected = microstrip_capacitance(shape, relative) / 2
    assert turn_capacitances(section, [-height, height], [relative])[0, 0] == pytest.approx(
        expected, rel=2e-2, abs=0
    )
    fine = turn_capacitances(section, [-height, height], [relative], 12)[0, 0]
    assert fine == pytest.approx(expected, rel=5e-3, abs=0)


def microstrip_capacitance(u, relative):
    """F/m of a thin strip, u = width over height above the ground plane."""
    f = 6 + (2 * np.pi - 6) * np.exp(-((30.666 / u) ** 0.7528))
    impedance = 376.730 / (2 * np.pi) * np.log(f / u + np.sqrt(1 + (2 / u) ** 2))
    a = 1 + np.log((u**4 + (u / 52) ** 2) / (u**4 + 0.432)) / 49 + np.log(1 + (u / 18.1) ** 3) / 18.7
    b = 0.564 * ((relative - 0.9) / (relative + 3)) ** 0.053
    effective = (relative + 1) / 2 + (relative - 1) / 2 * (1 + 10 / u) ** (-a * b)
    return effective / (299792458 * impedance)


def test_wide_strips_tend_to_parallel_plates():
    """C d/(e w) falls to 1, the fringe dying away as d/w ln(w/d) (Kirchhoff's edge correction)."""
    gap, relative = 1e-4, 4.5
    excess = []
    for width in (1e-3, 1e-2, 1e-1):
        section = checked_section([0.0, gap + 1e-6], [0.0, 0.0], [width] * 2, [1e-6] * 2)
        faces = [0.5e-6, 0.5e-6 + gap]
        plate = relative * VACUUM_PERMITTIVITY * width / gap
        excess.append(turn_capacitances(section, faces, [relative])[0, 0] / plate - 1)
    assert 0 < excess[2] < 2e-3
    assert 5 < excess[0] / excess[1] < 10
    assert 5 < excess[1] / excess[2] < 10


sections = st.lists(
    st.tuples(st.sampled_from([0, 1, 2]), st.floats(0.3, 0.9), st.floats(0.0, 1.0)), min_size=2, max_size=7
)  # layer, share of the pitch that is copper, where in the free rest it lies


def random_section(turns):
    pitch = 4e-4
    layer = np.array([turn[0] for turn in turns])
    width = pitch * np.array([turn[1] for turn in turns])
    loose = (pitch - width - 2e-5) * (np.array([turn[2] for turn in turns]) - 0.5)
    position = pitch * np.arange(len(turns)) + loose
    return checked_section(-3e-4 * layer, position, width, np.full(len(turns), 35e-6))


INTERFACES = np.array([-8e-4, -6.175e-4, 1.75e-5, 4e-5])
PERMITTIVITY = np.array([4.2, 4.2, 3.5])


@settings(max_examples=25, deadline=None)
@given(turns=sections)
def test_potential_matrix_is_symmetric_and_positive_definite(turns):
    matrix, owner = potential_matrix(random_section(turns), INTERFACES, PERMITTIVITY, 3)
    assert np.array_equal(np.unique(owner), np.arange(len(turns)))
    assert np.allclose(matrix, matrix.T, rtol=1e-7)
    assert np.linalg.eigvalsh(matrix)[0] > 0


@settings(max_examples=25, deadline=None)
@given(turns=sections, scale=st.floats(0.3, 5.0))
def test_capacitances_form_a_network_and_scale(turns, scale):
    """Charges sum to zero, partial capacitances are positive, and size does not matter per metre."""
    section = random_section(turns)
    matrix = turn_capacitances(section, INTERFACES, PERMITTIVITY)
    largest = np.max(matrix)
    assert np.allclose(matrix.sum(axis=1), 0.0, atol=1e-9 * largest)
    assert np.max(matrix - np.diag(np.diag(matrix))) < 1e-4 * largest
    assert np.linalg.eigvalsh(matrix)[0] > -1e-9 * largest
    larger = checked_section(
        section.height * scale, section.position * scale, section.width * scale, section.thickness * scale
    )
    scaled = turn_capacitances(larger, INTERFACES * scale, PERMITTIVITY)
    assert np.allclose(scaled, matrix, rtol=0, atol=2e-4 * largest)


@settings(max_examples=15, deadline=None)
@given(turns=sections)
def test_mirror_images_have_the_same_capacitances(turns):
    section = random_section(turns)
    matrix = turn_capacitances(section, INTERFACES, PERMITTIVITY)
    sideways = checked_section(section.height, -section.position, section.width, section.thickness)
    upside_down = checked_section(-section.height, section.position, section.width, section.thickness)
    assert np.allclose(
        turn_capacitances(sideways, INTERFACES, PERMITTIVITY), matrix, rtol=0, atol=1e-6 * np.max(matrix)
    )
    turned = turn_capacitances(upside_down, -INTERFACES[::-1], PERMITTIVITY[::-1])
    assert np.allclose(turned, matrix, rtol=0, atol=1e-6 * np.max(matrix))


def test_capacitance_grows_with_the_permittivity_of_any_dielectric():
    section, interfaces, permittivity = two_layers(4, 1.5e-4, 1.5e-4)
    voltage = np.linspace(0, 1, 8)

    def energy(relative):
        return voltage @ turn_capacitances(section, interfaces, relative) @ voltage

    for slab in range(3):
        more = permittivity.copy()
        more[slab] += 0.5
        assert energy(more) > energy(permittivity)


def test_finer_elements_raise_the_capacitance_to_a_limit():
    """A Galerkin solution stores no more charge than the exact one: refinement only adds, and converges."""
    section, interfaces, permittivity = two_layers(4, 3e-4, 1.5e-4, 1e-4)
    own = [turn_capacitances(section, interfaces, permittivity, n)[1, 1] for n in (2, 4, 8, 16)]
    steps = np.diff(own)
    assert np.all(steps > 0)
    assert steps[2] < steps[1] < steps[0]
    assert turn_capacitances(section, interfaces, permittivity)[1, 1] == pytest.approx(
        own[-1], rel=7e-3, abs=0
    )


# The reference: charges on the copper and on every interface, bound ones included, by collocation with
# free-space kernels only, so that no Green's function of the stack is used (Wei, Harrington, Mautz and
# Sarkar, IEEE Trans. Microwave Theory and Techniques 32(4), 1984). Interfaces end far from the copper.


def surface_charge_capacitances(section, interfaces, permittivity, *, element=1e-5, reach=8e-3):
    """Maxwell capacitance matrix of a floating coil, (n, n) F/m, copper resting on or within dielectrics."""
    pieces, owner, relative, jump = _pieces(section, interfaces, permittivity, element, reach)
    length, copper = pieces[2], owner >= 0
    count, turns = owner.size, len(section.height)
    system = np.zeros((count + 1, count + 1))
    potential, field = _potential(pieces), _upward_field(pieces)
    system[:count, :count] = np.where(copper[:, None], potential, jump[:, None] * field)
    bound = np.flatnonzero(~copper)
    system[bound, bound] = relative[bound]  # mean permittivity: the charge's own field is +-1/2
    system[:count, count] = np.where(copper, 1.0, 0.0)
    system[count, :count] = length
    driven = np.zeros((count + 1, turns))
    driven[np.flatnonzero(copper), owner[copper]] = 1.0
    charge = np.linalg.solve(system, driven)[:count] * (relative * length * copper)[:, None]
    matrix = np.zeros((turns, turns))
    np.add.at(matrix, owner[copper], charge[copper])
    return 8.8541878128e-12 * matrix


def _pieces(section, interfaces, permittivity, element, reach):
    rows = []  # x, z, length, upright, turn or -1, permittivity beside it (mean for an interface), jump
    bounded = np.concatenate([[1.0], permittivity, [1.0]])

    def beside(z):
        return bounded[np.searchsorted(interfaces, z)]

    for turn in range(len(section.height)):
        x, z = section.position[turn], section.height[turn]
        w, t = section.width[turn], section.thickness[turn]
        for middle, size in _graded(x - w / 2, x + w / 2, element):
            rows.append((middle, z - t / 2, size, 0, turn, beside(z - t / 2 - 1e-8), 0.0))
            rows.append((middle, z + t / 2, size, 0, turn, beside(z + t / 2 + 1e-8), 0.0))
        for middle, size in _graded(z - t / 2, z + t / 2, element):
            sides = (x - w / 2, x + w / 2)
            rows.extend((side, middle, size, 1, turn, beside(middle), 0.0) for side in sides)
    for face, height in enumerate(interfaces):
        under, over = bounded[face], bounded[face + 1]
        for middle, size in _free_pieces(section, height, element, reach):
            rows.append((middle, height, size, 0, -1, (under + over) / 2, over - under))
    table = np.array(rows)
    return table[:, :4].T, table[:, 4].astype(int), table[:, 5], table[:, 6]


def _graded(low, high, element):
    """Middles and sizes of pieces, finer to both ends."""
    count = max(6, int(np.ceil((high - low) / element)))
    edges = (low + high) / 2 - (high - low) / 2 * np.cos(np.pi * np.arange(count + 1) / count)
    return list(zip((edges[1:] + edges[:-1]) / 2, np.diff(edges), strict=True))


def _free_pieces(section, height, element, reach):
    """Pieces of an interface, clear of the copper that stands on it."""
    touching = np.abs(np.abs(section.height - height) - section.thickness / 2) < 1e-9
    gaps = sorted(
        (x - w / 2, x + w / 2)
        for x, w in zip(section.position[touching], section.width[touching], strict=True)
    )
    low, high = section.position.min() - 1e-3, section.position.max() + 1e-3
    edges = [low, *(edge for gap in gaps for edge in gap), high]
    pieces = [piece for a, b in zip(edges[::2], edges[1::2], strict=True) for piece in _graded(a, b, element)]
    outer = np.concatenate([[0.0], np.geomspace(1e-4, reach, 30)])
    for a, b in pairwise(outer):
        pieces += [(low - (a + b) / 2, b - a), (high + (a + b) / 2, b - a)]
    return pieces


def _along_across(pieces):
    x, z, length, upright = pieces
    dx, dz = x[:, None] - x[None, :], z[:, None] - z[None, :]
    along = np.where(upright[None, :] > 0, dz, dx)
    across = np.where(upright[None, :] > 0, dx, dz)
    return along + length / 2, along - length / 2, across


def _potential(pieces):
    right, left, across = _along_across(pieces)

    def integral(u):
        square = np.maximum(u**2 + across**2, 1e-300)
        return u * np.log(square) / 2 - u + np.abs(across) * np.arctan2(u, np.abs(across))

    return -(integral(right) - integral(left)) / (2 * np.pi)


def _upward_field(pieces):
    right, left, across = _along_across(pieces)
    seen = np.arctan2(right, np.abs(across)) - np.arctan2(left, np.abs(across))
    flat = np.sign(across) * seen / (2 * np.pi)
    upright = np.log((right**2 + across**2) / np.maximum(left**2 + across**2, 1e-300)) / (4 * np.pi)
    return np.where(pieces[3][None, :] > 0, upright, flat)
