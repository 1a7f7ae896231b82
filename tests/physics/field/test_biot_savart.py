"""The winding's field: textbook loops and squares, magpylib's polylines, the laws any static field keeps."""

import os
import shutil
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import magpylib
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe, ellipk

import coilgen
from coilgen.physics.base.conductor import Conductor
from coilgen.physics.field.biot_savart import (
    SMALL_JOB,
    axis_flux_density,
    flux_density,
    flux_linkage,
    moment,
    path_flux_density,
    vector_potential,
)
from coilgen.physics.field.filaments import (
    Filaments,
    dipole_moment,
    filaments,
    lifted,
    refined,
    strands,
    together,
)
from coilgen.physics.field.kernel import flux_density_per_ampere
from coilgen.physics.field.potential_kernel import vector_potential_per_ampere
from coilgen.physics.field.strip_field import strips_flux_density, strips_vector_potential

MU0 = 4e-7 * np.pi


def loop(radius, *, z=0.0, width=1e-4, thickness=35e-6, parts=4, turn=1.0):
    angle = turn * 2 * np.pi * np.arange(parts + 1) / parts
    ring = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    n = np.ones(parts)
    return Conductor(
        start=ring[:-1],
        end=ring[1:],
        centre=np.zeros((parts, 2)),
        sweep=np.diff(angle),
        width=width * n,
        thickness=thickness * n,
        z=z * n,
        layer=np.ones(parts, dtype=np.int64),
    )


def polygon(vertices, *, z=0.0, width=1e-4, thickness=35e-6):
    """Straight pieces through the vertices (n, 2) in order; z may differ for each piece."""
    n = len(vertices) - 1
    return Conductor(
        start=vertices[:-1],
        end=vertices[1:],
        centre=np.full((n, 2), np.nan),
        sweep=np.zeros(n),
        width=np.full(n, width),
        thickness=np.full(n, thickness),
        z=np.broadcast_to(np.asarray(z, dtype=float), (n,)),
        layer=np.ones(n, dtype=np.int64),
    )


def spiral(turns=5, inner=2e-3, pitch=4e-4, layers=2, gap=1.5e-3, **copper):
    """Square-cornered spiral wound inward on one layer and outward on the next, as polylines."""
    angle = np.linspace(0, 2 * np.pi * turns, 24 * turns + 1)
    radius = inner + pitch * turns - pitch * angle / (2 * np.pi)
    first = radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    back = first[::-1] * [1.0, -1.0]
    plane = np.vstack([first, back[1:]]) if layers == 2 else first
    z = np.repeat([0.0, -gap], len(first) - 1) if layers == 2 else 0.0
    return polygon(plane, z=z, **copper)


def as_filament(path):
    return Filaments(
        start=path.start, end=path.end, width=0 * path.width, thickness=0 * path.thickness + 1e-9
    )


def random_points(count, spread, seed=1):
    return np.random.default_rng(seed).uniform(-spread, spread, (count, 3))


# Laws


def test_divergence_vanishes():
    path, h = filaments(spiral()), 2e-6
    points = random_points(40, 5e-3)
    steps = h * np.eye(3)
    field = [strips_flux_density(path, points + s) - strips_flux_density(path, points - s) for s in steps]
    divergence = sum(f[:, k] for k, f in enumerate(field)) / (2 * h)
    gradient = np.sqrt(sum((f / (2 * h)) ** 2 for f in field).sum(axis=1))
    clear = np.abs(points[:, 2]) > 3e-4
    assert np.all(np.abs(divergence[clear]) < 2e-3 * gradient[clear] + 1e-6)


