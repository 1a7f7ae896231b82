"""Natural convection from flat isothermal faces in still air: vertical, facing up, facing down."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coilgen.physics.base.constants import GRAVITY
from coilgen.physics.heat.air import air

Floats = NDArray[np.float64]
Facing = Literal["vertical", "up", "down"]

TOLERANCE = 0.25
"""Relative band of a coefficient of natural convection in a room (common practice, no source)."""
LEAST_EXCESS = 0.05
"""K, added in squares to a face's excess over the air, to keep the forms finite and smooth at none."""


def rayleigh(surface: ArrayLike, ambient: float, length: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Rayleigh number, Prandtl number and conductivity W/(m K) of the air at the film temperature.

    surface and ambient in K, length in m. Film temperature: the mean of surface and ambient. The sign of
    the difference does not count: a cold face pulls the air down as a hot one drives it up.
    """
    surface = np.asarray(surface, dtype=np.float64)
    film = air((surface + ambient) / 2)
    excess = np.hypot(surface - ambient, LEAST_EXCESS)
    grashof = GRAVITY * film.expansion * excess * np.asarray(length) ** 3 / film.kinematic_viscosity**2
    return grashof * film.prandtl, film.prandtl, film.conductivity


def vertical_plate(rayleigh: ArrayLike, prandtl: ArrayLike) -> Floats:
    """Mean Nusselt number of a vertical plate over its height, all Rayleigh numbers to 1e12.

    Churchill and Chu, International Journal of Heat and Mass Transfer 18, 1975. The plate of Incropera's
    example 9.2, Rayleigh 1.813e9, has 147 (value from memory):

    >>> float(np.round(vertical_plate(1.813e9, 0.69), 0))
    147.0
    """
    spread = (1 + (0.492 / np.asarray(prandtl)) ** (9 / 16)) ** (8 / 27)
    nusselt: Floats = (0.825 + 0.387 * np.asarray(rayleigh) ** (1 / 6) / spread) ** 2
    return nusselt


def horizontal_plate_up(rayleigh: ArrayLike, prandtl: ArrayLike) -> Floats:
    """Mean Nusselt number of a hot plate that faces up, over area/perimeter; Rayleigh 1 to 1e10.

    Laminar layer corrected for its thickness, blended with turbulence; small discs included. Raithby and
    Hollands, in Handbook of Heat Transfer, 3rd edition, 1998 (value from memory).
    """
    ra, pr = np.asarray(rayleigh, dtype=np.float64), np.asarray(prandtl, dtype=np.float64)
    slope = 0.671 / (1 + (0.492 / pr) ** (9 / 16)) ** (4 / 9)
    laminar = 1.4 / np.log1p(1.4 / (0.835 * slope * ra**0.25))
    turbulent = 0.14 * np.cbrt(ra) * (1 + 0.0107 * pr) / (1 + 0.01 * pr)
    nusselt: Floats = (laminar**10 + turbulent**10) ** 0.1
    return nusselt


def horizontal_plate_down(rayleigh: ArrayLike, prandtl: ArrayLike) -> Floats:
    """Mean Nusselt number of a hot plate that faces down, over area/perimeter; Rayleigh 1 to 1e10.

    Raithby and Hollands, in Handbook of Heat Transfer, 3rd edition, 1998 (value from memory).
    """
    ra, pr = np.asarray(rayleigh, dtype=np.float64), np.asarray(prandtl, dtype=np.float64)
    layer = 0.527 * ra**0.2 / (1 + (1.9 / pr) ** 0.9) ** (2 / 9)
    nusselt: Floats = 2.5 / np.log1p(2.5 / layer)
    return nusselt


NUSSELT: Mapping[Facing, Callable[[ArrayLike, ArrayLike], Floats]] = MappingProxyType(
    {"vertical": vertical_plate, "up": horizontal_plate_up, "down": horizontal_plate_down}
)
FACINGS: tuple[Facing, ...] = tuple(NUSSELT)
RANGE: Mapping[Facing, tuple[float, float]] = MappingProxyType(
    {"vertical": (0.0, 1e12), "up": (1.0, 1e10), "down": (1.0, 1e10)}
)
"""Rayleigh numbers each form is good for."""


def film_coefficient(
    facing: NDArray[np.int64], surface: ArrayLike, ambient: float, length: ArrayLike
) -> Floats:
    """Mean coefficient of natural convection W/(m² K) of each face.

    facing: index into FACINGS, (n,); surface (…, n) K; ambient K; length (n,) m: height of a vertical face,
    area/perimeter of a horizontal one. A face colder than the air is taken as a hot one.
    """
    ra, pr, conductivity = rayleigh(surface, ambient, length)
    forms = [form(ra, pr) for form in NUSSELT.values()]
    coefficient: Floats = np.choose(facing, forms) * conductivity / np.asarray(length)
    return coefficient


def in_range(facing: NDArray[np.int64], surface: ArrayLike, ambient: float, length: ArrayLike) -> bool:
    """Whether every face's Rayleigh number lies where its form is good; arguments as in film_coefficient."""
    ra = rayleigh(surface, ambient, length)[0]
    ranges = np.array([RANGE[name] for name in FACINGS])[facing]
    return bool(np.all((ra >= ranges[:, 0]) & (ra <= ranges[:, 1])))
