"""Field of coaxial rings of current as r times the vector potential, and its slopes."""

from collections.abc import Callable

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.base.elliptic_integrals import complete_integrals
from coilgen.physics.field.filaments import Filaments, refined
from coilgen.physics.inductance.coaxial_circles import mutual_inductance

_POINTS_AT_ONCE = 40_000
_OF_RADIUS = 0.05
"""Of the winding's radius: the longest piece of a straight side that becomes one ring."""
_ACROSS = 3
_NO_TURN, _SAME_HEIGHT = 1e-9, 1e-7


@dataclass(frozen=True, kw_only=True)
class Rings:
    """Currents about one axis: radius (n,) m over 0, height (n,) m, share (n,) of the coil's current."""

    radius: Floats
    height: Floats
    share: Floats


def flux_function(rings: Rings, r: Floats, z: Floats) -> Floats:
    """r A of one ampere, (m,) Wb/rad, at points (m,) m: the flux through a circle there over 2 pi."""
    out = np.zeros_like(r)
    inside = np.flatnonzero(r > 0.0)
    step = max(1, _POINTS_AT_ONCE // len(rings.radius))
    for first in range(0, len(inside), step):
        at = inside[first : first + step]
        mutual = mutual_inductance(rings.radius, r[at, None], z[at, None] - rings.height)
        out[at] = mutual @ rings.share / (2.0 * np.pi)
    return out


def slopes(rings: Rings, r: Floats, z: Floats) -> tuple[Floats, Floats]:
    """Derivatives of r A along r and along z, (m,) Wb/(rad m), at points off the axis and off the rings.

    They are r B_z and -r B_r of circles, in complete elliptic integrals (W. R. Smythe, Static and Dynamic
    Electricity, 1950, section 7.10; value from memory).
    """
    a, dz, rr = rings.radius, z[:, None] - rings.height, r[:, None]
    far, near = np.square(a + rr) + np.square(dz), np.square(a - rr) + np.square(dz)
    first, second = complete_integrals(near / far)
    scale = MU0 / (2.0 * np.pi) / np.sqrt(far)
    upward = scale * (first + (a**2 - rr**2 - dz**2) / near * second)
    outward = scale * dz * (-first + (a**2 + rr**2 + dz**2) / near * second)
    return r * (upward @ rings.share), -(outward @ rings.share)


def averaged_rings(path: Filaments, spacing: Callable[[float], float]) -> Rings:
    """The part of a winding that goes round the axis x = y = 0, as rings.

    Round bodies answer a winding's mean over all directions by itself: each piece of the path becomes a ring
    that carries the share of a turn it runs, its current spread over the strip's width. spacing: of rings, m,
    for a height, m.
    """
    short = refined(path, _OF_RADIUS * float(np.hypot(*path.start[:, :2].T).max()))
    start, end = (ends[:, 0] + 1j * ends[:, 1] for ends in (short.start, short.end))
    angle = np.angle(end * start.conj())
    round_about = np.abs(angle) > _NO_TURN
    area = (end * start.conj()).imag[round_about]
    radius = np.sqrt(area / angle[round_about])
    share = short.shares[round_about] * angle[round_about] / (2.0 * np.pi)
    height = 0.5 * (short.start + short.end)[round_about, 2]
    node, weight = np.polynomial.legendre.leggauss(_ACROSS)
    spread = radius[:, None] + 0.5 * short.width[round_about, None] * node
    shares = np.broadcast_to(share[:, None] * 0.5 * weight, spread.shape)
    level = np.round(height / _SAME_HEIGHT)
    parts = [
        _gathered(spread[mine].ravel(), shares[mine].ravel(), float(height[mine].mean()), spacing)
        for mine in (level == one for one in np.unique(level))
    ]
    return Rings(
        radius=np.concatenate([part.radius for part in parts]),
        height=np.concatenate([part.height for part in parts]),
        share=np.concatenate([part.share for part in parts]),
    )


def _gathered(radius: Floats, share: Floats, height: float, spacing: Callable[[float], float]) -> Rings:
    """Rings of one height on few radii; each between two goes to both, so that its area stays."""
    radius = np.maximum(radius, 1e-3 * float(radius.max()))
    count = max(2, 1 + int(np.ceil(np.ptp(radius) / spacing(height))))
    grid = np.linspace(radius.min(), radius.max() * (1.0 + 1e-9), count)
    low = np.minimum(np.searchsorted(grid, radius, side="right") - 1, count - 2)
    part = (radius**2 - grid[low] ** 2) / (grid[low + 1] ** 2 - grid[low] ** 2)
    carried = np.bincount(low, share * (1.0 - part), count) + np.bincount(low + 1, share * part, count)
    kept = np.abs(carried) > 0.0
    return Rings(radius=grid[kept], height=np.full(int(kept.sum()), height), share=carried[kept])