@pytest.mark.parametrize("half", [1e-4, 5e-4, 2e-3])
def test_ampere_round_one_turn(half):
    """The circulation round the copper of one turn is mu0 I, whether the contour is close or far."""
    conductor = loop(8e-3, width=1.5e-4)
    nodes, weights = np.polynomial.legendre.leggauss(60)
    corners = np.array([[-half, -half], [half, -half], [half, half], [-half, half], [-half, -half]])
    total = 0.0
    for a, b in pairwise(corners):
        x, z = (0.5 * (a + b) + 0.5 * nodes[:, None] * (b - a)).T
        field = flux_density(conductor, np.column_stack([8e-3 + x, 0 * x, z]))[:, [0, 2]]
        total += 0.5 * weights @ (field @ (b - a))
    assert abs(total) == pytest.approx(MU0, rel=1e-3)


def test_the_link_closes_the_path():
    path = filaments(spiral(layers=1))
    assert np.allclose((path.end - path.start).sum(axis=0), 0, atol=1e-15)
    assert np.allclose(path.end[:-1], path.start[1:], atol=0)


@given(st.floats(0.1, 10.0))
@settings(max_examples=20, deadline=None)
def test_scaling_the_coil_up_scales_the_field_down(k):
    points = random_points(5, 6e-3, seed=3)
    small = strips_flux_density(filaments(spiral(width=2e-4)), points)
    path = filaments(spiral(width=2e-4))
    large = Filaments(
        start=k * path.start, end=k * path.end, width=k * path.width, thickness=k * path.thickness
    )
    assert np.allclose(strips_flux_density(large, k * points), small / k, rtol=1e-9, atol=1e-18)


def test_counterclockwise_points_up_and_clockwise_down():
    up, down = (axis_flux_density(loop(5e-3, turn=s), np.array([0.0]))[0, 2] for s in (1.0, -1.0))
    assert up > 0
    assert down == pytest.approx(-up, rel=1e-12)


def test_proportional_to_the_current():
    conductor, points = spiral(), random_points(4, 5e-3)
    assert np.allclose(flux_density(conductor, points, -2.5), -2.5 * flux_density(conductor, points))


@given(st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_finite_everywhere_even_on_the_copper(seed):
    """Points on centre lines, ends, edges and inside vias; bounded by the field at a lone trace's edge."""
    path = filaments(spiral(width=2e-4))
    rng = np.random.default_rng(seed)
    k = rng.integers(0, len(path.start), 6)
    t = rng.choice([0.0, 0.5, 1.0, rng.uniform()], 6)[:, None]
    points = path.start[k] + t * (path.end[k] - path.start[k])
    for field in (strips_flux_density(path, points), flux_density_per_ampere(path, points)):
        assert np.all(np.isfinite(field))
        assert np.all(np.linalg.norm(field, axis=1) < 3 * MU0 / 2e-4)


def test_field_is_the_curl_of_the_vector_potential():
    conductor, h = spiral(), 1e-5
    points = random_points(10, 3e-3, seed=5) + np.array([0, 0, 6e-3])
    grad = [
        (vector_potential(conductor, points + s) - vector_potential(conductor, points - s)) / (2 * h)
        for s in h * np.eye(3)
    ]
    curl = np.column_stack(
        [grad[1][:, 2] - grad[2][:, 1], grad[2][:, 0] - grad[0][:, 2], grad[0][:, 1] - grad[1][:, 0]]
    )
    field = flux_density(conductor, points)
    assert np.allclose(curl, field, atol=2e-4 * np.abs(field).max())


def test_mutual_inductance_is_reciprocal():
    first, second, offset = spiral(turns=3), loop(4e-3), np.array([1e-3, -5e-4, 3e-3])
    there, back = flux_linkage(first, second, offset), flux_linkage(second, first, -offset)
    assert there == pytest.approx(back, rel=2e-4)


def test_far_field_is_the_dipole_of_the_turn_area():
    conductor = spiral()
    m = moment(conductor)
    far = 0.4
    expected = 2e-7 * m[2] / far**3
    assert axis_flux_density(conductor, np.array([far - 0.75e-3]))[0, 2] == pytest.approx(expected, rel=1e-3)


# Values


@pytest.mark.parametrize(("z", "expected"), [(0, 62.8319), (5, 44.9588), (10, 22.2144), (20, 5.61985)])
def test_circular_loop_on_its_axis(z, expected):
    """mu0 I a^2 / 2 (a^2 + z^2)^(3/2); e.g. J. D. Jackson, Classical Electrodynamics, section 5.5."""
    field = axis_flux_density(loop(10e-3, width=1e-5), np.array([z * 1e-3]))[0]
    assert field[2] * 1e6 == pytest.approx(expected, rel=1e-5)
    assert np.abs(field[:2]).max() < 1e-6 * field[2]


@pytest.mark.parametrize(("z", "expected"), [(0.0, 56.56854), (10.0, 23.09401)])
def test_square_loop_on_its_axis(z, expected):
    """Four finite straight wires, textbook form: centre 2 sqrt(2) mu0 I / pi a."""
    corners = 10e-3 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [-1, -1]])
    field = axis_flux_density(polygon(corners), np.array([z * 1e-3]))[0, 2]
    assert field * 1e6 == pytest.approx(expected, rel=1e-4)


