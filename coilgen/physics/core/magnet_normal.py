"""Normal flux density of a permanent magnet in closed form, right beside it and within it too."""

from itertools import product

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.base.elliptic_integrals import general_integral
from coilgen.physics.core.magnet_side import Magnet
from coilgen.physics.inductance.coaxial_circles import mutual_inductance

_BESIDE = 1e-9
"""Of a magnet's size: how far off an edge or a round wall points are moved, where the field has no value."""


def magnet_normal_flux_density(magnet: Magnet, points: Floats) -> Floats:
    """Flux density along z, (n,) T, at points (n, 3) m anywhere.

    On a side, where it jumps, and on an edge, where it has no end, that of a place next to it.
    """
    polarisation = MU0 * magnet.magnetisation
    offset = points - np.asarray(magnet.centre)
    if magnet.form == "block":
        return _block(magnet, polarisation, offset)
    outer = _wall(0.5 * magnet.size[0], 0.5 * magnet.height, polarisation, offset)
    if not magnet.hole:
        return outer
    return outer - _wall(0.5 * magnet.hole, 0.5 * magnet.height, polarisation, offset)


def _block(magnet: Magnet, polarisation: Floats, offset: Floats) -> Floats:
    """Charges on the faces, integrated over each (O. D. Kellogg, Foundations of Potential Theory, ch. III).

    The end faces' field is a solid angle from every corner, the sides' a logarithm.
    """
    half = 0.5 * np.array([*magnet.size, magnet.height])
    tiny = _BESIDE * float(half.max())
    jx, jy, jz = polarisation / (4.0 * np.pi)
    within = np.prod(0.5 + 0.5 * np.sign(half - np.abs(offset)), axis=1)
    out = np.asarray(polarisation[2] * within)
    for signs in product((-1.0, 1.0), repeat=3):
        x, y, z = (offset - np.array(signs) * half).T
        r = np.sqrt(x * x + y * y + z * z) + tiny
        corner = jz * np.sign(z) * np.arctan2(x * y, np.abs(z) * r)
        corner -= jx * np.arcsinh(y / (np.hypot(x, z) + tiny)) + jy * np.arcsinh(x / (np.hypot(y, z) + tiny))
        out += np.prod(signs) * corner
    return out


def _wall(radius: float, half: float, polarisation: Floats, offset: Floats) -> Floats:
    """Of a solid round magnet: the current round its wall for what points along the axis, the charge on it
    for what points across."""
    rho = np.hypot(offset[:, 0], offset[:, 1])
    rho = np.where(np.abs(rho - radius) < _BESIDE * radius, (1.0 + _BESIDE) * radius, rho)
    ends = [offset[:, 2] + half, offset[:, 2] - half]
    out = np.zeros(len(offset))
    if polarisation[2]:
        below, above = (_sheet(radius, rho, z) for z in ends)
        out += polarisation[2] / np.pi * (below - above)
    if polarisation[0] or polarisation[1]:
        off_axis = np.maximum(rho, _BESIDE * radius)
        below, above = (_rim(radius, off_axis, z) for z in ends)
        out += offset[:, :2] @ polarisation[:2] / off_axis * (above - below)
    return out


def _sheet(radius: float, rho: Floats, z: Floats) -> Floats:
    """What an end of a cylindrical current sheet gives, z over it, as share of pi times the sheet's field.

    N. Derby and S. Olbert, American Journal of Physics 78, 2010.
    """
    far = np.sqrt(np.square(z) + np.square(rho + radius))
    near = np.sqrt(np.square(z) + np.square(rho - radius))
    gamma = (radius - rho) / (radius + rho)
    share = general_integral(near / far, np.square(gamma), 1.0, gamma)
    return np.asarray(radius / (radius + rho) * z / far * share)


def _rim(radius: float, rho: Floats, z: Floats) -> Floats:
    """Integral of the charge cos(angle) round a rim over 4 pi times its distance, times its radius.

    It is the vector potential round a circle of one ampere over mu0 (J. D. Jackson, Classical
    Electrodynamics, section 5.5), here from the mutual inductance with a circle through the point.
    """
    near_rim = (np.abs(z) < _BESIDE * radius) & (np.abs(rho - radius) <= 2.0 * _BESIDE * radius)
    height = np.where(near_rim, _BESIDE * radius, z)
    return mutual_inductance(radius, rho, height) / (2.0 * np.pi * MU0 * rho)
