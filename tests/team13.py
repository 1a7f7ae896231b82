"""TEAM problem 13: thin steel plates across narrow gaps, saturating: geometry, steel, measured flux density.

T. Nakata, N. Takahashi, K. Fujiwara, COMPEL 11(3), 1992 and 14(2/3), 1995. A centre plate and two channels of
3.2 mm steel, 0.5 mm apart, in a square coil. The steel's own table up to 1.8 T, the parabola of its
polarisation from there to 2.22 T and the flux densities along the channel: values from memory; table and
parabola meet within 3e-5 T at 1.8 T, and the parabola ends level, as B = mu0 H + 2.16 T, where it should.
"""

import numpy as np
from graded_cells import CROSSED_Z, Box, GradedBody, Image

from coilgen.physics.base.constants import MU0
from coilgen.physics.core.magnetisation_curve import curve_from_table
from coilgen.physics.field.filaments import Filaments
from coilgen.physics.field.kernel import flux_density_per_ampere

FIELD = [0, 16, 30, 54, 93, 143, 191, 210, 222, 233, 247, 258, 272, 289, 313, 342, 377, 433, 509, 648, 933]
FIELD += [1228, 1934, 2913, 4993, 7189, 9423]
FLUX = [0, 0.0025, 0.005, 0.0125, 0.025, 0.05, *(0.1 * k for k in range(1, 16))]
FLUX += [1.55, 1.6, 1.65, 1.7, 1.75, 1.8]


def polarisation(field):
    """B - mu0 H, T, from 1.8 to 2.22 T."""
    return -2.381e-10 * field**2 + 2.327e-5 * field + 1.590


ABOVE = np.array([12e3, 16e3, 20e3, 25e3, 30e3, 35e3, 40e3, 45e3, 48e3])
CURVE = curve_from_table([*FIELD, *ABOVE], [*FLUX, *(MU0 * ABOVE + polarisation(ABOVE))])

HEIGHTS = 1e-3 * np.array([1, 10, 20, 30, 40, 50, 60])
PLATE = np.array([1.330, 1.329, 1.286, 1.225, 1.129, 0.985, 0.655])
"""T, 1000 ampere-turns, mean Bz of the centre plate's section at HEIGHTS."""
BACK = np.array([0.984, 0.981, 0.974, 0.970, 0.965, 0.960, 0.956])
"""T, 1000 ampere-turns, mean |Bz| of the channel's back at z = 0, 10 ... 60 mm."""
AIR_POINTS = 1e-3 * np.array([[x, 20, 55] for x in range(10, 120, 10)])
AIR = 1e-3 * np.array([59.3, 40.0, 33.6, 30.4, 28.3, 26.0, 23.1, 18.2, 11.6, 6.1, 4.06])
"""T, 3000 ampere-turns, |B| at AIR_POINTS."""

HALF_TURN = Image(flip=(-1, -1, 1), charge=1)
SYMMETRIES = (HALF_TURN, CROSSED_Z)


def coil():
    """One ampere-turn, spread evenly over a section of 25 x 100 mm, as filaments."""
    across, across_weight = np.polynomial.legendre.leggauss(4)
    upward, upward_weight = np.polynomial.legendre.leggauss(8)
    angle = np.pi / 2 * np.arange(13) / 12
    starts, ends, shares = [], [], []
    for a, u in zip(0.0125 * (1 + across), across_weight, strict=True):
        radius, straight = 0.025 + a, 0.05
        corners = [
            straight * np.sqrt(2) * np.exp(0.25j * np.pi * (2 * k + 1))
            + radius * np.exp(1j * (np.pi / 2 * k + angle))
            for k in range(4)
        ]
        point = np.concatenate(corners)
        for z, v in zip(0.05 * upward, upward_weight, strict=True):
            ring = np.column_stack([point.real, point.imag, np.full(len(point), z)])
            starts.append(ring)
            ends.append(np.roll(ring, -1, axis=0))
            shares.append(np.full(len(point), 0.25 * u * v))
    share = np.concatenate(shares)
    bare = np.zeros(len(share))
    return Filaments(
        start=np.concatenate(starts), end=np.concatenate(ends), width=bare, thickness=bare, share=share
    )


def coil_field():
    path = coil()
    return lambda points: flux_density_per_ampere(path, np.ascontiguousarray(points))


def millimetres(*lines):
    return tuple(1e-3 * np.array(line, dtype=float) for line in lines)


CENTRE_X = [0, 0.8, 1.3, 1.6]
ARM_X = [2.1, 2.4, 2.9, 3.7, 5, 7, 10, 14, 20, 28, 38, 50, 62, 74, 86, 96, 104, 110, 114, 116.5, 118.1, 118.9]
BACK_X = [120.5, 122.1]
PLATE_Y = [
    -25,
    -24.5,
    -23.5,
    -21.5,
    -18.5,
    -16,
    -15,
    -14,
    -11,
    -6,
    0,
    6,
    11,
    14,
    15,
    16,
    18.5,
    21.5,
    23.5,
    24.5,
    25,
]
ARM_Y = [15, 16, 18.5, 21.5, 23.5, 24.5, 25, 26, 28.5, 33, 40, 48, 56, 61, 64, 65]
UP_Z = [0, 2, 10, 18, 26, 34, 42, 49, 53, 56, 58, 59.2, 59.7, 60, 60.4, 61.1, 62.1, 62.8, 63.2]


def bodies(gap=0.5e-3):
    """Half of the centre plate and the right channel above z = 0, gap m apart: the rest are images."""
    start = 0.0016 + gap
    near = [1e3 * (start + (x * 1e-3 - 0.0021) * (0.02 - start) / 0.0179) for x in ARM_X if x < 20]
    far = [x for x in ARM_X if x >= 20]
    plate = Box(low=(0.0, -0.025, 0.0), high=(0.0016, 0.025, 0.0632))
    arm = Box(low=(start, 0.015, 0.06), high=(0.1221, 0.065, 0.0632))
    back = Box(low=(0.1189, 0.015, 0.0), high=(0.1221, 0.065, 0.0632))
    return (
        GradedBody(boxes=(plate,), lines=millimetres(CENTRE_X, PLATE_Y, UP_Z)),
        GradedBody(boxes=(arm, back), lines=millimetres(near + far + BACK_X, ARM_Y, UP_Z)),
    )
