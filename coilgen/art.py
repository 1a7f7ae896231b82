"""What is made: copper, holes, mask openings, legend and profile of the board."""

from dataclasses import dataclass

from coilgen.coil import Trace
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point

NET = "COIL"
"""The winding is one conductor from terminal to terminal: all its copper is one net."""


@dataclass(frozen=True, kw_only=True)
class Pad:
    """A round pad on one copper layer; terminal is its number or None for a via's pad."""

    layer: int
    at: Point
    diameter: float
    terminal: int | None


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A drilled round hole through the board; terminal is its number or None for a via."""

    at: Point
    diameter: float
    plated: bool
    terminal: int | None


@dataclass(frozen=True, kw_only=True)
class Opening:
    """A round opening in the solder mask or coverlay; side is "top" or "bottom"."""

    side: str
    at: Point
    diameter: float


@dataclass(frozen=True, kw_only=True)
class Stroke:
    """A printed line of the top legend."""

    path: Path
    width: float


@dataclass(frozen=True, kw_only=True)
class Art:
    """Everything the fab makes. Traces are stroked with a round tool: round ends, round outer corners.

    copper_layers: of the stack-up, wound or not. outline and pocket are closed paths, counter-clockwise, or None.
    """

    copper_layers: int
    traces: tuple[Trace, ...]
    pads: tuple[Pad, ...]
    holes: tuple[Hole, ...]
    openings: tuple[Opening, ...]
    legend: tuple[Stroke, ...]
    outline: Path | None
    pocket: Path | None

    def traces_on(self, layer: int) -> tuple[Trace, ...]:
        """Traces of one copper layer, in current order."""
        return tuple(trace for trace in self.traces if trace.layer == layer)

    def pads_on(self, layer: int) -> tuple[Pad, ...]:
        """Pads of one copper layer."""
        return tuple(pad for pad in self.pads if pad.layer == layer)
