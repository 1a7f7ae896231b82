"""Natural convection in still air from flat faces, upright and lying: of free bodies, and of one face alone.

The two faces of a small free body share their air: what the lower one has warmed rises round the rim and
over the upper one, and together they lose about three quarters of what each would lose alone.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.constants import GRAVITY
from coilgen.physics.heat.air import air

Floats = NDArray[np.float64]
Facing = Literal["vertical", "up", "down"]

DEAD_AIR = 0.93
"""Of the two-sided forms, without any draught: a disc of 24.8 mm, 70 K over the air, loses 17.7 W/(m² K) from
both faces together where Kobus and Wedekind's form has 19.0 (own solution of the flow, computed and not
measured: axisymmetric, steady, Boussinesq)."""
ALONE_IN_DEAD_AIR: Mapping[Facing, float] = MappingProxyType({"vertical": 1.0, "up": 0.86, "down": 0.94})
"""Of the forms of a single face, likewise: that disc's upper face alone 12.1 for 14.0 W/(m² K), its lower
alone 11.4 for 12.1 (same solution); none was made for an upright one."""
UPPER_SHARE = 0.8
"""Of the mean over both faces of a lying body, its upper face's; the lower has the rest (same solution)."""
EDGE_EXPONENT = 1 / 3
"""Growth of the local coefficient towards the rim, as (1 - r²/R²) to its negative. A half is heat conducted
away from a disc (Weber 1873); laminar layers from an edge go with 1/5 to 2/5 of the distance (Stewartson,
ZAMP 9, 1958; values from memory). With a third the solution of the flow comes out on thin boards too."""
_CONDUCTION = 8 / np.pi
"""Nusselt number of an isothermal disc in air that does not move, by its diameter (Weber 1873)."""
_BLEND = 32
"""Power by which forms are joined that take over from one another; large: the larger one holds."""
LEAST_EXCESS = 0.05
"""K, added in squares to a face's excess over the air, to keep the forms finite and smooth at none."""


