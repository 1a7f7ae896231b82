"""TEAM problem 7: an aluminium plate with a hole under a square coil, geometry and measured field.

K. Fujiwara and T. Nakata, COMPEL 9(3), 1990, 137-154. Plate 294 x 294 x 19 mm with a square hole, coil of
2742 ampere-turns (peak). Bz in 1e-4 T at z = 34 mm over x = 0, 18 ... 288 mm, along y = 72 mm and 144 mm: in
phase with the current's peak, and a quarter of a period later.
"""

import numpy as np

from coilgen.physics.base.constants import MU0
from coilgen.physics.field.filaments import Filaments
from coilgen.physics.field.kernel import flux_density_per_ampere
from coilgen.physics.metal.sheet_grid import SheetGrid, layers, openings

CONDUCTIVITY, SIDE, THICKNESS = 3.526e7, 0.294, 0.019
AMPERE_TURNS = 2742.0
FREQUENCIES = (50.0, 200.0)
POINTS = np.array([[x, y, 0.034] for y in (0.072, 0.144) for x in 0.018 * np.arange(17)])
MEASURED = {
    50.0: np.array(
        [
            [
                [-4.9, -1.16],
                [-17.88, 2.84],
                [-22.13, 4.15],
                [-20.19, 4],
                [-15.67, 3.07],
                [0.36, 2.31],
                [43.64, 1.89],
                [78.11, 4.97],
                [71.55, 12.61],
                [60.44, 14.15],
                [53.91, 13.04],
                [52.62, 12.4],
                [53.81, 12.05],
                [56.91, 12.27],
                [59.24, 12.66],
                [52.78, 9.96],
                [27.61, 2.36],
            ],
            [
                [-1.83, -1.63],
                [-8.5, -0.6],
                [-13.6, -0.43],
                [-15.21, 0.11],
                [-14.48, 1.26],
                [-5.62, 3.4],
                [28.77, 6.53],
                [60.34, 10.25],
                [61.84, 11.83],
                [56.64, 11.83],
                [53.4, 11.01],
                [52.36, 10.58],
                [53.93, 10.28],
                [56.82, 10.54],
                [59.48, 10.62],
                [52.08, 9.03],
                [26.56, 1.79],
            ],
        ]
    ),
    200.0: np.array(
        [
            [
                [-3.63, -1.38],
                [-18.46, 1.2],
                [-23.62, 2.15],
                [-21.59, 1.63],
                [-16.09, 1.1],
                [0.23, 0.27],
                [44.35, -2.28],
                [75.53, -1.4],
                [63.42, 4.17],
                [53.2, 3.94],
                [48.66, 4.86],
                [47.31, 4.09],
                [48.31, 3.69],
                [51.26, 4.6],
                [53.61, 3.48],
                [46.11, 4.1],
                [24.96, 0.98],
            ],
            [
                [0.86, -1.35],
                [-7, -0.71],
                [-11.58, -0.81],
                [-13.36, -0.67],
                [-13.77, 0.15],
                [-6.74, 1.39],
                [24.63, 2.67],
                [53.19, 3],
                [54.89, 4.01],
                [50.72, 3.8],
                [48.03, 4],
                [47.13, 3.02],
                [48.25, 2.8],
                [51.35, 2.78],
                [53.35, 1.58],
                [45.37, 1.37],
                [24.01, 0.93],
            ],
        ]
    ),
}


def rounded_square(half, radius, height, share):
    """One closed filament about the coil's centre: start, end (n, 3) and share (n,)."""
    angle = np.pi / 2 * np.arange(13) / 12
    corners = [
        np.exp(1j * (np.pi / 2 * k + angle)) * radius
        + (half - radius) * np.sqrt(2) * np.exp(1j * np.pi / 4 * (2 * k + 1))
        for k in range(4)
    ]
    point = np.concatenate(corners) + 0.194 + 0.1j
    start = np.column_stack([point.real, point.imag, np.full(len(point), height)])
    return start, np.roll(start, -1, axis=0), np.full(len(point), share)


def coil():
    """Section of 25 x 100 mm, z from 49 mm to 149 mm, as filaments at Gauss's points."""
    across, across_weight = np.polynomial.legendre.leggauss(4)
    upward, upward_weight = np.polynomial.legendre.leggauss(6)
    parts = [
        rounded_square(
            0.075 + 0.0125 * (1 + a), 0.025 + 0.0125 * (1 + a), 0.099 + 0.05 * b, AMPERE_TURNS * u * v / 4
        )
        for a, u in zip(across, across_weight, strict=True)
        for b, v in zip(upward, upward_weight, strict=True)
    ]
    start, end, share = (np.concatenate(one) for one in zip(*parts, strict=True))
    bare = np.zeros(len(share))
    return Filaments(start=start, end=end, width=bare, thickness=bare, share=share)


COIL = coil()


def plate_grid(count):
    """The plate with its hole, in `count` cells a side."""
    skin = 1.0 / np.sqrt(np.pi * max(FREQUENCIES) * MU0 * CONDUCTIVITY)
    thickness = layers(THICKNESS, skin)
    x = SIDE / count * np.arange(1, count)
    within = (x > 0.018 - 1e-9) & (x < 0.126 + 1e-9)
    metal, holes = openings(within[:, None] & within)
    return SheetGrid(
        cell=(SIDE / count, SIDE / count),
        origin=(0.0, 0.0),
        middle=THICKNESS - np.cumsum(thickness) + thickness / 2,
        thickness=thickness,
        metal=metal,
        holes=holes,
        conductivity=CONDUCTIVITY,
    )


def plate_field(grid, currents, points, frequency):
    """Bz (n,) T of the plate's currents, complex."""
    s, decays = 2j * np.pi * frequency, currents.relaxation
    share = -s * decays.amplitude / (1.0 + s * decays.time)
    stream = np.tensordot(share, currents.streams, 1)
    return sum(
        unit * flux_density_per_ampere(branches(grid, part), points)[:, 2]
        for unit, part in ((1.0, stream.real), (1j, stream.imag))
    )


def branches(grid, stream):
    """The currents across the edges between corners, as strips."""
    height = SIDE / (stream.shape[1] + 1)
    psi = np.pad(stream, ((0, 0), (1, 1), (1, 1)))
    starts, ends, thickness, shares = [], [], [], []
    for layer, (middle, thick) in enumerate(zip(grid.middle, grid.thickness, strict=True)):
        for axis, along, sign in ((0, 1j, -1.0), (1, 1.0, 1.0)):
            step = sign * np.diff(psi[layer], axis=axis)
            i, j = (index.ravel() for index in np.indices(step.shape))
            place = height * (i + 1j * j + 0.5 * (1j if axis else 1.0))
            for out, at in ((starts, place - 0.5 * height * along), (ends, place + 0.5 * height * along)):
                out.append(np.column_stack([at.real, at.imag, np.full(len(at), middle)]))
            thickness.append(np.full(len(i), thick))
            shares.append(step.ravel())
    thick = np.concatenate(thickness)
    return Filaments(
        start=np.concatenate(starts),
        end=np.concatenate(ends),
        width=np.full(len(thick), height),
        thickness=thick,
        share=np.concatenate(shares),
    )
