"""Compiled kernels for a path's field in the cells of a grid: far strips at nodes, near ones cell by cell."""

import math

import numpy as np

from coilgen.physics.base.compiled import kernel, part

_TINY = 1e-30
_REACH = tuple((math.cosh(4.0 / points) - 1.0) / 2.0 for points in (2, 3, 4, 5, 6))
"""Of a cell's width, distances of strips from which on so many of Gauss's points do: n of them leave the
ellipse through the strip to the power -2 n (L. N. Trefethen, Approximation Theory and Approximation Practice,
2013, theorem 19.3), here 3e-4."""


@kernel
def add_to_nodes(strips, middles, low, high, nodes, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Adds the field of the strips between two distances from tiles first ... last to out (t, 3, q), 1/m.

    strips: (m, 7) start, end, current; middles: (t, 3) m; nodes: (3, q) m, about a tile's middle; low, high:
    m. The field is 4 pi H of pure filaments.
    """
    count = nodes.shape[1]
    x, y, z = np.empty(count), np.empty(count), np.empty(count)
    radius = np.empty(count)
    for t in range(first, last):
        for q in range(count):
            x[q] = middles[t, 0] + nodes[0, q]
            y[q] = middles[t, 1] + nodes[1, q]
            z[q] = middles[t, 2] + nodes[2, q]
        left = -1
        for k in range(strips.shape[0]):
            away = _from_point(strips[k], middles[t, 0], middles[t, 1], middles[t, 2])
            if low <= away < high:
                follows = left == k - 1 and k > 0 and _joined(strips[k - 1], strips[k])
                _add_filament(strips[k], x, y, z, 0, count, follows, radius, out[t])
                left = k


@kernel
def near_tiles(strips, middles, within, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Writes to out (t, m) which strips come nearer to the tiles' middles (t, 3) than `within`, m."""
    for t in range(middles.shape[0]):
        for k in range(strips.shape[0]):
            out[t, k] = _from_point(strips[k], middles[t, 0], middles[t, 1], middles[t, 2]) < within


@kernel
def add_to_cells(strips, strands, near, tile, corner, size, higher, rule, edges, reach, first, last, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN201
    """Adds to out (cells, 2, 3), A/m, the means of (1 - s) H and s H over cells first ... last.

    strips: (m, 8) start, end, current, width; strands: (n, m, 7) filaments in place of each; near:
    (t, m) strips of each tile; tile: (cells,) whose; corner, size: (cells, 3) m; higher: m, by which cells
    count as standing higher when points are chosen; rule: points and weights (p, 4) of all orders in a unit
    cell; edges: where each begins, and the last ends; reach: cells' and strips' widths within which filaments
    side by side stand for a strip.
    """
    count = rule.shape[0]
    x, y, z, radius = np.empty(count), np.empty(count), np.empty(count), np.empty(count)
    radii = np.empty((strands.shape[0], count))
    field = np.empty((3, count))
    orders = edges.size - 1
    used = np.empty(orders, dtype=np.int64)
    for c in range(first, last):
        for q in range(count):
            x[q] = corner[c, 0] + rule[q, 0] * size[c, 0]
            y[q] = corner[c, 1] + rule[q, 1] * size[c, 1]
            z[q] = corner[c, 2] + rule[q, 2] * size[c, 2]
        field[:] = 0.0
        used[:] = 0
        wide = max(size[c, 0], size[c, 1])
        left, told, apart = -2, -1, False
        for k in range(strips.shape[0]):
            if not near[tile[c], k]:
                continue
            away = _from_cell(strips[k], corner[c], size[c], higher)
            order = _order(away, wide, strips[k, 7])
            used[order] = 1
            begin, end = edges[order], edges[order + 1]
            side_by_side = away < max(reach[0] * wide, reach[1] * strips[k, 7])
            alike = left == k - 1 and told == order and apart == side_by_side
            if side_by_side:
                for n in range(strands.shape[0]):
                    follows = alike and _joined(strands[n, k - 1], strands[n, k])
                    _add_filament(strands[n, k], x, y, z, begin, end, follows, radii[n], field)
            else:
                follows = alike and _joined(strips[k - 1], strips[k])
                _add_filament(strips[k], x, y, z, begin, end, follows, radius, field)
            left, told, apart = k, order, side_by_side
        for order in range(orders):
            if used[order]:
                for q in range(edges[order], edges[order + 1]):
                    for axis in range(3):
                        h = rule[q, 3] * field[axis, q]
                        out[c, 0, axis] += (1.0 - rule[q, axis]) * h
                        out[c, 1, axis] += rule[q, axis] * h


@part
def _order(away, wide, width):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Number of the rule, of 2, 3, 4, 5, 6, 8 points an axis, for a strip at a cell's distance.

    `_REACH` tells from where on; within three widths of a strip 3 or more.
    """
    if away >= _REACH[0] * wide:
        return 1 if away < 3.0 * width else 0
    order = 1
    while order < 5 and away < _REACH[order] * wide:
        order += 1
    return order


@part
def _joined(before, after):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    return before[3] == after[0] and before[4] == after[1] and before[5] == after[2]


@part
def _from_point(strip, px, py, pz):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Distance of a strip from a point, m."""
    ux, uy, uz = strip[3] - strip[0], strip[4] - strip[1], strip[5] - strip[2]
    dx, dy, dz = px - strip[0], py - strip[1], pz - strip[2]
    along = (dx * ux + dy * uy + dz * uz) / max(ux * ux + uy * uy + uz * uz, _TINY)
    along = min(max(along, 0.0), 1.0)
    dx, dy, dz = dx - along * ux, dy - along * uy, dz - along * uz
    return math.sqrt(dx * dx + dy * dy + dz * dz)


@part
def _from_cell(strip, corner, size, higher):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Lower bound of a strip's distance from a cell, m, by those across, as seen from the top, and upward."""
    ux, uy = strip[3] - strip[0], strip[4] - strip[1]
    dx, dy = corner[0] + 0.5 * size[0] - strip[0], corner[1] + 0.5 * size[1] - strip[1]
    along = min(max((dx * ux + dy * uy) / max(ux * ux + uy * uy, _TINY), 0.0), 1.0)
    dx, dy = dx - along * ux, dy - along * uy
    across = math.sqrt(dx * dx + dy * dy)
    if across > 0.0:
        across -= 0.5 * (abs(dx) * size[0] + abs(dy) * size[1]) / across
    bottom = corner[2] + higher
    upward = max(bottom - max(strip[2], strip[5]), min(strip[2], strip[5]) - bottom - size[2])
    across, upward = max(across, 0.0), max(upward, 0.0)
    return math.sqrt(across * across + upward * upward)


@part
def _add_filament(strip, x, y, z, begin, end, follows, radius, out):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    """Adds 2 (1/ra + 1/rb) / ((ra + rb)^2 - L^2) L x d at points begin ... end; radius: (q,) m from the end.

    follows: whether the strip begins where the last ended. As `field.kernel.add_filaments`.
    """
    ax, ay, az = strip[0], strip[1], strip[2]
    bx, by, bz = strip[3], strip[4], strip[5]
    lx, ly, lz = bx - ax, by - ay, bz - az
    square = lx * lx + ly * ly + lz * lz
    current = 2.0 * strip[6]
    lx, ly, lz = current * lx, current * ly, current * lz
    if not follows:
        for q in range(begin, end):
            dx, dy, dz = x[q] - ax, y[q] - ay, z[q] - az
            radius[q] = math.sqrt(dx * dx + dy * dy + dz * dz + _TINY)
    for q in range(begin, end):
        dx, dy, dz = x[q] - bx, y[q] - by, z[q] - bz
        r = math.sqrt(dx * dx + dy * dy + dz * dz + _TINY)
        total = radius[q] + r
        f = total / (radius[q] * r * (total * total - square))
        out[0, q] += f * (ly * dz - lz * dy)
        out[1, q] += f * (lz * dx - lx * dz)
        out[2, q] += f * (lx * dy - ly * dx)
        radius[q] = r
