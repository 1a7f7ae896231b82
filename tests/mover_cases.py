"""Movers of every form and coils under them, and the same magnets as magpylib has them."""

import magpylib
import numpy as np

from coilgen.physics.field.filaments import Filaments
from coilgen.physics.mover.magnets import Magnets, circle, rectangle, segment

POLES, REMANENCE = 8, 1.3
LOW, HIGH = 1e-3, 4e-3
SIGNS = tuple(1 - 2 * (k % 2) for k in range(POLES))


def _around(form):
    """Outlines of eight poles; none stands on an angle where a pole is even by chance."""
    turns = [np.exp(2j * np.pi * k / POLES) for k in range(POLES)]
    if form == "segment":
        return tuple(segment(10e-3, 20e-3, 0.7, np.angle(turn)) for turn in turns)
    if form == "block":
        return tuple(rectangle(15e-3 * turn, 9e-3, 6e-3, turn) for turn in turns)
    if form == "ring":
        return tuple((*circle(15e-3 * turn, 5e-3), *circle(15e-3 * turn, -2e-3)) for turn in turns)
    return tuple(circle(15e-3 * turn, 5e-3) for turn in turns)


def ring_of(form, sheets=((LOW, HIGH),)):
    return Magnets(outlines=_around(form), signs=SIGNS, polarisation=REMANENCE, sheets=sheets)


def ring_sources(form, low=LOW, high=HIGH):
    """The ring as magpylib has it."""
    return [
        _source(form, sign, low, high).rotate_from_angax(45.0 * k, "z", anchor=0)
        for k, sign in enumerate(SIGNS)
    ]


def _source(form, sign, low, high):
    told = {"polarization": (0, 0, sign * REMANENCE)}
    at, height = (15e-3, 0, 0.5 * (low + high)), high - low
    if form == "segment":
        span = np.degrees(0.35)
        size = (10e-3, 20e-3, height, -span, span)
        return magpylib.magnet.CylinderSegment(dimension=size, position=(0, 0, at[2]), **told)
    if form == "block":
        return magpylib.magnet.Cuboid(dimension=(9e-3, 6e-3, height), position=at, **told)
    if form == "ring":
        return magpylib.magnet.CylinderSegment(dimension=(2e-3, 5e-3, height, 0, 360), position=at, **told)
    return magpylib.magnet.Cylinder(dimension=(10e-3, height), position=at, **told)


def loops(corners, levels):
    """Closed polygons on levels, m, one ampere in each, as a path; corners: complex, counter-clockwise."""
    shape = [np.column_stack([np.real(each), np.imag(each)]) for each in corners]
    start = np.vstack([np.column_stack([each, np.full(len(each), z)]) for z in levels for each in shape])
    end = np.vstack(
        [np.column_stack([np.roll(each, -1, 0), np.full(len(each), z)]) for z in levels for each in shape]
    )
    width = np.full(len(start), 0.2e-3)
    return Filaments(start=start, end=end, width=width, thickness=0.2 * width)


def wedge_coil(levels=(-0.1e-3, -1.5e-3)):
    """Turns with radial sides, the outermost 40 degrees wide."""
    corners = []
    for share in (0.3, 0.6, 1.0):
        half, deep = np.exp(1j * np.radians(20.0 * share)), 4e-3 * share
        outer, inner = 15e-3 + deep, 15e-3 - deep
        corners.append(np.array([inner * half.conj(), outer * half.conj(), outer * half, inner * half]))
    return loops(corners, levels)


def stepped(path):
    """The path with what goes aslant from level to level made level first, then upright."""
    corner = np.column_stack([path.end[:, :2], path.start[:, 2]])
    start, end = np.concatenate([path.start, corner]), np.concatenate([corner, path.end])
    share = np.tile(path.shares, 2)
    kept = np.linalg.norm(end - start, axis=1) > 0
    bare = np.zeros(int(kept.sum()))
    return Filaments(start=start[kept], end=end[kept], width=bare, thickness=bare, share=share[kept])


def points_along(path, count=100):
    """Places (n, 3) on a path and steps there (n, 3), by Gauss's rule."""
    node, weight = np.polynomial.legendre.leggauss(count)
    step = path.end - path.start
    at = path.start[:, None] + 0.5 * (1 + node)[:, None] * step[:, None]
    return at.reshape(-1, 3), (0.5 * weight[:, None] * step[:, None]).reshape(-1, 3)


def turned_points(points, angle):
    c, s = np.cos(angle), np.sin(angle)
    return points @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])


def field_of(sources, points):
    return sum(each.getB(points) for each in sources)
