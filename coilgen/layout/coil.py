"""What carries current: traces, vias and terminals in current order."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from coilgen.design.stackup import Stackup
from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point
from coilgen.physics.base.conductor import Conductor

NET = "COIL"
"""A winding is one conductor from terminal to terminal, so all its copper is one net; the only one's name."""

BARREL_PLATING = 20e-6
"""Copper wall of plated holes, m: least average of IPC-6012 class 2, value from memory."""


@dataclass(frozen=True, kw_only=True)
class Trace:
    """A stroked path on one copper layer (1 = top), travelled in the sense of a positive current.

    Width in m. is_lead: a lead down a tail, or to a terminal in a width of its own.
    """

    layer: int
    path: Path
    width: float
    net: str = NET
    is_lead: bool = False


@dataclass(frozen=True, kw_only=True)
class Via:
    """A plated through hole joining copper layers electrically; it passes all of them. Sizes in m."""

    at: Point
    drill: float
    pad: float
    joins: tuple[int, ...]
    net: str = NET


@dataclass(frozen=True, kw_only=True)
class Finger:
    """A contact finger: its middle, from its root's round end to its tip's, its width (m), its number."""

    at: Point
    span: Point
    width: float
    number: int

    def moved(self, isometry: Isometry) -> "Finger":
        """The image of the finger."""
        return replace(self, at=isometry.point(self.at), span=isometry.point(self.span) - isometry.point(0j))


@dataclass(frozen=True, kw_only=True)
class Terminal:
    """Where the current enters (1) or leaves (2).

    Drill 0: a surface pad on `layer`; else a plated hole in all. fingers: contact fingers in place of a pad,
    of its width; a lead reaches the first of them, at whose middle the terminal is.
    """

    number: int
    at: Point
    pad: float
    drill: float
    layer: int
    net: str = NET
    fingers: tuple[Finger, ...] = ()

    def moved(self, isometry: Isometry) -> "Terminal":
        """The image of the terminal."""
        fingers = tuple(each.moved(isometry) for each in self.fingers)
        return replace(self, at=isometry.point(self.at), fingers=fingers)


@dataclass(frozen=True, kw_only=True, repr=False)
class TailStrip:
    """The tail of a board, and the board's outline with it.

    origin: on the tail's middle line, level with the edge of the winding's part of the board, `head`. out:
    unit vector along the tail. window: what is bare round contact fingers, which are those of terminals and
    idle ones, joined to nothing. terminals_from: how far along the tail its straight leads end, m.
    """

    origin: Point
    out: Point
    length: float
    width: float
    head: Path
    outline: Path
    terminals_from: float
    window: Path | None = None
    idle_fingers: tuple[Finger, ...] = ()

    def at(self, along: float, aside: float = 0.0) -> Point:
        """A point so far along the tail and, from its middle line, to its left, m."""
        return self.origin + self.out * complex(along, aside)

    def moved(self, isometry: Isometry) -> "TailStrip":
        """The image of the tail."""
        return replace(
            self,
            origin=isometry.point(self.origin),
            out=isometry.point(self.out) - isometry.point(0j),
            head=self.head.moved(isometry),
            outline=self.outline.moved(isometry),
            window=None if self.window is None else self.window.moved(isometry),
            idle_fingers=tuple(each.moved(isometry) for each in self.idle_fingers),
        )


@dataclass(frozen=True, kw_only=True, repr=False)
class Coil:
    """One shape's spiral stacked on the layers. Current passes traces in order, through vias between layers.

    parallel: indices of the traces that carry the current side by side; empty when all are in series.
    turns: of the whole winding, as the current meets them. pockets: closed paths. says: what a designer must
    know of this winding.
    """

    traces: tuple[Trace, ...]
    vias: tuple[Via, ...]
    terminals: tuple[Terminal, ...]
    pockets: tuple[Path, ...]
    turns: float
    parallel: tuple[int, ...] = ()
    says: tuple[str, ...] = ()
    tail: TailStrip | None = None

    def moved(self, isometry: Isometry) -> "Coil":
        """The image of the coil."""
        return replace(
            self,
            traces=tuple(replace(trace, path=trace.path.moved(isometry)) for trace in self.traces),
            vias=tuple(replace(via, at=isometry.point(via.at)) for via in self.vias),
            terminals=tuple(each.moved(isometry) for each in self.terminals),
            tail=None if self.tail is None else self.tail.moved(isometry),
            pockets=tuple(_counterclockwise(pocket.moved(isometry)) for pocket in self.pockets),
        )

    def etched(self, wider: float) -> "Coil":
        """The coil with every trace wider by so much than drawn, m, about the same middle line.

        Of a trace a twentieth is left, however much is etched away.
        """
        widths = [max(trace.width + wider, 0.05 * trace.width) for trace in self.traces]
        pairs = zip(self.traces, widths, strict=True)
        return replace(self, traces=tuple(replace(trace, width=width) for trace, width in pairs))

    def __repr__(self) -> str:
        return f"<Coil: {self.turns:g} turns, {len(self.traces)} traces, {len(self.vias)} vias>"


