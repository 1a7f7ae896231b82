"""Largest flux density over planes beside the coil, and the distance at which it has fallen to a level."""

from collections.abc import Callable

import numpy as np

from coilgen.physics.base.conductor import Floats

FluxDensity = Callable[[Floats], Floats]
Sizes = Callable[[Floats], Floats]
_PRECISION = 1e-3
_STEPS = 60
_DIPOLE = 3.0
"""Power of the distance by which a dipole's field falls."""
_RACE = (10, 10, 5, 5, 2, 2, 1, 1)
"""Places from which a largest field is sought, round by round."""
_AROUND = np.array([(x, y, 0.0) for x in (-1.0, 0.0, 1.0) for y in (-1.0, 0.0, 1.0) if x or y])
_BEYOND = 1.02
"""Steps go so much farther than to where the level is expected."""
_ALIKE = 4
"""Steps after which the shortest doubles: a field that stays just over the level makes none longer."""


def disc_points(radius: float, *, rings: int, spokes: int = 8) -> Floats:
    """Points (rings * spokes + 1, 2) m over a disc about the origin: the centre, then ring by ring."""
    across = radius * (np.arange(rings) + 1.0) / rings
    angle = 2.0 * np.pi * np.arange(spokes) / spokes
    unit = np.column_stack([np.cos(angle), np.sin(angle)])
    return np.vstack([np.zeros((1, 2)), (across[:, None, None] * unit).reshape(-1, 2)])


def summit(size: Sizes, points: Floats, sizes: Floats, step: float) -> tuple[Floats, float]:
    """Where a field is largest, (3,) m, and how large, T, in planes of points on lines, (lines, n, 3) m.

    size: |B| (n,) T at points (n, 3) m. sizes: (lines, n), at the lines' points. From the largest of each of
    the strongest lines, none beside a stronger one, to the largest of eight places about, a step (m) away,
    halved where none is larger; the half that has come least far is left behind again and again.
    """
    most = sizes.max(axis=1)
    crests = np.flatnonzero((most >= np.roll(most, 1)) & (most >= np.roll(most, -1)))
    best = crests[np.argsort(-most[crests])][: max(_RACE)]
    place = sizes[best].argmax(axis=1)
    at, found, steps = points[best, place], sizes[best, place], np.full(len(best), step)
    for left in _RACE:
        kept = np.argsort(-found)[:left]
        at, found, steps = at[kept], found[kept], steps[kept]
        around = at[:, None] + steps[:, None, None] * _AROUND
        near = size(around.reshape(-1, 3)).reshape(around.shape[:2])
        which, largest = near.argmax(axis=1), near.max(axis=1)
        more = largest > found
        at = np.where(more[:, None], around[np.arange(len(at)), which], at)
        found, steps = np.where(more, largest, found), np.where(more, steps, 0.5 * steps)
    first = int(found.argmax())
    return at[first], float(found[first])


def largest_at(field: FluxDensity, across: Floats, height: float) -> float:
    """Largest flux density, T, over the points across (n, 2) m of the plane z = height (m).

    field: B (n, 3) T at points (n, 3) m.
    """
    points = np.column_stack([across, np.full(len(across), height)])
    return float(np.linalg.norm(field(points), axis=1).max())


def distance_to_level(
    field: FluxDensity, across: Floats, *, face: float, outward: float, level: float, least: float = 0.0
) -> float:
    """Distance (m) from the plane z = face beyond which the flux density stays under `level` (T), 0 if none.

    outward: 1 up, -1 down; nothing that makes or bends the field stands that way. There each part of B is
    harmonic, so that the largest |B| of a plane falls from plane to plane (maximum principle). Secants and
    the Illinois method in logarithms, where a field falls straightly, to a thousandth of the field.
    least: m, returned where the level is not passed beyond it.
    """
    size = 0.5 * float(np.abs(across).max())

    def over(at: float) -> float:
        """Logarithm of the field over the level at size (exp(at) - 1) from the face."""
        return float(np.log(largest_at(field, across, face + outward * size * np.expm1(at)) / level))

    begin = float(np.log1p(least / size))
    near = (begin, over(begin))
    if near[1] <= (_PRECISION if least else 0.0):
        return least
    far = _beyond(over, near)
    return size * float(np.expm1(_crossing(over, near, far)))


Place = tuple[float, float]
"""Where, and how far the field is over the level there, in logarithms."""


def _beyond(over: Callable[[float], float], near: Place) -> Place:
    """A place under the level, sought from `near` as if the field fell as a dipole's."""
    slope, last = _DIPOLE, near
    for step in range(_STEPS):
        at = last[0] + max(_BEYOND * last[1] / slope, _PRECISION * 2.0 ** (step // _ALIKE))
        value = over(at)
        if value <= 0.0:
            return at, value
        slope, last = max((last[1] - value) / (at - last[0]), _DIPOLE / 2), (at, value)
    raise ArithmeticError("the field does not fall to the level")


def _crossing(over: Callable[[float], float], near: Place, far: Place) -> float:
    """Where the falling function `over` is 0, between a place where it is positive and one where not."""
    side = 0
    for _ in range(_STEPS):
        if far[0] - near[0] <= _PRECISION or -far[1] < _PRECISION:
            break
        share = near[1] / (near[1] - far[1])
        middle = near[0] + min(max(share, 1e-3), 1.0 - 1e-3) * (far[0] - near[0])
        value = over(middle)
        if abs(value) < _PRECISION:
            return middle
        if value > 0.0:
            near = (middle, value)
            far = (far[0], 0.5 * far[1]) if side > 0 else far
            side = 1
        else:
            far = (middle, value)
            near = (near[0], 0.5 * near[1]) if side < 0 else near
            side = -1
    return far[0]