def test_hexagon_at_its_centre():
    """Apothem 10 mm, one ampere: 60 uT exactly (six finite straight wires, textbook form)."""
    angle = np.radians(30 + 60 * np.arange(7))
    corners = 10e-3 / np.cos(np.radians(30)) * np.column_stack([np.cos(angle), np.sin(angle)])
    field = axis_flux_density(polygon(corners, width=1e-5), np.array([0.0]))[0, 2]
    assert field * 1e6 == pytest.approx(60.0, rel=1e-6)


@pytest.mark.parametrize(("z", "expected"), [(0.0, 87.1034), (2.0, 77.0448), (10.0, 17.6267)])
def test_flat_ring_of_current(z, expected):
    """Annular sheet of one ampere from radius 5 to 10 mm, integral of the loop formula over the radius."""
    radii = 5e-3 + 5e-3 * (np.arange(50) + 0.5) / 50
    field = sum(axis_flux_density(loop(r), np.array([z * 1e-3]))[0, 2] for r in radii) / 50
    assert field * 1e6 == pytest.approx(expected, rel=1e-4)


def test_helmholtz_pair_is_flat_at_its_centre():
    """Centre field (4/5)^(3/2) mu0 I / R; its second derivative vanishes (Helmholtz's spacing)."""
    r = 10e-3
    pair = [loop(r, z=s * r / 2, width=1e-5) for s in (1.0, -1.0)]
    z = np.array([-1e-3, 0.0, 1e-3])
    field = sum(axis_flux_density(c, z)[:, 2] for c in pair)
    assert field[1] == pytest.approx(0.8**1.5 * MU0 / r, rel=1e-5)
    assert field[0] == pytest.approx(field[1], rel=2e-4)
    assert field[2] == pytest.approx(field[0], rel=1e-9)


def test_loop_off_its_axis():
    """Complete elliptic integrals (W. R. Smythe, Static and Dynamic Electricity), and magpylib's circle."""
    a, rho, z = 10e-3, 6e-3, 3e-3
    near, far = (a - rho) ** 2 + z**2, (a + rho) ** 2 + z**2
    k2 = 4 * a * rho / far
    scale = MU0 / (2 * np.pi * np.sqrt(far))
    along = scale * (ellipk(k2) + (a**2 - rho**2 - z**2) / near * ellipe(k2))
    outward = scale * z / rho * (-ellipk(k2) + (a**2 + rho**2 + z**2) / near * ellipe(k2))
    field = flux_density(loop(a, width=1e-5), np.array([[0.0, rho, z]]))[0]
    assert field[[1, 2]] == pytest.approx([outward, along], rel=2e-5)
    theirs = magpylib.current.Circle(diameter=2 * a, current=1).getB((0.0, rho, z))
    assert [outward, along] == pytest.approx(theirs[1:], rel=1e-9)


