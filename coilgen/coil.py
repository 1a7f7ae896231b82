"""What carries current: traces, vias and terminals in current order."""

from dataclasses import dataclass

from coilgen.geometry.path import Path
from coilgen.geometry.point import Point


@dataclass(frozen=True, kw_only=True)
class Trace:
    """A stroked path on one copper layer (1 = top), travelled in the sense of a positive current; width in m."""

    layer: int
    path: Path
    width: float


@dataclass(frozen=True, kw_only=True)
class Via:
    """A plated through hole joining two copper layers electrically; it passes all of them. Sizes in m."""

    at: Point
    drill: float
    pad: float
    joins: tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Terminal:
    """Where the current enters (1) or leaves (2). drill 0: a surface pad on `layer`; else a plated hole in all."""

    number: int
    at: Point
    pad: float
    drill: float
    layer: int


@dataclass(frozen=True, kw_only=True)
class Coil:
    """One shape's spiral stacked on the layers. Current passes traces in order, through vias between layers.

    turns: of the whole winding. pocket: closed path or None. says: what a designer must know of this winding.
    """

    traces: tuple[Trace, ...]
    vias: tuple[Via, ...]
    terminals: tuple[Terminal, Terminal]
    pocket: Path | None
    turns: float
    says: tuple[str, ...] = ()
