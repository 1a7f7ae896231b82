"""Leads between a winding and its terminals, as what their own heat is reckoned from."""

import math

from coilgen.frozen import dataclass
from coilgen.physics.heat.outline import Outline


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Of a lead: length, width and thickness of its copper m, copper layer from 0, ohm at 20 degC.

    No ohm: nothing heats it, as its winding carries no current. beside: how far other leads run from it over
    the winding's part of the board, m.
    """

    length: float
    width: float
    thickness: float
    layer: int
    resistance_20c: float
    beside: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        for name in ("length", "width", "thickness"):
            if not 0 < getattr(self, name) < math.inf:
                raise ValueError(f"{name} must be positive")
        if not 0 <= self.resistance_20c < math.inf:
            raise ValueError("resistance_20c must not be negative")

    @property
    def section(self) -> float:
        """Of the copper, m²."""
        return self.width * self.thickness


@dataclass(frozen=True, kw_only=True)
class Lead:
    """A lead from the winding outward: near, over the winding's part of the board; far, down the strip.

    across: of its middle from the strip's middle line, m.
    """

    near: tuple[Stretch, ...]
    far: tuple[Stretch, ...]
    across: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Stiff:
    """What stiffens a strip from a place to another along it, m: conductivity times thickness W/K, heat
    capacity of an area J/(m² K)."""

    start: float
    end: float
    sheet: float
    capacity: float


@dataclass(frozen=True, kw_only=True)
class Strip:
    """A strip of board that leaves the winding's part; length and width m.

    outline: by which convection counts its faces.
    """

    length: float
    width: float
    outline: Outline
    stiff: tuple[Stiff, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Leads:
    """All leads; strip: None where none leaves the winding's part of the board.

    covers: thickness of mask or coverlay on top and bottom, m, taken to conduct as the laminate.
    """

    leads: tuple[Lead, ...]
    strip: Strip | None
    covers: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        if not any(lead.near or lead.far for lead in self.leads):
            raise ValueError("one stretch of a lead at least")
        if self.strip is None and any(lead.far for lead in self.leads):
            raise ValueError("leads go down a strip")
