"""What a plate's heat is reckoned from: board, windings and bodies as polygons, air, drives."""

import math
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.body import Laminate, PocketCore, Supply, Surroundings

Floats = NDArray[np.float64]
Side = Literal["top", "bottom"]


@dataclass(frozen=True, kw_only=True, eq=False)
class SheetLayer:
    """One copper layer; thickness 0, m, stands for a bare face of the board.

    pours: polygons (n, 2) m of solid copper on it. Of all that is neither winding nor pour: pour_coverage is
    the share that is copper in one piece, island_coverage the share of the rest that pads cover.
    """

    thickness: float
    pour_coverage: float = 0.0
    island_coverage: float = 0.0
    pours: tuple[Floats, ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.thickness < math.inf:
            raise ValueError("thickness must not be negative")
        if not (0 <= self.pour_coverage <= 1 and 0 <= self.island_coverage <= 1):
            raise ValueError("a coverage lies from 0 to 1")
        for pour in self.pours:
            _polygon("a pour", pour)


@dataclass(frozen=True, kw_only=True, eq=False)
class StiffSheet:
    """A stiffener on a face, as warm as it; outline: polygon (n, 2) m; the rest as in Stiffened."""

    layer: int
    outline: Floats
    sheet: float
    capacity: float

    def __post_init__(self) -> None:
        _polygon("a stiffener's outline", self.outline)
        if not (0 < self.sheet < math.inf and 0 < self.capacity < math.inf):
            raise ValueError("sheet and capacity must be positive")


@dataclass(frozen=True, kw_only=True, eq=False)
class Tracks:
    """Copper beside turns that their current flows through too, in short parts, one after the other.

    at (k, 2) m; layer (k,), from 0 at the top; share (k,) of all their heat; conducts (k,) W m/K: copper's
    conductivity times the section on the way to the next, 0 where a track ends.
    """

    at: Floats
    layer: NDArray[np.int64]
    share: Floats
    conducts: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacedWinding:
    """A winding's copper seen from the top: its outer and inner edge as polygons (n, 2) m, no inner for none.

    For each copper layer from the top: coverage, the share between the edges that turns cover, 0 where it
    has none; resistance_20c of its turns there at 20 degC, ohm, as it adds to the winding's whole
    resistance. The turns follow the outer edge and heat the area between the edges evenly. tracks_20c: of the
    plate's tracks, ohm at 20 degC as they add to the winding's resistance.
    """

    outer: Floats
    coverage: tuple[float, ...]
    resistance_20c: tuple[float, ...]
    inner: Floats | None = None
    tracks_20c: float = 0.0

    def __post_init__(self) -> None:
        _polygon("a winding's outer edge", self.outer)
        if self.inner is not None:
            _polygon("a winding's inner edge", self.inner)
        if len(self.coverage) != len(self.resistance_20c):
            raise ValueError("coverage and resistance for each layer")
        if min(self.coverage) < 0 or max(self.coverage) > 1:
            raise ValueError("a coverage lies from 0 to 1")
        if min(self.resistance_20c) < 0 or not 0 < sum(self.resistance_20c) < math.inf:
            raise ValueError("resistance must be positive")


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacedBody:
    """A core, magnet or base plate held flat on a face of the board; outline and hole polygons (n, 2) m.

    The rest as in MountedPlate: thickness m, conductivity W/(m K), density kg/m³, heat_capacity J/(kg K),
    contact m² K/W with its band. It may reach over the board's edge; bodies on one face do not overlap.
    joined: whether it touches the board; one over a cut-out alone does not.
    """

    name: str
    face: Side
    outline: Floats
    thickness: float
    conductivity: float
    density: float
    heat_capacity: float
    contact: float
    contact_band: tuple[float, float] | None = None
    hole: Floats | None = None
    emissivity: float = 0.3
    joined: bool = True

    def __post_init__(self) -> None:
        _polygon("a body's outline", self.outline)
        if self.hole is not None:
            _polygon("a body's hole", self.hole)
        measures = (self.thickness, self.conductivity, self.density, self.heat_capacity)
        if not all(0 < each < math.inf for each in measures):
            raise ValueError("thickness, conductivity, density and heat capacity must be positive")
        low, high = self.contact_range
        if not 0 <= low <= self.contact <= high:
            raise ValueError("contact must lie in its band and not be negative")
        if not 0 <= self.emissivity <= 1:
            raise ValueError("emissivity lies from 0 to 1")

    @property
    def contact_range(self) -> tuple[float, float]:
        """Least and largest contact resistance, m² K/W."""
        return self.contact_band or (self.contact, self.contact)


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacedCore:
    """A core of one temperature in a cut-out, which touches the wall evenly; wall: its polygon (n, 2) m."""

    name: str
    wall: Floats
    core: PocketCore

    def __post_init__(self) -> None:
        _polygon("a core's wall", self.wall)


@dataclass(frozen=True, kw_only=True, eq=False)
class Plate:
    """A board of any outline with windings, what is mounted on it, and the air.

    outline and cutouts: polygons (n, 2) m, y upright when the board stands on edge; layers from the top
    face to the bottom face, two at least; dielectric: m, between each two of them; emissivity of the board's
    faces; temperature_coefficient of copper's resistance, 1/K at 20 degC (IEC 60028, 1925).
    heated: numbers of the windings that are driven, whose surroundings warm the air; all by default. tracks:
    copper that joins windings. stiffeners: what lies on its faces and spreads heat with them.
    """

    outline: Floats
    layers: tuple[SheetLayer, ...]
    dielectric: tuple[float, ...]
    laminate: Laminate
    windings: tuple[PlacedWinding, ...]
    surroundings: Surroundings
    cutouts: tuple[Floats, ...] = ()
    bodies: tuple[PlacedBody, ...] = ()
    cores: tuple[PlacedCore, ...] = ()
    emissivity: float = 0.9
    temperature_coefficient: float = 0.00393
    heated: tuple[int, ...] | None = None
    tracks: Tracks | None = None
    stiffeners: tuple[StiffSheet, ...] = ()

    def __post_init__(self) -> None:
        _polygon("the outline", self.outline)
        for cutout in self.cutouts:
            _polygon("a cut-out", cutout)
        if len(self.layers) < 2 or len(self.dielectric) != len(self.layers) - 1:
            raise ValueError("two layers at least, and one dielectric between each two")
        if not all(0 < each < math.inf for each in self.dielectric):
            raise ValueError("a dielectric's thickness must be positive")
        if not self.windings:
            raise ValueError("one winding at least")
        if any(len(winding.coverage) != len(self.layers) for winding in self.windings):
            raise ValueError("each winding tells its coverage for every layer")
        names = ["board", *(body.name for body in self.bodies), *(core.name for core in self.cores)]
        if len(set(names)) < len(names):
            raise ValueError("each body has a name of its own, other than board")
        if not 0 <= self.emissivity <= 1 or not 0 <= self.temperature_coefficient < math.inf:
            raise ValueError("emissivity lies from 0 to 1, the temperature coefficient is not negative")
        if self.tracks is None and any(winding.tracks_20c for winding in self.windings):
            raise ValueError("a winding's tracks need a place")
        if not set(self.warm) <= set(range(len(self.windings))) or not self.warm:
            raise ValueError("heated names windings by their numbers")

    @property
    def thickness(self) -> float:
        """Copper and dielectric together, m."""
        return sum(layer.thickness for layer in self.layers) + sum(self.dielectric)

    @property
    def warm(self) -> tuple[int, ...]:
        """Numbers of the windings that are driven."""
        return tuple(range(len(self.windings))) if self.heated is None else self.heated


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """A supply with the windings, by number, that its current flows through one after the other."""

    supply: Supply
    windings: tuple[int, ...]

    def __post_init__(self) -> None:
        if not self.windings or len(set(self.windings)) < len(self.windings):
            raise ValueError("a circuit has windings, each once")


def bounded(plate: Plate, *, air: int | None = None, joints: int | None = None) -> Plate:
    """The same at an end of a band, 0 the least and 1 the most: of convection, of contact resistances.

    A core in a cut-out has no band of its own; tell it at the end that is meant.
    """
    found = plate
    if air is not None:
        factor = plate.surroundings.convection_band[air]
        surroundings = replace(plate.surroundings, convection_factor=factor, convection_band=(factor, factor))
        found = replace(found, surroundings=surroundings)
    if joints is not None:
        found = replace(found, bodies=tuple(_joined(body, joints) for body in found.bodies))
    return found


def _joined(body: PlacedBody, end: int) -> PlacedBody:
    contact = body.contact_range[end]
    return replace(body, contact=contact, contact_band=(contact, contact))


def _polygon(name: str, polygon: Floats) -> None:
    if polygon.ndim != 2 or polygon.shape[1] != 2 or len(polygon) < 3 or not np.isfinite(polygon).all():
        raise ValueError(f"{name} is a polygon of three points at least, (n, 2)")
