"""Eddy currents of polygonal windings against an independent solve: sheet currents by a stream function."""

import numpy as np
import pytest
from eddy_cases import change
from sheet_currents import COPPER, SOFTENING, graded, patch, sheet_impedance, strips_impedances

from coilgen.physics.base.conductor import Conductor
from coilgen.physics.eddy.current import error
from coilgen.physics.eddy.neighbours import alike, local_turns
from coilgen.physics.eddy.turns import turns_and_parts

POLYGON_BAND = 0.08


def symmetry(sides):
    """Rotations and reflections of a regular polygon."""
    out = []
    for k in range(sides):
        c, s = np.cos(2 * np.pi * k / sides), np.sin(2 * np.pi * k / sides)
        out += [np.array([[c, -s], [s, c]]), np.array([[c, s], [s, -c]])]
    return out


def strip_corners(inner, outer, slope):
    return np.array([[inner, 0.0], [outer, 0.0], [inner, inner * slope], [outer, outer * slope]])


def rings_impedance(sides, apothems, heights, width, frequencies, *, across=10, along=7):
    """Closed polygons in series: half a side of each is solved for, the rest are its images."""
    ratio = 1.4 ** np.arange(along)[::-1]
    lengthwise = np.append(0.0, np.cumsum(ratio)) / ratio.sum()
    slope = np.tan(np.pi / sides)
    edges = [strip_corners(a - 0.5 * width, a + 0.5 * width, slope) for a in apothems]
    grids = [(patch(edge, lengthwise, graded(across, 1.4)), z) for z in heights for edge in edges]
    return sheet_impedance(grids, images=symmetry(sides), frequencies=frequencies, **SHEET)


def spiral_impedance(conductor, frequencies):
    """The conductor's own spirals in series, solved for as they are."""
    return strips_impedances(conductor, frequencies)[0].sum(axis=(1, 2))


MM = 1e-3
THICKNESS = 20e-6
SHEET = {"sheet_resistance": COPPER / THICKNESS, "soft": SOFTENING * THICKNESS}
FREQUENCIES = np.array([0.0, 2e3, 1e6, 3e6])


def winding(runs, heights, width):
    """Conductor of polygons' vertices, one run after another; equal heights are one layer."""
    pieces = [len(run) - 1 for run in runs]
    count = sum(pieces)
    z = np.repeat(heights, pieces)
    return Conductor(
        start=np.vstack([run[:-1] for run in runs]),
        end=np.vstack([run[1:] for run in runs]),
        centre=np.full((count, 2), np.nan),
        sweep=np.zeros(count),
        width=np.full(count, width),
        thickness=np.full(count, THICKNESS),
        z=z,
        layer=np.unique(-z, return_inverse=True)[1] + 1,
    )


def closed_polygon(sides, apothem):
    angle = np.pi / sides * (2 * np.arange(sides + 1) - 1)
    angle[-1] = angle[0]
    return apothem / np.cos(np.pi / sides) * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def polygon_spiral(sides, turns, apothem, pitch):
    angle = 2 * np.pi * np.arange(-1, sides * turns + 1) / sides
    normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    distance = apothem + pitch * np.arange(-1, sides * turns + 1) / sides
    return np.array(
        [np.linalg.solve(normal[k : k + 2], distance[k : k + 2]) for k in range(sides * turns + 1)]
    )


def chamfered_triangle(turns, apothem, pitch, chamfer):
    """Spiral of three sides and three chamfers, which lie twice as far apart from turn to turn."""
    place = np.arange(-1, 6 * turns + 1)
    angle = np.pi / 3 * place
    normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    side = apothem + pitch * place / 6
    distance = np.where(place % 2 == 0, side, 2 * side - chamfer)
    return np.array([np.linalg.solve(normal[k : k + 2], distance[k : k + 2]) for k in range(6 * turns + 1)])


def compare(conductor, reference, band=POLYGON_BAND):
    """Rise of the resistance and fall of the inductance over the reference's, (2, frequencies - 1)."""
    assert error(conductor) <= band
    added, omega = change(conductor, COPPER, FREQUENCIES)[1:], 2 * np.pi * FREQUENCIES[1:]
    fall, sheet_fall = added.imag / omega, reference.imag[1:] / omega
    resistance = added.real / (reference.real[1:] - reference.real[0])
    return resistance, (fall - fall[0])[1:] / (sheet_fall - sheet_fall[0])[1:]


