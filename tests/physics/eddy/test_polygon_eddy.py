"""Eddy currents of polygonal windings against an independent solve: sheet currents by a stream function.

The copper is a sheet of no thickness, J the curl of a stream function that steps by the current between a
turn's edges; linear triangles, a near triangle's potential in closed form (D. R. Wilton et al., IEEE Trans.
Antennas Propag. 32(3), 1984), far ones by their middles, a dense complex solve each frequency. The
triangles cost it 1 to 3 % of the rise.
"""

import numba
import numpy as np
import pytest

from coilgen.physics.base.conductor import Conductor
from coilgen.physics.eddy.current import impedance

MU0_OVER_4PI = 1e-7
SOFTENING = np.exp(-1.5)
COPPER = 1.7241e-8
POLYGON_BAND = 0.08


@numba.njit
def potential(px, py, h, corner):
    """Integral of 1/r over a triangle (3, 2), seen from (px, py) at height h > 0."""
    total = 0.0
    area = (corner[1, 0] - corner[0, 0]) * (corner[2, 1] - corner[0, 1])
    area -= (corner[2, 0] - corner[0, 0]) * (corner[1, 1] - corner[0, 1])
    turn = 1.0 if area > 0 else -1.0
    for k in range(3):
        ax, ay = corner[k]
        bx, by = corner[(k + 1) % 3]
        length = np.hypot(bx - ax, by - ay)
        ux, uy = (bx - ax) / length, (by - ay) / length
        s0 = (ax - px) * ux + (ay - py) * uy
        s1 = s0 + length
        d = turn * ((ax - px) * uy - (ay - py) * ux)
        q = d * d + h * h
        r0, r1 = np.sqrt(s0 * s0 + q), np.sqrt(s1 * s1 + q)
        log = np.log((r1 + s1) / (r0 + s0)) if s0 + s1 > 0 else np.log((r0 - s0) / (r1 - s1))
        total += d * log
        total -= h * (np.arctan2(d * s1, q + h * r1) - np.arctan2(d * s0, q + h * r0))
    return total


@numba.njit
def assemble(nodes, triangles, layer_z, curl, images, soft, out):
    """Adds the inductance matrix of all triangles with all images to out (nodes, nodes)."""
    count = len(triangles)
    third = np.array([[2 / 3, 1 / 6, 1 / 6], [1 / 6, 2 / 3, 1 / 6], [1 / 6, 1 / 6, 2 / 3]])
    middle = np.empty((count, 2))
    area = np.empty(count)
    size = np.zeros(count)
    for i in range(count):
        c = nodes[triangles[i]]
        middle[i] = (c[0] + c[1] + c[2]) / 3
        area[i] = 0.5 * abs(
            (c[1, 0] - c[0, 0]) * (c[2, 1] - c[0, 1]) - (c[2, 0] - c[0, 0]) * (c[1, 1] - c[0, 1])
        )
        for k in range(3):
            step = c[(k + 1) % 3] - c[k]
            size[i] = max(size[i], np.sqrt(step[0] ** 2 + step[1] ** 2))
    for i in range(count):
        c = nodes[triangles[i]]
        points = third @ c
        for j in range(count):
            h = np.sqrt((layer_z[i] - layer_z[j]) ** 2 + soft * soft)
            g = np.zeros((2, 2))
            for image in images:
                mx = image[0, 0] * middle[j, 0] + image[0, 1] * middle[j, 1]
                my = image[1, 0] * middle[j, 0] + image[1, 1] * middle[j, 1]
                apart = np.sqrt((middle[i, 0] - mx) ** 2 + (middle[i, 1] - my) ** 2 + h * h)
                if apart > 3.0 * (size[i] + size[j]) * 0.5:
                    value = area[i] * area[j] / apart
                else:
                    corner = nodes[triangles[j]] @ np.ascontiguousarray(image.T)
                    value = 0.0
                    for k in range(3):
                        value += potential(points[k, 0], points[k, 1], h, corner) * area[i] / 3
                sign = image[0, 0] * image[1, 1] - image[0, 1] * image[1, 0]
                g += sign * value * image
            for a in range(3):
                for b in range(3):
                    x = curl[i, a, 0] * (g[0, 0] * curl[j, b, 0] + g[0, 1] * curl[j, b, 1])
                    x += curl[i, a, 1] * (g[1, 0] * curl[j, b, 0] + g[1, 1] * curl[j, b, 1])
                    out[triangles[i, a], triangles[j, b]] += x * MU0_OVER_4PI


def patch(corners, along, across):
    """Nodes of a four-sided patch, (len(along), len(across), 2); its corners: start in, out, end in, out."""
    start = corners[0] + across[:, None] * (corners[1] - corners[0])
    end = corners[2] + across[:, None] * (corners[3] - corners[2])
    return start + along[:, None, None] * (end - start)


def grid_triangles(rows, columns, first):
    """Triangles of a grid of nodes, diagonals alternating."""
    out = []
    for i in range(rows - 1):
        for j in range(columns - 1):
            a = first + i * columns + j
            b, c, d = a + 1, a + columns, a + columns + 1
            out += [[a, b, c], [b, d, c]] if (i + j) % 2 else [[a, b, d], [a, d, c]]
    return np.array(out)


