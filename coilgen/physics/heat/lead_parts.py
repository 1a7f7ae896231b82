"""Nodes of leads as they are laid, and how their heat gets into the laminate round them."""

import math

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.body import COPPER_CONDUCTIVITY, Laminate
from coilgen.physics.heat.faces import Face
from coilgen.physics.heat.lead_body import Stretch

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]
Joint = tuple[Indices, Indices, Floats]

LOSS = 20.0
"""W/(m² K), convection and radiation of both faces, on the weak side: for cells, and for how a lead's heat
spreads in the winding's part of the board."""


@dataclass(frozen=True, kw_only=True)
class LeadNodes:
    """What leads add to a network: joints, and (n,) of all nodes or of its own, from `first` on.

    capacity J/K, resistance_20c ohm; copper, strip: numbers of nodes.
    """

    joints: list[Joint]
    capacity: Floats
    resistance_20c: Floats
    faces: list[Face]
    copper: Indices
    strip: Indices


@dataclass(frozen=True)
class Sheet:
    """Laminate with its mask or coverlay; thickness m."""

    laminate: Laminate
    thickness: float

    @property
    def along(self) -> float:
        """Conductivity times thickness, W/K."""
        return self.laminate.conductivity_in_plane * self.thickness

    @property
    def fin(self) -> float:
        """Over which warmth fades by a factor e, m."""
        return math.sqrt(self.along / LOSS)


def edge_resistance(width: float, thickness: float, laminate: Laminate, *, passing: bool = False) -> float:
    """Of a slab of laminate, over what its sheet tells, from a strip on its face to one side, K m/W.

    Between the strip, of one temperature, and the far slab, counted from the strip's edge: with both sides
    alike 2/(pi k) ln(2 / (1 - exp(-pi w / (2 t)))), by the conformal map of half a slab to a half plane, in
    which strip and far end are a segment and infinity (own derivation); k the geometric mean of both
    conductivities, t stretched by the root of their ratio. A wide strip leaves 2 ln 2 / (pi k). passing:
    with one side as much warmer as the other is colder, 1 + exp in place of 1 - exp: a narrow strip leaves
    the slab's own w / (2 k t).
    """
    stretched = thickness * math.sqrt(laminate.conductivity_in_plane / laminate.conductivity)
    mean = math.sqrt(laminate.conductivity_in_plane * laminate.conductivity)
    fading = math.exp(-math.pi * width / 2 / stretched)
    return 2 / (math.pi * mean) * math.log(2 / (1 + fading if passing else 1 - fading))


class Made:
    """Nodes as they are laid."""

    def __init__(self, first: int) -> None:
        self.count = first
        self.joints: list[Joint] = []
        self.capacity: list[float] = []
        self.resistance: list[float] = []
        self.copper: list[int] = []
        self.strip: list[int] = []
        self.faces: list[Face] = []

    def node(self, capacity: float, resistance: float = 0.0, *, strip: bool = False) -> int:
        """A new node; one with a resistance is copper of a lead."""
        self.capacity.append(capacity)
        self.resistance.append(resistance)
        number, self.count = self.count, self.count + 1
        if resistance:
            self.copper.append(number)
        if strip:
            self.strip.append(number)
        return number

    def join(self, one: int, other: int, conductance: float) -> None:
        """W/K."""
        self.joints.append((np.array([one]), np.array([other]), np.array([conductance])))

    def found(self) -> LeadNodes:
        """All of them."""
        return LeadNodes(
            joints=self.joints,
            capacity=np.array(self.capacity),
            resistance_20c=np.array(self.resistance),
            faces=self.faces,
            copper=np.array(self.copper, dtype=np.int64),
            strip=np.array(self.strip, dtype=np.int64),
        )


@dataclass(frozen=True)
class Root:
    """A lead's last node so far, and the resistance of copper from there to its end, K/W."""

    node: int
    left: float


def half(stretch: Stretch) -> float:
    """Of half a stretch's copper along it, K/W."""
    return stretch.length / 2 / (COPPER_CONDUCTIVITY * stretch.section)