def _counterclockwise(path: Path) -> Path:
    return path if path.swept_area > 0 else path.reversed()


@dataclass(frozen=True, kw_only=True)
class Strand:
    """Traces that carry the same share of the coil's current, as arrays for the solvers."""

    conductor: Conductor
    share: float


def copper_reach(coil: Coil) -> float:
    """The largest distance of a winding's copper from the origin along x or y, m; leads and pads left out."""
    corners = [(corner, trace.width / 2) for trace in coil.traces for corner in extent(trace.path)]
    return max(max(abs(at.real), abs(at.imag)) + half for at, half in corners)


def trace_shares(coil: Coil, stackup: Stackup) -> tuple[float, ...]:
    """Share of the direct current that each trace carries: parallel ones divide it by their conductances."""
    sections = [1.0] * len(coil.traces)
    for index in coil.parallel:
        trace = coil.traces[index]
        sections[index] = stackup.copper[trace.layer - 1] * trace.width / trace.path.length
    total = sum(sections[index] for index in coil.parallel)
    return tuple(
        sections[index] / total if index in coil.parallel else 1.0 for index in range(len(coil.traces))
    )


def layer_shares(coil: Coil, shares: Sequence[float]) -> dict[int, float]:
    """Share of the current in each layer's winding, of those of the traces; a lead on a wound layer goes with
    the winding."""
    found: dict[int, float] = {}
    for share, trace in zip(shares, coil.traces, strict=True):
        found[trace.layer] = min(share, found.get(trace.layer, 1.0))
    return found


def strands(coil: Coil, stackup: Stackup) -> tuple[Strand, ...]:
    """The coil divided by the current that its traces carry; one strand when all is in series."""
    shares = trace_shares(coil, stackup)
    return tuple(
        Strand(
            conductor=conductor(_traces_with(coil, shares, share), stackup),
            share=share,
        )
        for share in dict.fromkeys(shares)
    )


def _traces_with(coil: Coil, shares: tuple[float, ...], share: float) -> Coil:
    chosen = tuple(trace for trace, own in zip(coil.traces, shares, strict=True) if own == share)
    return replace(coil, traces=chosen, parallel=())


def conductor(coil: Coil, stackup: Stackup) -> Conductor:
    """The coil's traces as arrays in current order, at the heights and thicknesses of the stack-up."""
    pieces = [(trace, segment) for trace in coil.traces for segment in trace.path.segments]
    layers = np.array([trace.layer for trace, _ in pieces])
    heights = np.array([stackup.height(layer) for layer in range(1, stackup.layers + 1)])
    return Conductor(
        start=columns([segment.start for _, segment in pieces]),
        end=columns([segment.end for _, segment in pieces]),
        centre=columns([centre(segment) for _, segment in pieces]),
        sweep=np.array([segment.turning for _, segment in pieces]),
        width=np.array([trace.width for trace, _ in pieces]),
        thickness=np.array(stackup.copper)[layers - 1],
        z=heights[layers - 1],
        layer=layers,
    )


def trace_of_pieces(coil: Coil) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Of each piece of `conductor`, the number (pieces,) of the trace that it is of."""
    counts = [len(trace.path.segments) for trace in coil.traces]
    return np.repeat(np.arange(len(counts)), counts)


def columns(points: list[Point]) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Points as x and y, (n, 2) m."""
    flat = np.array(points)
    return np.column_stack([flat.real, flat.imag])


def centre(segment: Segment) -> Point:
    """Of an arc; nan for a straight piece."""
    return segment.centre if isinstance(segment, Arc) else complex(np.nan, np.nan)
