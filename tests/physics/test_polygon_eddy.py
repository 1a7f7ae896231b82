"""Eddy currents of polygonal windings against an independent solve: sheet currents by a stream function on triangles.

The copper is a sheet of no thickness, J = curl of a stream function that steps by the current between a turn's two
edges; linear triangles, the sheet's own potential in closed form (D. R. Wilton et al., IEEE Trans. Antennas
Propag. 32(3), 1984) for near triangles, midpoints for far ones, dense complex solves.
"""

import numba
import numpy as np

from coilgen.physics.conductor import Conductor
from coilgen.physics.eddy_current import impedance

MU0_OVER_4PI = 1e-7
SOFTENING = np.exp(-1.5)
COPPER = 1.7241e-8


@numba.njit(cache=True)
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
        if s0 + s1 > 0:
            log = np.log((r1 + s1) / (r0 + s0))
        else:
            log = np.log((r0 - s0) / (r1 - s1))
        total += d * log
        total -= h * (np.arctan2(d * s1, q + h * r1) - np.arctan2(d * s0, q + h * r0))
    return total


@numba.njit(cache=True)
def assemble(nodes, heights, triangles, layer_z, curl, images, soft, out):
    """Adds the inductance matrix of all triangles with all images to out (nodes, nodes)."""
    count = len(triangles)
    third = np.array([[2 / 3, 1 / 6, 1 / 6], [1 / 6, 2 / 3, 1 / 6], [1 / 6, 1 / 6, 2 / 3]])
    middle = np.empty((count, 2))
    area = np.empty(count)
    size = np.zeros(count)
    for i in range(count):
        c = nodes[triangles[i]]
        middle[i] = (c[0] + c[1] + c[2]) / 3
        area[i] = 0.5 * abs((c[1, 0] - c[0, 0]) * (c[2, 1] - c[0, 1]) - (c[2, 0] - c[0, 0]) * (c[1, 1] - c[0, 1]))
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
    """Nodes of a four-sided patch, (len(along), len(across), 2); corners: start inner, start outer, end inner, outer."""
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


def sheet_impedance(grids, ends, images, sheet_resistance, soft, frequencies):
    """Complex impedance of strips in series; grids: (nodes (rows, columns, 2), height) of each strip, inner edge
    first. ends: whether the first and last rows carry uniform current; the images share the work."""
    nodes, triangles, z, fixed, value = [], [], [], [], []
    first = 0
    for grid, height in grids:
        rows, columns = grid.shape[:2]
        triangles.append(grid_triangles(rows, columns, first))
        z.append(np.full(len(triangles[-1]), height))
        nodes.append(grid.reshape(-1, 2))
        width = np.linalg.norm(grid - grid[:, :1], axis=2)
        uniform = 1.0 - width / width[:, -1:]
        held = np.zeros((rows, columns), dtype=bool)
        held[:, [0, -1]] = True
        if ends:
            held[[0, -1]] = True
        fixed.append(held.ravel())
        value.append(uniform.ravel())
        first += rows * columns
    nodes, triangles, z = np.vstack(nodes), np.vstack(triangles), np.concatenate(z)
    fixed, value = np.concatenate(fixed), np.concatenate(value)
    corner = nodes[triangles]
    edge = np.roll(corner, -2, axis=1) - np.roll(corner, -1, axis=1)
    signed = edge[:, 1, 0] * edge[:, 2, 1] - edge[:, 1, 1] * edge[:, 2, 0]
    double, turn = np.abs(signed), np.sign(signed)
    gradient = turn[:, None, None] * np.stack([-edge[..., 1], edge[..., 0]], axis=-1) / double[:, None, None]
    curl = np.stack([gradient[..., 1], -gradient[..., 0]], axis=-1)
    count = len(nodes)
    inductance, resistance = np.zeros((count, count)), np.zeros((count, count))
    assemble(nodes, z, triangles, z, curl, np.array(images), soft, inductance)
    local = np.einsum("tax,tbx->tab", curl, curl) * (0.5 * double * sheet_resistance)[:, None, None]
    np.add.at(resistance, (triangles[:, :, None], triangles[:, None, :]), local)
    inductance = 0.5 * (inductance + inductance.T)
    free = np.flatnonzero(~fixed)
    held = np.where(fixed, value, 0.0)
    out = []
    for frequency in frequencies:
        matrix = resistance + 2j * np.pi * frequency * inductance
        drive = matrix @ held
        x = np.linalg.solve(matrix[np.ix_(free, free)], -drive[free])
        out.append(len(images) * (held @ drive + drive[free] @ x))
    return np.array(out)