def test_strip_is_the_mean_of_many_filaments():
    """Above and beside a wide trace the closed form equals 400 filaments side by side."""
    wide = Filaments(
        start=np.array([[0, 0, 0.0]]),
        end=np.array([[8e-3, 0, 0]]),
        width=np.array([2e-3]),
        thickness=np.array([1e-6]),
    )
    across = (np.arange(400) + 0.5) / 400 * 2e-3 - 1e-3
    move = np.column_stack([0 * across, across, 0 * across])
    many = Filaments(
        start=wide.start + move, end=wide.end + move, width=np.zeros(400), thickness=np.full(400, 1e-9)
    )
    points = np.array([[4e-3, 3e-4, 2e-4], [1e-3, -1.2e-3, 5e-5], [7.9e-3, 1e-3, -3e-4], [9e-3, 0, 1e-4]])
    assert np.allclose(
        strips_flux_density(wide, points), strips_flux_density(many, points) / 400, rtol=1e-3, atol=1e-9
    )


def test_trace_of_finite_thickness_inside():
    """In the middle of a wide trace the field along it is zero; at its face near mu0 K / 2."""
    path = filaments(polygon(np.array([[-50e-3, 0], [50e-3, 0]]), width=1e-3, thickness=50e-6), closed=False)
    field = strips_flux_density(path, np.array([[0, 0, z] for z in (-25e-6, 0.0, 25e-6)]))[:, 1]
    assert abs(field[1]) < 1e-9 * abs(field[0])
    assert field[2] == pytest.approx(-field[0], rel=1e-12)
    assert abs(field[2]) == pytest.approx(MU0 / 2e-3, rel=0.04)


def test_coaxial_loops():
    """a = 25 cm, b = 20 cm, 10 cm apart: 248.7874 nH (Rosa and Grover, 1912; NIST DLMF 19.34.5)."""
    large, small = loop(0.25, parts=16), loop(0.20, parts=16)
    assert flux_linkage(large, small, np.array([0, 0, 0.1])) * 1e9 == pytest.approx(248.7874, rel=5e-5)


# Against an independent code


def test_agrees_with_magpylib_on_random_points():
    path = as_filament(filaments(spiral(turns=4)))
    vertices = np.vstack([path.start, path.end[-1:]])
    points = random_points(300, 8e-3, seed=7)
    theirs = magpylib.current.Polyline(current=1.0, vertices=vertices).getB(points)
    scale = np.linalg.norm(theirs, axis=1)[:, None]
    for ours in (flux_density_per_ampere(path, points), strips_flux_density(path, points)):
        assert np.max(np.abs(ours - theirs) / scale) < 1e-9


def test_points_along_the_way_from_one_strip_to_another():
    """Nothing flows there, however exactly the point lies on it."""
    start, end = np.array([[0.0, 0, 0], [8e-3, 0, 0]]), np.array([[1e-3, 0, 0], [9e-3, 1e-3, 0]])
    told = {"width": np.full(2, 1e-4), "thickness": np.full(2, 1e-5)}
    points = np.column_stack([np.linspace(2e-3, 7e-3, 501), np.zeros(501), np.zeros(501)])
    field = strips_flux_density(Filaments(start=start, end=end, **told), points)
    each = [
        strips_flux_density(
            Filaments(
                start=start[k : k + 1],
                end=end[k : k + 1],
                width=told["width"][:1],
                thickness=told["thickness"][:1],
            ),
            points,
        )
        for k in range(2)
    ]
    assert field == pytest.approx(sum(each), rel=1e-9, abs=1e-15)


