"""Compiled kernels for charged bricks and their faces: mean inverse distances, and sums over planes."""

import math

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.compiled import by_rows, kernel, part, threads
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import Indices

Complexes = NDArray[np.complex128]
_FAR = 5.0
_TINY = 1e-60
_COLUMNS_AT_ONCE = 256
_ALONE = 4_000_000
"""Products of a sum over planes, some milliseconds of them, up to which one thread does all."""


@kernel
def mean_inverse_distances(orders, hx, hy, nx, ny, dz, ta, tb):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Mean of 1/r between two carriers of charge, (nx + 1, ny + 1) 1/m, for all offsets in a quadrant.

    orders: (3,) of 2, 1, 0: how many of the two carriers extend along x, y, z. Offsets are whole cells hx,
    hy, and half a cell more along an axis of order 1. dz: m, between the middles; ta, tb: m, the carriers'
    extents along z (0 for a face). Near offsets by differences of the closed primitives, far ones by the
    three-point rule that has the second and fourth moments of the offsets.
    """
    out = np.empty((nx + 1, ny + 1))
    far2 = (_FAR * max(hx, hy, ta, tb)) ** 2
    for i in range(nx + 1):
        x = (i + (0.5 if orders[0] == 1 else 0.0)) * hx
        for j in range(ny + 1):
            y = (j + (0.5 if orders[1] == 1 else 0.0)) * hy
            if x * x + y * y + dz * dz > far2:
                out[i, j] = _far_mean(orders, hx, hy, ta, tb, x, y, dz)
            else:
                out[i, j] = _near_mean(orders, hx, hy, ta, tb, x, y, dz)
    return out


@part
def _near_mean(orders, hx, hy, ta, tb, x, y, z):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    total = 0.0
    for i in range(-1, 2):
        ux, wx = _difference(orders[0], i, hx, hx)
        for j in range(-1, 2):
            uy, wy = _difference(orders[1], j, hy, hy)
            if wx != 0.0 and wy != 0.0:
                for k in range(-2, 2):
                    uz, wz = _corner(orders[2], k, ta, tb)
                    if wz != 0.0:
                        total += wx * wy * wz * _primitive(orders, x + ux, y + uy, z + uz)
    return total


@part
def _difference(order, k, a, b):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Node and weight number k of -1, 0, 1 of the difference of this order between equal extents a, b."""
    if order == 2:
        return k * a, (1.0 if k != 0 else -2.0) / (a * b)
    if order == 1:
        return 0.5 * k * a, k / a
    return 0.0, 1.0 if k == 0 else 0.0


@part
def _corner(order, k, a, b):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Node and weight number k of -2 ... 1 of the difference of this order between unequal extents a, b."""
    if order == 2:
        sa = 1.0 if k < 0 else -1.0
        sb = 1.0 if k % 2 == 0 else -1.0
        return 0.5 * (sa * a + sb * b), sa * sb / (a * b)
    if order == 1:
        s = 1.0 if k == -2 else (-1.0 if k == -1 else 0.0)
        return 0.5 * s * (a + b), s / (a + b)
    return 0.0, 1.0 if k == 0 else 0.0


@part
def _far_mean(orders, hx, hy, ta, tb, x, y, z):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    dx, wx = _rule(orders[0], hx, hx if orders[0] == 2 else 0.0)
    dy, wy = _rule(orders[1], hy, hy if orders[1] == 2 else 0.0)
    dz, wz = _rule(orders[2], ta, tb)
    return _by_nodes(dx, wx, dy, wy, dz, wz, x, y, z)


@part
def _by_nodes(dx, wx, dy, wy, dz, wz, x, y, z):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Mean of one over the distance by three nodes along each axis: outer ones dx away, of weight wx."""
    total = 0.0
    for i in range(-1, 2):
        ax = (x + i * dx) ** 2
        fx = wx if i != 0 else 1.0 - 2.0 * wx
        for j in range(-1, 2):
            ay = (y + j * dy) ** 2
            fy = wy if j != 0 else 1.0 - 2.0 * wy
            for k in range(-1, 2):
                fz = wz if k != 0 else 1.0 - 2.0 * wz
                total += fx * fy * fz / math.sqrt(ax + ay + (z + k * dz) ** 2)
    return total


