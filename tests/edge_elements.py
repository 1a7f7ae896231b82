"""An independent solution for a conducting or permeable block near circles: edge elements in space.

The lowest elements of Nedelec on a mesh of lines x, y, z, reduced vector potential, one quarter of a block
that is the same on both sides of x = 0 and y = 0.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import splu
from scipy.special import ellipe, ellipk

MU0 = 4e-7 * np.pi
# A little mass in the air makes the potential there unique.
GAUGE = 3e-5


@dataclass(frozen=True)
class Block:
    """|x| < half[0], |y| < half[1], bottom < z < top, m; S/m; relative permeability."""

    half: tuple[float, float]
    bottom: float
    top: float
    conductivity: float
    permeability: float = 1.0


class Axis:
    """Lines of one axis with the masses of its hat functions and steps, of all and in the block."""

    def __init__(self, lines, low, high):
        width = np.diff(lines)
        middle = 0.5 * (lines[1:] + lines[:-1])
        self.lines, self.width, self.count = lines, width, len(width)
        self.inside = (middle > low) & (middle < high)
        first = np.arange(self.count)
        self.slope = sp.csr_matrix(
            (
                np.concatenate([-1 / width, 1 / width]),
                (np.tile(first, 2), np.concatenate([first, first + 1])),
            ),
            shape=(self.count, self.count + 1),
        )
        self.hats = {False: hats(width), True: hats(width * self.inside)}
        self.steps = {False: sp.diags(width), True: sp.diags(width * self.inside)}


def hats(width):
    ends = np.append(width, 0.0) / 3 + np.append(0.0, width) / 3
    return sp.diags([ends, width / 6, width / 6], [0, 1, -1])


def kron(*factors):
    out = factors[0]
    for factor in factors[1:]:
        out = sp.kron(out, factor, format="csr")
    return out


def curl(x, y, z):
    unit = {n: sp.identity(n, format="csr") for a in (x, y, z) for n in (a.count, a.count + 1)}
    nx, ny, nz = x.count, y.count, z.count
    return sp.bmat(
        [
            [None, -kron(unit[nx + 1], unit[ny], z.slope), kron(unit[nx + 1], y.slope, unit[nz])],
            [kron(unit[nx], unit[ny + 1], z.slope), None, -kron(x.slope, unit[ny + 1], unit[nz])],
            [-kron(unit[nx], y.slope, unit[nz + 1]), kron(x.slope, unit[ny], unit[nz + 1]), None],
        ],
        format="csr",
    )


def products(x, y, z, inside, along, across):
    """Mass of vectors whose own axis has functions `along` and the others `across`."""
    axes = (x, y, z)
    blocks = [
        kron(*(getattr(a, along if k == own else across)[inside] for k, a in enumerate(axes)))
        for own in range(3)
    ]
    return sp.block_diag(blocks, format="csr")


def circle_field(circles, points):
    """A and B (n, 3) of circles (radius, height) with one ampere each (textbook forms)."""
    px, py, pz = points.T
    r = np.maximum(np.hypot(px, py), 1e-7)
    potential, outward, upward = np.zeros_like(r), np.zeros_like(r), np.zeros_like(r)
    for a, height in circles:
        dz = pz - height
        far, near = (a + r) ** 2 + dz**2, (a - r) ** 2 + dz**2
        m = 4 * a * r / far
        first, second = ellipk(m), ellipe(m)
        potential += MU0 / (2 * np.pi * r) * np.sqrt(far) * ((1 - m / 2) * first - second)
        scale = MU0 / (2 * np.pi * np.sqrt(far))
        upward += scale * (first + (a * a - r * r - dz * dz) / near * second)
        outward += scale * dz / r * (-first + (a * a + r * r + dz * dz) / near * second)
    zero = np.zeros_like(r)
    return (
        np.column_stack([-py / r * potential, px / r * potential, zero]),
        np.column_stack([px / r * outward, py / r * outward, upward]),
    )


def added_inductances(block, circles, lines, frequencies):
    """Complex inductance (n,) H that the block adds to circles in series, at frequencies, Hz."""
    x, y = Axis(lines[0], -1.0, block.half[0]), Axis(lines[1], -1.0, block.half[1])
    z = Axis(lines[2], block.bottom, block.top)
    rise = (1 / block.permeability - 1) / MU0
    turn = curl(x, y, z)
    stiffness = turn.T @ products(x, y, z, False, "hats", "steps") @ turn / MU0
    if rise:
        stiffness = stiffness + rise * (turn.T @ products(x, y, z, True, "hats", "steps") @ turn)
    gauge = GAUGE / (MU0 * block.half[0] ** 2)
    stiffness = stiffness + gauge * products(x, y, z, False, "steps", "hats")
    damping = block.conductivity * products(x, y, z, True, "steps", "hats")
    own = edge_potentials(block, circles, (x, y, z))
    source, energy = face_source(block, circles, (x, y, z), rise)
    free = np.flatnonzero(np.concatenate([unheld(k, (x, y, z)) for k in range(3)]))
    stiffness, damping = stiffness[free][:, free], damping[free][:, free]
    own, source = own[free], source[free]
    found = []
    for frequency in frequencies:
        s = 2j * np.pi * frequency
        right = -(source + s * (damping @ own))
        factors = splu(
            (stiffness + s * damping).tocsc(),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        found.append(4 * (right @ factors.solve(right) - energy - s * (own @ (damping @ own))))
    return np.array(found)


def edge_shapes(axes):
    return [tuple(a.count + (k != own) for k, a in enumerate(axes)) for own in range(3)]


def unheld(own, axes):
    """Edges whose tangential potential is not 0 on the planes of symmetry and far off."""
    free = np.ones(edge_shapes(axes)[own], dtype=bool)
    for k in range(3):
        if k != own:
            for end in (0, -1):
                where = [slice(None)] * 3
                where[k] = end
                free[tuple(where)] = False
    return free.ravel()


def edge_potentials(block, circles, axes):
    """Mean of the circles' potential along every edge in and on the block, 0 elsewhere."""
    node, weight = np.polynomial.legendre.leggauss(3)
    out = []
    for own in range(3):
        ends = [0.5 * (a.lines[1:] + a.lines[:-1]) if k == own else a.lines for k, a in enumerate(axes)]
        points = np.stack(np.meshgrid(*ends, indexing="ij"), axis=-1).reshape(-1, 3)
        length = np.meshgrid(
            *[axes[own].width if k == own else np.ones(len(e)) for k, e in enumerate(ends)], indexing="ij"
        )[own].ravel()
        hair = 1e-9
        near = np.all(points[:, :2] < np.array(block.half) + hair, axis=1)
        near &= (points[:, 2] > block.bottom - hair) & (points[:, 2] < block.top + hair)
        values = np.zeros(len(points))
        for at, part in zip(node, weight, strict=True):
            moved = points[near].copy()
            moved[:, own] += 0.5 * at * length[near]
            values[near] += 0.5 * part * circle_field(circles, moved)[0][:, own]
        out.append(values)
    return np.concatenate(out)