def rayleigh(surface: ArrayLike, ambient: ArrayLike, length: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Rayleigh number, Prandtl number and conductivity W/(m K) of the air at the film temperature.

    surface and ambient in K, length in m. Film temperature: the mean of surface and ambient. The sign of
    the difference does not count: a cold face pulls the air down as a hot one drives it up.
    """
    still = _still(surface, ambient)
    return still.rayleigh(np.asarray(length)), still.prandtl, still.conductivity


@dataclass(frozen=True, kw_only=True)
class _Still:
    """Air at the film temperature: drive: Rayleigh number over the cube of a length, 1/m³; prandtl;
    conductivity W/(m K)."""

    drive: Floats
    prandtl: Floats
    conductivity: Floats

    def rayleigh(self, length: Floats) -> Floats:
        """Of a length, m."""
        return self.drive * length**3


def _still(surface: ArrayLike, ambient: ArrayLike) -> _Still:
    surface, ambient = np.asarray(surface, dtype=np.float64), np.asarray(ambient)
    film = air((surface + ambient) / 2)
    excess = np.hypot(surface - ambient, LEAST_EXCESS)
    drive = GRAVITY * film.expansion * excess * film.prandtl / film.kinematic_viscosity**2
    return _Still(drive=drive, prandtl=film.prandtl, conductivity=film.conductivity)


def vertical_plate(rayleigh: ArrayLike, prandtl: ArrayLike) -> Floats:
    """Mean Nusselt number of a vertical plate over its height, all Rayleigh numbers to 1e12.

    Churchill and Chu, International Journal of Heat and Mass Transfer 18, 1975. The plate of Incropera's
    example 9.2, Rayleigh 1.813e9, has 147 (as the documentation of the library ht quotes it):

    >>> float(np.round(vertical_plate(1.813e9, 0.69), 0))
    147.0
    """
    spread = (1 + (0.492 / np.asarray(prandtl)) ** (9 / 16)) ** (8 / 27)
    nusselt: Floats = (0.825 + 0.387 * np.asarray(rayleigh) ** (1 / 6) / spread) ** 2
    return nusselt


def horizontal_plate_up(rayleigh: ArrayLike, prandtl: ArrayLike) -> Floats:
    """Mean Nusselt number of a hot plate that faces up, over area/perimeter; Rayleigh 1 to 1e10.

    Laminar layer corrected for its thickness, blended with turbulence; small discs included. Raithby and
    Hollands, in Handbook of Heat Transfer, 3rd edition, 1998, as the library ht has it but for two
    constants from memory: the laminar 0.671, where ht has less, and 0.0107 (ht: 0.01707), 0.4 % of the
    turbulent part in air.
    """
    ra, pr = np.asarray(rayleigh, dtype=np.float64), np.asarray(prandtl, dtype=np.float64)
    slope = 0.671 / (1 + (0.492 / pr) ** (9 / 16)) ** (4 / 9)
    laminar = 1.4 / np.log1p(1.4 / (0.835 * slope * ra**0.25))
    turbulent = 0.14 * np.cbrt(ra) * (1 + 0.0107 * pr) / (1 + 0.01 * pr)
    nusselt: Floats = (laminar**10 + turbulent**10) ** 0.1
    return nusselt


def horizontal_plate_down(rayleigh: ArrayLike, prandtl: ArrayLike) -> Floats:
    """Mean Nusselt number of a hot plate that faces down, over area/perimeter; Rayleigh 1 to 1e10.

    Raithby and Hollands, in Handbook of Heat Transfer, 3rd edition, 1998, as the library ht has it.
    """
    ra, pr = np.asarray(rayleigh, dtype=np.float64), np.asarray(prandtl, dtype=np.float64)
    layer = 0.527 * ra**0.2 / (1 + (1.9 / pr) ** 0.9) ** (2 / 9)
    nusselt: Floats = 2.5 / np.log1p(2.5 / layer)
    return nusselt


def _larger(*forms: Floats) -> Floats:
    """The largest of some forms, without a kink where one takes over."""
    most: Floats = np.asarray(sum(form**_BLEND for form in forms)) ** (1 / _BLEND)
    return most


def lying_disc(rayleigh: ArrayLike) -> Floats:
    """Nusselt number of a free lying disc, mean over both faces, by its diameter; Rayleigh 0 to 3e7, air.

    Kobus and Wedekind, International Journal of Heat and Mass Transfer 38, 1995, and 44, 2001 (form and
    constants from memory); under their least Rayleigh number, 200, the air conducts alone.

    >>> [round(float(lying_disc(ra)), 2) for ra in (0.0, 1e3, 6.1e4)]
    [2.55, 4.32, 8.25]
    """
    ra = np.asarray(rayleigh, dtype=np.float64)
    return _larger(np.asarray(_CONDUCTION), 1.759 * ra**0.130, 0.9724 * ra**0.194)


def upright_disc(rayleigh: ArrayLike) -> Floats:
    """Nusselt number of a free upright disc of air's Prandtl number, by its diameter; Rayleigh 0 to 1e8.

    What the still air conducts and what the layer carries, added: Lee, Yovanovich and Jafarpur, Journal of
    Thermophysics and Heat Transfer 5, 1991 (form and constants from memory).
    """
    ra = np.asarray(rayleigh, dtype=np.float64)
    nusselt: Floats = _CONDUCTION + 0.511 * ra**0.25
    return nusselt


NUSSELT: Mapping[Facing, Callable[[ArrayLike, ArrayLike], Floats]] = MappingProxyType(
    {"vertical": vertical_plate, "up": horizontal_plate_up, "down": horizontal_plate_down}
)
FACINGS: tuple[Facing, ...] = tuple(NUSSELT)
RANGE: Mapping[Facing, tuple[float, float]] = MappingProxyType(
    {"vertical": (0.0, 1e12), "up": (1.0, 1e10), "down": (1.0, 1e10)}
)
"""Rayleigh numbers each form of a single face is good for."""
LARGEST_LYING = 3e7
"""Rayleigh number by the breadth, up to which the form of a free lying body is good."""


@dataclass(frozen=True, kw_only=True)
class Shown:
    """What s faces offer to the air, each (s,).

    facing: index into FACINGS. free: 1 for a face of a free body, whose other face is as warm; 0 for a face
    whose other side takes no part, as it lies on a wide plate; between them in proportion. height m, of the
    body when upright; breadth m: diameter of a disc, side of a square, four times area over perimeter.
    """

    facing: NDArray[np.int64]
    free: Floats
    height: Floats
    breadth: Floats

    @property
    def upright(self) -> NDArray[np.bool_]:
        """Which faces stand upright; the others lie."""
        return np.asarray(self.facing == FACINGS.index("vertical"))

    @property
    def alone_length(self) -> Floats:
        """Length in the forms of a single face, m: height when upright, area over perimeter when lying."""
        return np.where(self.upright, self.height, self.breadth / 4)


def film_coefficient(shown: Shown, surface: ArrayLike, ambient: ArrayLike) -> Floats:
    """Mean coefficient of natural convection W/(m² K) of each face; surface (…, s) and ambient K,
    a number or (…, 1).

    A face colder than the air is taken as a hot one.
    """
    still = _still(surface, ambient)
    if np.all(shown.free == 1):
        return _free_coefficient(shown, still)
    alone = _alone_coefficient(shown, still)
    if not np.any(shown.free):
        return alone
    coefficient: Floats = shown.free * _free_coefficient(shown, still) + (1 - shown.free) * alone
    return coefficient


def _alone_coefficient(shown: Shown, still: _Still) -> Floats:
    """Of single faces in dead air; nothing is computed for facings that no face has."""
    length, there = shown.alone_length, set(shown.facing.tolist())
    ra = still.rayleigh(length)
    forms = [
        ALONE_IN_DEAD_AIR[facing] * NUSSELT[facing](ra, still.prandtl)
        if place in there
        else np.zeros_like(ra)
        for place, facing in enumerate(FACINGS)
    ]
    coefficient: Floats = np.choose(shown.facing, forms) * still.conductivity / length
    return coefficient


def _free_coefficient(shown: Shown, still: _Still) -> Floats:
    """Of a free body's faces in dead air; what a lying one loses is shared out between upper and lower."""
    if shown.upright.all():
        return DEAD_AIR * _upright_coefficient(shown, still)
    lying = np.where(shown.facing == FACINGS.index("up"), UPPER_SHARE, 2 - UPPER_SHARE) * (
        lying_disc(still.rayleigh(shown.breadth)) * still.conductivity / shown.breadth
    )
    if not shown.upright.any():
        return DEAD_AIR * lying
    return DEAD_AIR * np.where(shown.upright, _upright_coefficient(shown, still), lying)


def _upright_coefficient(shown: Shown, still: _Still) -> Floats:
    """The layer goes with the height, what is conducted away with the breadth; a tall one is a wide plate."""
    ra = still.rayleigh(shown.height)
    layer = (upright_disc(ra) - _CONDUCTION) / shown.height + _CONDUCTION / shown.breadth
    coefficient: Floats = still.conductivity * _larger(
        layer, vertical_plate(ra, still.prandtl) / shown.height
    )
    return coefficient


def edge_growth(inner: ArrayLike, outer: ArrayLike, radius: float) -> Floats:
    """Local coefficient over a disc's mean one, each the mean over a ring; inner, outer and radius m.

    >>> float(edge_growth(0.0, 1e-2, 1e-2))
    1.0
    >>> bool(edge_growth(0.0, 1e-3, 1e-2) < edge_growth(9e-3, 1e-2, 1e-2))
    True
    """
    beyond = [1 - np.clip((np.asarray(edge) / radius) ** 2, 0.0, 1.0) for edge in (inner, outer)]
    power = 1 - EDGE_EXPONENT
    growth: Floats = (beyond[0] ** power - beyond[1] ** power) / (beyond[0] - beyond[1])
    return growth


def in_range(shown: Shown, surface: ArrayLike, ambient: ArrayLike) -> bool:
    """Whether every face's Rayleigh number lies where its forms are good; arguments as above."""
    still = _still(surface, ambient)
    ra = still.rayleigh(shown.alone_length)
    ranges = np.array([RANGE[name] for name in FACINGS])[shown.facing]
    alone = (shown.free == 1) | ((ra >= ranges[:, 0]) & (ra <= ranges[:, 1]))
    lying = (shown.free > 0) & ~shown.upright
    wide = lying & (still.rayleigh(shown.breadth) > LARGEST_LYING)
    return bool(np.all(alone & ~wide))