@part
def _rule(order, a, b):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Outer node and its weight: second and fourth moments of the sum of two uniform offsets over a and b."""
    if order == 0:
        return 0.0, 0.0
    second = (a * a + b * b) / 12.0
    fourth = (a**4 + b**4) / 80.0 + a * a * b * b / 24.0
    return math.sqrt(fourth / second), 0.5 * second * second / fourth


@part
def _primitive(orders, x, y, z):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """1/r integrated orders[k] times along each axis.

    The axes are turned until the one whose order stands alone comes first: four forms then do for all ten
    orders. They share their logarithms and angles, as each line more here is compiled many times over.
    """
    ox, oy, oz = orders[0], orders[1], orders[2]
    if ox == oy and ox != oz:
        a, b, c, lone, like = z, x, y, oz, ox
    elif ox == oz and ox != oy:
        a, b, c, lone, like = y, z, x, oy, ox
    else:
        a, b, c, lone, like = x, y, z, ox, oy
    a2, b2, c2 = a * a, b * b, c * c
    r = math.sqrt(a2 + b2 + c2)
    la, lb, lc = _asinh(a, b2 + c2), _asinh(b, c2 + a2), _asinh(c, a2 + b2)
    ta, tb, tc = _atan(b * c, a * r), _atan(c * a, b * r), _atan(a * b, c * r)
    if like == 1:
        return _f112(b, c, a, b2, c2, a2, r, lb, lc, la, tb, tc, ta)
    if lone == 0:
        return _f022(a, b, c, a2, b2, c2, r, lb, lc, ta)
    if lone == 1:
        return _f122(a, b, c, a2, b2, c2, r, la, lb, lc, ta, tb, tc)
    return _f222(a, b, c, a2, b2, c2, r, la, lb, lc, ta, tb, tc)


@part
def _asinh(p, square):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    return math.asinh(p / math.sqrt(square + _TINY))


@part
def _atan(p, s):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """atan(p / s), odd in s, 0 where s = 0: there a factor s stands before it."""
    return math.atan(p / s) if s != 0.0 else 0.0


@part
def _f222(x, y, z, x2, y2, z2, r, lx, ly, lz, tx, ty, tz):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """C. Hoer and C. Love, Journal of Research of the NBS 69C, 1965; elementary integrals in tests agree."""
    logs = (
        (y2 * z2 / 4 - (y2 * y2 + z2 * z2) / 24) * x * lx
        + (z2 * x2 / 4 - (z2 * z2 + x2 * x2) / 24) * y * ly
        + (x2 * y2 / 4 - (x2 * x2 + y2 * y2) / 24) * z * lz
    )
    angles = x * y * z / 6 * (z2 * tz + x2 * tx + y2 * ty)
    rest = (x2 * x2 + y2 * y2 + z2 * z2 - 3 * (x2 * y2 + y2 * z2 + z2 * x2)) * r / 60
    return logs - angles + rest


@part
def _f122(x, y, z, x2, y2, z2, r, lx, ly, lz, tx, ty, tz):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Derivative of `_f222` along x."""
    logs = (
        (y2 * z2 / 4 - (y2 * y2 + z2 * z2) / 24) * lx
        + (z2 / 2 - x2 / 6) * x * y * ly
        + (y2 / 2 - x2 / 6) * x * z * lz
    )
    angles = y * z / 6 * (z2 * tz + 3 * x2 * tx + y2 * ty)
    return logs - angles + x * r * (x2 / 12 - (y2 + z2) / 8)


@part
def _f022(x, y, z, x2, y2, z2, r, ly, lz, tx):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """A. J. Newell, W. Williams, D. J. Dunlop, Journal of Geophysical Research 98, 1993: their f."""
    logs = 0.5 * (y * (z2 - x2) * ly + z * (y2 - x2) * lz)
    return logs - x * y * z * tx + (2 * x2 - y2 - z2) * r / 6


@part
def _f112(x, y, z, x2, y2, z2, r, lx, ly, lz, tx, ty, tz):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """A. J. Newell, W. Williams, D. J. Dunlop, Journal of Geophysical Research 98, 1993: their g."""
    logs = x * y * z * lz + y / 6 * (3 * z2 - y2) * lx + x / 6 * (3 * z2 - x2) * ly
    angles = z / 6 * (z2 * tz + 3 * y2 * ty + 3 * x2 * tx)
    return logs - angles - x * y * r / 3


def summed_over_planes(spectra: Floats, which: Indices, charges: Complexes) -> Complexes:
    """out[a, f] = sum over b of spectra[which[a, b], f] charges[b, f]; complex (np, nf).

    In the calling thread alone unless there is much to do: to hand small sums to others takes longer.
    """
    out = np.empty_like(charges)
    sent, received = charges.view(np.float64), out.view(np.float64)
    columns = charges.shape[1]
    if len(charges) ** 2 * columns < _ALONE:
        add_planes(spectra, which, sent, 0, columns, received)
        return out
    by_rows(
        lambda first, last: add_planes(spectra, which, sent, first, last, received),
        columns,
        max(_COLUMNS_AT_ONCE, -(-columns // threads())),
    )
    return out


@kernel
def add_planes(spectra, which, charges, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """The columns first ... last of `summed_over_planes`, real and imaginary parts in turn.

    Some columns at a time, so that what is summed stays at hand.
    """
    count = which.shape[0]
    real, imaginary = np.empty((count, _COLUMNS_AT_ONCE)), np.empty((count, _COLUMNS_AT_ONCE))
    re, im = np.empty(_COLUMNS_AT_ONCE), np.empty(_COLUMNS_AT_ONCE)
    for begin in range(first, last, _COLUMNS_AT_ONCE):
        wide = min(_COLUMNS_AT_ONCE, last - begin)
        for b in range(count):
            for f in range(wide):
                real[b, f] = charges[b, 2 * (begin + f)]
                imaginary[b, f] = charges[b, 2 * (begin + f) + 1]
        for a in range(count):
            re[:wide] = 0.0
            im[:wide] = 0.0
            # Four at a time: sums are fetched and put away less often.
            for b in range(0, count - 3, 4):
                s0, s1 = spectra[which[a, b], begin:], spectra[which[a, b + 1], begin:]
                s2, s3 = spectra[which[a, b + 2], begin:], spectra[which[a, b + 3], begin:]
                r0, r1, r2, r3 = real[b], real[b + 1], real[b + 2], real[b + 3]
                i0, i1, i2, i3 = imaginary[b], imaginary[b + 1], imaginary[b + 2], imaginary[b + 3]
                for f in range(wide):
                    re[f] += s0[f] * r0[f] + s1[f] * r1[f] + s2[f] * r2[f] + s3[f] * r3[f]
                    im[f] += s0[f] * i0[f] + s1[f] * i1[f] + s2[f] * i2[f] + s3[f] * i3[f]
            for b in range(count - count % 4, count):
                s0, r0, i0 = spectra[which[a, b], begin:], real[b], imaginary[b]
                for f in range(wide):
                    re[f] += s0[f] * r0[f]
                    im[f] += s0[f] * i0[f]
            for f in range(wide):
                out[a, 2 * (begin + f)] = re[f]
                out[a, 2 * (begin + f) + 1] = im[f]