def test_kernel_and_numpy_routes_agree():
    conductor = spiral(width=2e-4)
    path = filaments(conductor)
    points = np.vstack([random_points(400, 3e-3), random_points(200, 30e-3), path.start[:50]])
    assert np.allclose(
        flux_density_per_ampere(path, points), strips_flux_density(path, points), rtol=1e-10, atol=1e-15
    )
    many = np.tile(points, (1 + SMALL_JOB // (len(points) * len(path.start)), 1))
    assert len(many) * len(path.start) > SMALL_JOB
    assert np.array_equal(flux_density(conductor, many)[:650], flux_density(conductor, many)[650:1300])


def test_brisk_fields_are_right_to_3e_5_far_off_beside_and_on_the_copper():
    """Beside a wide winding of fine traces too, where squares of distances cancel most."""
    rng = np.random.default_rng(11)
    wide = filaments(spiral(turns=40, pitch=1.2e-3, width=1e-4))
    beside = wide.start[rng.integers(0, len(wide.start), 300)] + rng.normal(0.0, 3e-4, (300, 3))
    for points in (beside, wide.start[:100], random_points(200, 40e-3), random_points(100, 400e-3)):
        exact, brisk = (path_flux_density(wide, points, brisk=which) for which in (False, True))
        off = np.linalg.norm(brisk - exact, axis=1)
        assert 0.0 < off.max() < 3e-5 * np.linalg.norm(exact, axis=1).max()


def test_brisk_fields_along_the_way_from_one_strip_to_another():
    start, end = np.array([[0.0, 0, 0], [8e-3, 0, 0]]), np.array([[1e-3, 0, 0], [9e-3, 1e-3, 0]])
    path = Filaments(start=start, end=end, width=np.full(2, 1e-4), thickness=np.full(2, 1e-5))
    points = np.column_stack([np.linspace(1e-3, 8e-3, 701), np.zeros(701), np.zeros(701)])
    assert strips_flux_density(path, points, brisk=True) == pytest.approx(
        strips_flux_density(path, points), rel=1e-4, abs=1e-10
    )


def test_kernel_and_numpy_have_the_same_vector_potential():
    path, points = filaments(loop(5e-3)), np.random.default_rng(7).uniform(-9e-3, 9e-3, (300, 3))
    found, wanted = vector_potential_per_ampere(path, points), strips_vector_potential(path, points)
    assert np.allclose(found, wanted, rtol=1e-9, atol=1e-9 * np.abs(wanted).max())


def test_broken_chains_of_strips():
    """Strips that do not follow one another add up one by one."""
    path = filaments(spiral())
    order = np.random.default_rng(2).permutation(len(path.start))
    shuffled = Filaments(
        start=path.start[order],
        end=path.end[order],
        width=path.width[order],
        thickness=path.thickness[order],
    )
    points = random_points(50, 6e-3)
    assert np.allclose(
        flux_density_per_ampere(shuffled, points), flux_density_per_ampere(path, points), rtol=1e-9
    )


@pytest.mark.parametrize("route", [flux_density_per_ampere, strips_flux_density, strips_vector_potential])
def test_conductors_side_by_side_share_the_current(route):
    """Fields, moments and halves of the strips are the sums of each conductor's, times its share."""
    upper, lower = (lifted(filaments(spiral(width=2e-4)), np.array([0, 0, z])) for z in (0.0, -0.4e-3))
    both = together((upper, lower), (0.7, 0.3))
    points = np.vstack([random_points(40, 6e-3), upper.start[:5]])
    expected = 0.7 * route(upper, points) + 0.3 * route(lower, points)
    assert np.allclose(route(both, points), expected, rtol=1e-9, atol=1e-15)
    assert np.allclose(
        route(refined(both, 0.1e-3), points),
        route(refined(upper, 0.1e-3), points) * 0.7 + route(refined(lower, 0.1e-3), points) * 0.3,
        rtol=1e-9,
        atol=1e-15,
    )
    assert np.allclose(dipole_moment(both), dipole_moment(upper), rtol=1e-9)
    for half, own in zip(strands(both), strands(upper), strict=True):
        assert np.allclose(half.start[: len(own.start)], own.start)
        assert np.array_equal(half.shares, 0.5 * both.shares)


# Chords, and how the module behaves


def test_chords_keep_the_turn_area_and_converge():
    ring = loop(10e-3)
    coarse, fine = filaments(ring, tolerance=2e-4), filaments(ring, tolerance=1e-6)
    for path in (coarse, fine):
        area = 0.5 * np.cross(path.start, path.end)[:, 2].sum()
        assert area == pytest.approx(np.pi * 1e-4, rel=1e-12)
    point = np.array([[2e-3, 1e-3, 4e-3]])
    rough, good = path_flux_density(coarse, point), path_flux_density(fine, point)
    assert np.allclose(rough, good, atol=1e-4 * np.linalg.norm(good))


def test_layers_are_joined_by_vertical_strips():
    path = filaments(spiral(layers=2, gap=1.5e-3), closed=False)
    step = path.end - path.start
    upright = np.abs(step[:, 2]) > 0
    assert upright.sum() == 1
    assert np.allclose(step[upright], [[0, 0, -1.5e-3]])


def test_an_empty_conductor_is_refused():
    empty = polygon(np.zeros((1, 2)))
    with pytest.raises(ValueError, match="at least one piece"):
        filaments(empty)
    with pytest.raises(ValueError, match="tolerance"):
        filaments(loop(1e-3), tolerance=0.0)


def test_axis_points_do_not_load_the_compiler():
    code = (
        "import sys, numpy as np\n"
        "from coilgen.physics.field.biot_savart import axis_flux_density\n"
        "assert 'numba' not in sys.modules and 'scipy' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


KERNEL_RUN = """
import numpy as np
from coilgen.physics.field.kernel import flux_density_per_ampere, add_filaments
from coilgen.physics.base.compiled import compilation_due
from coilgen.physics.field.filaments import Filaments
one = np.ones(1)
path = Filaments(start=np.zeros((1, 3)), end=np.array([[0.0, 1, 0]]), width=one * 1e-3, thickness=one * 1e-5)
due = compilation_due(add_filaments)
field = flux_density_per_ampere(path, np.array([[0.5, 0.5, 0.0]]))
print(due, repr(float(field[0, 2])), add_filaments.stats.cache_path)
"""


@pytest.mark.slow
def test_two_first_runs_at_once_share_one_cache(tmp_path):
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
    command = [sys.executable, "-c", KERNEL_RUN]
    both = [subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True) for _ in range(2)]
    first = [run.communicate()[0].split() for run in both]
    assert [run.returncode for run in both] == [0, 0]
    later = subprocess.run(
        command, env=environment, capture_output=True, text=True, check=True
    ).stdout.split()
    assert {line[1] for line in first} == {later[1]}
    assert later[0] == "False"
    assert later[2].startswith(str(tmp_path))


@pytest.mark.parametrize("home_is_writable", [True, False])
def test_runs_where_the_package_folder_cannot_be_written(tmp_path, home_is_writable):
    """A plain file in place of __pycache__ stops even the superuser; the user's cache folder serves instead.

    Without one either, a folder among temporary files.
    """
    package = tmp_path / "site" / "coilgen"
    shutil.copytree(Path(coilgen.__file__).parent, package, ignore=shutil.ignore_patterns("__pycache__"))
    for folder in {source.parent for source in (package / "physics").rglob("*.py")}:
        (folder / "__pycache__").touch()
    (tmp_path / "home").mkdir() if home_is_writable else (tmp_path / "home").touch()
    (tmp_path / "temporary").mkdir()
    environment = {k: v for k, v in os.environ.items() if k != "NUMBA_CACHE_DIR"}
    environment |= {
        "PYTHONPATH": str(package.parent),
        "HOME": str(tmp_path / "home"),
        "XDG_CACHE_HOME": str(tmp_path / "home" / "cache"),
        "TMPDIR": str(tmp_path / "temporary"),
    }
    command = [sys.executable, "-B", "-c", KERNEL_RUN]
    run = subprocess.run(command, env=environment, capture_output=True, text=True, check=True, cwd=tmp_path)
    due, field, folder = run.stdout.split()
    assert due == "True"
    assert float(field) < 0
    assert folder.startswith(str(tmp_path / ("home" if home_is_writable else "temporary")))