def face_source(block, circles, axes, rise):
    """Integral of v . (B x n) over the block's faces times the rise of 1 / mu, and of A . (B x n)."""
    shapes = edge_shapes(axes)
    first = np.cumsum([0, *(np.prod(shape) for shape in shapes)])
    source, energy = np.zeros(first[-1]), 0.0
    if not rise:
        return source, energy
    node, weight = np.polynomial.legendre.leggauss(5)
    node, weight = 0.5 + 0.5 * node, 0.5 * weight
    faces = [(2, block.bottom, -1), (2, block.top, 1), (0, block.half[0], 1), (1, block.half[1], 1)]
    for normal, at, sign in faces:
        i, j = (k for k in range(3) if k != normal)
        level = int(np.argmin(np.abs(axes[normal].lines - at)))
        inner = [np.flatnonzero(axes[k].inside) for k in (i, j)]
        ci, cj = (cells.ravel() for cells in np.meshgrid(*inner, indexing="ij"))
        for ti, wi in zip(node, weight, strict=True):
            for tj, wj in zip(node, weight, strict=True):
                points = np.empty((len(ci), 3))
                points[:, normal] = at
                points[:, i] = axes[i].lines[ci] + ti * axes[i].width[ci]
                points[:, j] = axes[j].lines[cj] + tj * axes[j].width[cj]
                potential, field = circle_field(circles, points)
                outward = np.zeros(3)
                outward[normal] = sign
                area = wi * wj * axes[i].width[ci] * axes[j].width[cj]
                pull = rise * np.cross(field, outward) * area[:, None]
                energy += float((potential * pull).sum())
                for own, other, cells, share in ((i, j, cj, tj), (j, i, ci, ti)):
                    for hat, part in ((0, 1 - share), (1, share)):
                        place = [np.full(len(ci), level)] * 3
                        place[own] = ci if own == i else cj
                        place[other] = cells + hat
                        edge = first[own] + np.ravel_multi_index(place, shapes[own])
                        np.add.at(source, edge, pull[:, own] * part)
    return source, energy
