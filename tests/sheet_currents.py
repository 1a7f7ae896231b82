"""Independent solve of eddy currents: sheet currents by a stream function, for coils of any traces.

The copper is a sheet of no thickness, J the curl of a stream function that steps by the current between a
trace's edges; linear triangles, a near triangle's potential in closed form (D. R. Wilton et al., IEEE Trans.
Antennas Propag. 32(3), 1984), far ones by their middles, a dense complex solve each frequency. The
triangles cost it 1 to 3 % of the rise.
"""

import numba
import numpy as np

MU0_OVER_4PI = 1e-7
SOFTENING = np.exp(-1.5)
COPPER = 1.7241e-8
ARC = np.radians(15.0)


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
        log = np.log((r1 + s1) / (r0 + s0)) if s0 + s1 > 0 else np.log((r0 - s0) / (r1 - s1))
        total += d * log
        total -= h * (np.arctan2(d * s1, q + h * r1) - np.arctan2(d * s0, q + h * r0))
    return total


@numba.njit(cache=True)
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

    Otherwise as `sheet_impedances`.
    """
    one = [sheet_resistance] * len(grids)
    found = sheet_impedances(
        grids, images=images, sheet_resistance=one, soft=soft, frequencies=frequencies, open_ends=open_ends
    )
    return found.sum(axis=(1, 2))


def sheet_impedances(grids, *, images, sheet_resistance, soft, frequencies, open_ends=False):
    """Complex impedance matrix (frequencies, strips, strips) of strips.

    grids: (nodes (rows, columns, 2), height) of each strip, inner edge first. sheet_resistance: of each.
    open_ends: the first and last rows of each strip carry uniform current, else the images join them.
    """
    nodes, triangles, z, held, value, owner = mesh(grids, open_ends)
    curl, area = curls(nodes[triangles])
    inductance, resistance = np.zeros((2, len(nodes), len(nodes)))
    assemble(nodes, triangles, z, curl, np.array(images), soft, inductance)
    square = np.array(sheet_resistance)[owner[triangles[:, 0]]]
    local = np.einsum("tax,tbx->tab", curl, curl) * (area * square)[:, None, None]
    np.add.at(resistance, (triangles[:, :, None], triangles[:, None, :]), local)
    inductance = 0.5 * (inductance + inductance.T)
    free = np.flatnonzero(~held)
    rest = np.where(held, value, 0.0)[:, None] * (owner[:, None] == np.arange(len(grids)))
    out = []
    for frequency in frequencies:
        matrix = resistance + 2j * np.pi * frequency * inductance
        drive = matrix @ rest
        answer = np.linalg.solve(matrix[np.ix_(free, free)], drive[free])
        out.append(rest.T @ drive - drive[free].T @ answer)
    return len(images) * np.array(out)


def mesh(grids, open_ends):
    """Nodes, triangles, their heights, which nodes' stream function is held, its value there, their strip."""
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
    owner = np.repeat(np.arange(len(grids)), [len(each) for each in nodes])
    return *(np.concatenate(each) for each in (nodes, triangles, heights, held, value)), owner


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


def strips_impedances(conductor, frequencies, *, across=10, along=7, arc=ARC):
    """Impedance matrix (frequencies, runs, runs) of a conductor's runs, each of one layer, and the runs.

    Arcs as chords of this angle; each run is the numbers of its pieces.
    """
    runs = joined(conductor)
    thickness = np.array([conductor.thickness[run[0]] for run in runs])
    found = sheet_impedances(
        [(strip(conductor, run, across, along, arc), conductor.z[run[0]]) for run in runs],
        images=[np.eye(2)],
        sheet_resistance=COPPER / thickness,
        soft=SOFTENING * thickness.mean(),
        frequencies=frequencies,
        open_ends=True,
    )
    return found, runs


def joined(conductor):
    """Pieces of one layer that follow one another without a gap."""
    gap = np.linalg.norm(conductor.start[1:] - conductor.end[:-1], axis=1) > 1e-9
    return np.split(np.arange(len(gap) + 1), np.flatnonzero(gap | (np.diff(conductor.layer) != 0)) + 1)


def strip(conductor, run, across, along, arc):
    """Nodes (rows, columns, 2) over one run's copper, its bends mitred."""
    line, bent = chords(conductor, run, arc)
    width = conductor.width[run[0]]
    inner, outer = (parallel(line, side * 0.5 * width) for side in (-1, 1))
    corners = np.stack([inner[:-1], outer[:-1], inner[1:], outer[1:]], axis=1)
    length = np.linalg.norm(np.diff(line, axis=0), axis=1)
    count = np.where(bent, 2, np.clip(np.ceil(2.0 * length / width), 2, along)).astype(int)
    steps = [graded(n, 1.0 if b else 1.6) for n, b in zip(count, bent, strict=True)]
    parts = [patch(one, step, graded(across, 1.4)) for one, step in zip(corners, steps, strict=True)]
    return np.vstack([part[int(k > 0) :] for k, part in enumerate(parts)])


def chords(conductor, run, arc):
    """Vertices of a run, arcs as chords that keep their sector's area, and which steps are of arcs."""
    points, bent = [conductor.start[run[0]]], []
    for piece in run:
        sweep = conductor.sweep[piece]
        count = max(1, int(np.ceil(abs(sweep) / arc)))
        spoke = complex(*(conductor.start[piece] - conductor.centre[piece]))
        for k in range(1, count):
            turned = spoke * np.exp(1j * sweep * k / count)
            turned *= np.sqrt((sweep / count) / np.sin(sweep / count))
            points.append(conductor.centre[piece] + [turned.real, turned.imag])
        points.append(conductor.end[piece])
        bent += [sweep != 0.0] * count
    return np.array(points), np.array(bent)


def parallel(line, offset):
    """Vertices of the line moved to its right by the offset, mitred."""
    step = np.diff(line, axis=0)
    step /= np.linalg.norm(step, axis=1)[:, None]
    normal = np.stack([step[:, 1], -step[:, 0]], axis=1)
    both = normal[1:] + normal[:-1]
    mitre = both / (1.0 + (normal[1:] * normal[:-1]).sum(axis=1))[:, None]
    return line + offset * np.vstack([normal[:1], mitre, normal[-1:]])