HELD = {
    "square, 3 turns": (4, [2.0, 2.5, 3.0], 0.3, [0.0]),
    "square, 3 wide turns": (4, [3.0, 4.2, 5.4], 1.0, [0.0]),
    "square, 1 turn": (4, [2.0], 1.0, [0.0]),
    "square, 4 turns in a wide opening, 2 layers": (4, [8.0, 8.5, 9.0, 9.5], 0.3, [0.0, -0.3]),
    "square, 2 turns, 4 layers": (4, [2.5, 3.0], 0.3, [0.0, -0.2, -0.4, -0.6]),
    "hexagon, 5 turns": (6, [2.0, 2.6, 3.2, 3.8, 4.4], 0.4, [0.0]),
    "hexagon, 3 turns, 2 layers": (6, [3.0, 4.5, 6.0], 1.2, [0.0, -0.2]),
    "hexagon, 2 turns, 4 layers": (6, [3.0, 3.6], 0.4, [0.0, -0.2, -0.4, -0.6]),
}


@pytest.mark.parametrize(("sides", "apothems", "width", "heights"), HELD.values(), ids=HELD.keys())
def test_closed_polygons(sides, apothems, width, heights):
    reference = rings_impedance(
        sides, np.array(apothems) * MM, np.array(heights) * MM, width * MM, FREQUENCIES
    )
    runs = [closed_polygon(sides, a * MM) for _ in heights for a in apothems]
    conductor = winding(runs, np.repeat(heights, len(apothems)) * MM, width * MM)
    resistance, inductance = compare(conductor, reference)
    assert resistance == pytest.approx(1.0, abs=POLYGON_BAND)
    assert inductance == pytest.approx(1.0, abs=POLYGON_BAND)


def test_rings_of_many_sides_are_circles():
    """The reference itself, and the rings, where both are on known ground."""
    apothems = np.array([2.0, 2.5, 3.0]) * MM
    reference = rings_impedance(24, apothems, [0.0], 0.3 * MM, FREQUENCIES, across=16, along=1)
    circle = winding([closed_polygon(24, a) for a in apothems], np.zeros(3), 0.3 * MM)
    resistance, inductance = compare(circle, reference)
    assert resistance == pytest.approx(1.0, abs=0.03)
    assert inductance == pytest.approx(1.0, abs=0.03)


SPIRALS = {
    "square, 3 turns": (4, 3, 1.8125, 0.5, 0.3, [0.0]),
    "square, 2 turns, mirrored layers": (4, 2, 2.5, 1.0, 0.7, [0.0, -0.2]),
}
LARGE_SPIRALS = {
    "hexagon, 2 turns, mirrored layers": (6, 2, 3.0, 1.0, 0.7, [0.0, -0.2]),
    "square, 3 wide turns, mirrored layers": (4, 3, 2.625, 1.5, 1.2, [0.0, -0.2]),
    "square, 4 turns, mirrored layers": (4, 4, 2.5, 0.6, 0.4, [0.0, -0.2]),
}


def check_spiral(sides, turns, apothem, pitch, width, heights):
    line = polygon_spiral(sides, turns, apothem * MM, pitch * MM)
    runs = [line if k % 2 == 0 else (line * [1, -1])[::-1] for k in range(len(heights))]
    conductor = winding(runs, np.array(heights) * MM, width * MM)
    resistance, inductance = compare(conductor, spiral_impedance(conductor, FREQUENCIES))
    assert resistance == pytest.approx(1.0, abs=POLYGON_BAND)
    assert inductance == pytest.approx(1.0, abs=POLYGON_BAND)


@pytest.mark.parametrize("spiral", SPIRALS.values(), ids=SPIRALS.keys())
def test_spirals(spiral):
    check_spiral(*spiral)


@pytest.mark.slow
@pytest.mark.parametrize("spiral", LARGE_SPIRALS.values(), ids=LARGE_SPIRALS.keys())
def test_large_spirals(spiral):
    check_spiral(*spiral)


CHAMFERED = (5, 1.2 * MM, 0.8 * MM, 0.5 * MM)
"""Moved to where they are at the chamfers, the inner rings of the turns' mean radii would have none."""


@pytest.mark.slow
def test_chamfers_that_stand_further_apart_than_the_turns():
    conductor = winding([chamfered_triangle(*CHAMFERED)], np.zeros(1), 0.5 * MM)
    resistance, inductance = compare(conductor, spiral_impedance(conductor, FREQUENCIES), band=0.12)
    assert resistance == pytest.approx(1.0, abs=0.03)
    assert inductance == pytest.approx(1.0, abs=0.03)


def test_rings_stand_where_the_turns_do_at_chamfers():
    conductor = winding([chamfered_triangle(12, 2.0 * MM, 0.8 * MM, 2.0 * MM)], np.zeros(1), 0.5 * MM)
    turns = turns_and_parts(conductor)
    for places in alike(turns):
        local, there = local_turns(turns, places)
        assert local.radius.min() >= local.width.min()
        assert np.diff(local.radius) == pytest.approx(
            np.diff(turns.shift[places[0]][there] + turns.radius[there])
        )
    assert np.isfinite(change(conductor, COPPER, FREQUENCIES)).all()
