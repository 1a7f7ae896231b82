"""Largest flux density over planes beside the coil, and the distance at which it has fallen to a level."""

from collections.abc import Callable

import numpy as np

from coilgen.physics.conductor import Floats

FluxDensity = Callable[[Floats], Floats]
_PRECISION = 1e-3
_STEPS = 60


def disc_points(radius: float, *, rings: int, spokes: int = 8) -> Floats:
    """Points (rings * spokes + 1, 2) m over a disc about the origin: the centre, then ring by ring."""
    across = radius * (np.arange(rings) + 1.0) / rings
    angle = 2.0 * np.pi * np.arange(spokes) / spokes
    unit = np.column_stack([np.cos(angle), np.sin(angle)])
    return np.vstack([np.zeros((1, 2)), (across[:, None, None] * unit).reshape(-1, 2)])


def largest_at(field: FluxDensity, across: Floats, height: float) -> float:
    """Largest flux density, T, over the points across (n, 2) m of the plane z = height (m).

    field: B (n, 3) T at points (n, 3) m.
    """
    points = np.column_stack([across, np.full(len(across), height)])
    return float(np.linalg.norm(field(points), axis=1).max())


def distance_to_level(
    field: FluxDensity, across: Floats, *, face: float, outward: float, level: float
) -> float:
    """Distance (m) from the plane z = face beyond which the flux density stays under `level` (T), 0 if none.

    outward: 1 up, -1 down; nothing that makes or bends the field stands that way. There each part of B is
    harmonic, so that the largest |B| of a plane falls from plane to plane (maximum principle). Illinois
    method in the logarithm of B, to a thousandth of the distance.
    """

    def over(distance: float) -> float:
        return float(np.log(largest_at(field, across, face + outward * distance) / level))

    near, above = 0.0, over(0.0)
    if above <= 0.0:
        return 0.0
    far = 0.5 * float(np.abs(across).max())
    below = over(far)
    while below > 0.0:
        near, above, far = far, below, 2.0 * far
        below = over(far)
    return _crossing(over, (near, above), (far, below))


def _crossing(over: Callable[[float], float], near: tuple[float, float], far: tuple[float, float]) -> float:
    """Where the falling function `over` is 0, between a place where it is positive and one where not."""
    side = 0
    for _ in range(_STEPS):
        if far[0] - near[0] <= _PRECISION * far[0]:
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