def sheet_impedance(grids, *, images, sheet_resistance, soft, frequencies, open_ends=False):
    """Complex impedance of strips in series at each frequency; the images of the strips share the work.

    grids: (nodes (rows, columns, 2), height) of each strip, inner edge first. open_ends: the first and last
    rows of each strip carry uniform current, else the images join them.
    """
    nodes, triangles, z, held, value = mesh(grids, open_ends)
    curl, area = curls(nodes[triangles])
    inductance, resistance = np.zeros((2, len(nodes), len(nodes)))
    assemble(nodes, triangles, z, curl, np.array(images), soft, inductance)
    local = np.einsum("tax,tbx->tab", curl, curl) * (area * sheet_resistance)[:, None, None]
    np.add.at(resistance, (triangles[:, :, None], triangles[:, None, :]), local)
    inductance = 0.5 * (inductance + inductance.T)
    free = np.flatnonzero(~held)
    rest = np.where(held, value, 0.0)
    out = []
    for frequency in frequencies:
        matrix = resistance + 2j * np.pi * frequency * inductance
        drive = matrix @ rest
        out.append(rest @ drive - drive[free] @ np.linalg.solve(matrix[np.ix_(free, free)], drive[free]))
    return len(images) * np.array(out)


def mesh(grids, open_ends):
    """Nodes, triangles, their heights, which nodes' stream function is held, and its value there."""
    nodes, triangles, heights, held, value = [], [], [], [], []
    first = 0
    for grid, height in grids:
        rows, columns = grid.shape[:2]
        triangles.append(grid_triangles(rows, columns, first))
        heights.append(np.full(len(triangles[-1]), height))
        nodes.append(grid.reshape(-1, 2))
        across = np.linalg.norm(grid - grid[:, :1], axis=2)
        value.append((1.0 - across / across[:, -1:]).ravel())
        kept = np.zeros((rows, columns), dtype=bool)
        kept[:, [0, -1]] = True
        kept[[0, -1]] |= open_ends
        held.append(kept.ravel())
        first += rows * columns
    return tuple(np.concatenate(each) for each in (nodes, triangles, heights, held, value))


def curls(corner):
    """Current density (triangles, 3, 2) of each corner's unit stream function, and the triangles' areas."""
    edge = np.roll(corner, -2, axis=1) - np.roll(corner, -1, axis=1)
    double = edge[:, 1, 0] * edge[:, 2, 1] - edge[:, 1, 1] * edge[:, 2, 0]
    return edge / double[:, None, None], 0.5 * np.abs(double)


def graded(count, ratio):
    """Edges 0 ... 1 of cells that grow by this ratio from both ends."""
    half = ratio ** np.arange((count + 1) // 2)
    steps = np.append(half, half[: count // 2][::-1])
    return np.append(0.0, np.cumsum(steps)) / steps.sum()


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


def spiral_impedance(conductor, frequencies, *, across=10, along=7):
    """The conductor's own spirals, solved for as they are."""
    grids = []
    for layer in np.unique(conductor.layer):
        mine = conductor.layer == layer
        line = np.vstack([conductor.start[mine], conductor.end[mine][-1:]])
        inner, outer = (parallel(line, side * 0.5 * conductor.width[0]) for side in (-1, 1))
        corners = np.stack([inner[:-1], outer[:-1], inner[1:], outer[1:]], axis=1)
        parts = [
            patch(one, graded(along, 1.6), graded(across, 1.4))[int(k > 0) :] for k, one in enumerate(corners)
        ]
        grids.append((np.vstack(parts), conductor.z[mine][0]))
    return sheet_impedance(grids, images=[np.eye(2)], frequencies=frequencies, open_ends=True, **SHEET)


def parallel(line, offset):
    """Vertices of the line moved to its right by the offset, mitred."""
    step = np.diff(line, axis=0)
    step /= np.linalg.norm(step, axis=1)[:, None]
    normal = np.stack([step[:, 1], -step[:, 0]], axis=1)
    both = normal[1:] + normal[:-1]
    mitre = both / (1.0 + (normal[1:] * normal[:-1]).sum(axis=1))[:, None]
    return line + offset * np.vstack([normal[:1], mitre, normal[-1:]])


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


def compare(conductor, reference):
    """Rise of the resistance and fall of the inductance over the reference's, (2, frequencies - 1)."""
    found = impedance(conductor, COPPER, FREQUENCIES)
    assert found.band <= POLYGON_BAND
    length = np.linalg.norm(conductor.end - conductor.start, axis=1).sum()
    rise = (found.resistance_ratio - 1) * COPPER * length / (conductor.width[0] * THICKNESS)
    fall = found.inductance_change - found.inductance_change[1]
    sheet_fall = reference.imag[1:] / (2 * np.pi * FREQUENCIES[1:])
    resistance = rise[1:] / (reference.real[1:] - reference.real[0])
    return resistance, fall[2:] / (sheet_fall - sheet_fall[0])[1:]


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
