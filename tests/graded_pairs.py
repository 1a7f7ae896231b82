"""Mean inverse distances between carriers of charge of any sizes and places, with their mirror images."""

import math

import numpy as np

from coilgen.physics.base.compiled import by_rows, kernel, part
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.brick_kernels import _by_nodes, _corner, _primitive, _rule

_ROWS_AT_ONCE = 16
_FARTHEST, _FAR_PAIR = 8.0, 2.5
"""Of the mean extents of a pair: from where on moments, and points, stand for closed forms."""


def mean_inverse_distances_of_pairs(
    middle: Floats, extent: Floats, others: tuple[Floats, Floats] | None, images: Floats
) -> Floats:
    """Mean of 1/r between carriers of charge, summed over the second's images, (n, k) 1/m.

    middle, extent: (n, 3) m, an extent of 0 across a face; others: the same of k others, or None for (n, n)
    of the carriers themselves. images: rows of three signs that turn a place into its image's, and the sign
    of the image's charge; without others they must form a group, so that the sums are symmetric.
    """
    count = len(middle)
    there = (middle, extent) if others is None else others
    out = np.empty((count, len(there[0])))

    def work(first: int, last: int) -> None:
        fill_pairs(middle, extent, *there, images, others is None, first, last, out)

    by_rows(work, count, _ROWS_AT_ONCE)
    return out


@kernel
def fill_pairs(middle, extent, others, other_extent, images, alike, first, last, out):
    """Rows first ... last of `mean_inverse_distances_of_pairs`; alike: each pair once, for both places."""
    orders = np.zeros(3, dtype=np.int64)
    for a in range(first, last):
        for b in range(a + 1 if alike else len(others)):
            total = 0.0
            for n in range(images.shape[0]):
                one = _pair_mean(middle[a], extent[a], others[b], other_extent[b], images[n], orders)
                total += images[n, 3] * one
            out[a, b] = total
            if alike:
                out[b, a] = total


@part
def _pair_mean(place, extent, other, other_extent, image, orders):
    x = place[0] - image[0] * other[0]
    y = place[1] - image[1] * other[1]
    z = place[2] - image[2] * other[2]
    size = 0.5 * max(extent[0] + other_extent[0], extent[1] + other_extent[1], extent[2] + other_extent[2])
    r2 = x * x + y * y + z * z
    if r2 > (_FARTHEST * size) ** 2:
        return _quadrupole_mean(extent, other_extent, x, y, z, r2)
    for k in range(3):
        orders[k] = (extent[k] > 0.0) + (other_extent[k] > 0.0)
    if r2 > (_FAR_PAIR * size) ** 2:
        return _far_pair(orders, extent, other_extent, x, y, z)
    return _near_pair(orders, extent, other_extent, x, y, z)


@part
def _quadrupole_mean(a, b, x, y, z, r2):
    """By the second moments of the offsets; the fourth change it by some millionths."""
    sx, sy, sz = a[0] ** 2 + b[0] ** 2, a[1] ** 2 + b[1] ** 2, a[2] ** 2 + b[2] ** 2
    bent = (3.0 * (sx * x * x + sy * y * y + sz * z * z) / r2 - sx - sy - sz) / (24.0 * r2)
    return (1.0 + bent) / math.sqrt(r2)


@part
def _far_pair(orders, a, b, x, y, z):
    dx, wx = _rule(orders[0], a[0], b[0])
    dy, wy = _rule(orders[1], a[1], b[1])
    dz, wz = _rule(orders[2], a[2], b[2])
    return _by_nodes(dx, wx, dy, wy, dz, wz, x, y, z)


@part
def _near_pair(orders, a, b, x, y, z):
    total = 0.0
    for i in range(-2, 2):
        ux, wx = _corner(orders[0], i, a[0], b[0])
        for j in range(-2, 2):
            uy, wy = _corner(orders[1], j, a[1], b[1])
            if wx != 0.0 and wy != 0.0:
                for k in range(-2, 2):
                    uz, wz = _corner(orders[2], k, a[2], b[2])
                    if wz != 0.0:
                        total += wx * wy * wz * _primitive(orders, x + ux, y + uy, z + uz)
    return total
