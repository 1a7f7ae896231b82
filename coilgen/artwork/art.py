"""What is made: copper, holes, mask openings, legend and profile of the board."""

import math
from dataclasses import replace
from typing import Literal

from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.closed import capsule
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.layout.coil import NET, Trace
from coilgen.layout.edge import extent_of

NO_NET = ""
"""Of copper that is joined to nothing."""


@dataclass(frozen=True, kw_only=True)
class Pad:
    """A pad on one copper layer; terminal is its number or None for a via's pad.

    span: 0 for a round pad; of an oblong one from the centre of one round end to that of the other.

    use: of pads that a panel has besides its coils, marks to align by, pads and plates of coupons.
    """

    layer: int
    at: Point
    diameter: float
    terminal: int | None
    net: str = NET
    use: Literal["coil", "fiducial", "test", "plate"] = "coil"
    span: Point = 0j

    @property
    def ends(self) -> tuple[Point, ...]:
        """Where its round ends are centred, the one that a lead reaches first: two of an oblong pad."""
        return (self.at - self.span / 2, self.at + self.span / 2) if self.span else (self.at,)

    @property
    def size(self) -> tuple[float, float]:
        """Over its copper in x and in y, m; an oblong pad lies along one of them."""
        return abs(self.span.real) + self.diameter, abs(self.span.imag) + self.diameter

    @property
    def area(self) -> float:
        """Of its copper, m2."""
        return math.pi / 4 * self.diameter**2 + abs(self.span) * self.diameter

    def moved(self, isometry: Isometry) -> "Pad":
        """The image of the pad."""
        span = isometry.point(self.span) - isometry.point(0j) if self.span else 0j
        return replace(self, at=isometry.point(self.at), span=span)

    @property
    def path(self) -> Path:
        """Its edge, counter-clockwise."""
        if not self.span:
            return Path((Arc(self.at, self.diameter / 2, 0.0, math.tau),))
        return capsule(self.at - self.span / 2, self.at + self.span / 2, self.diameter)


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A drilled round hole through the board; terminal is its number or None for a via.

    net: of a plated hole; "" for one that is joined to nothing.
    """

    at: Point
    diameter: float
    plated: bool
    terminal: int | None
    net: str = NET

    @property
    def role(self) -> str:
        """The design's table that it comes from: "via", "terminals", or "hole" for shafts and screws."""
        if self.terminal is not None:
            return "terminals"
        return "via" if self.plated and self.net != NO_NET else "hole"

    @property
    def diameter_key(self) -> str:
        """The design's key of its diameter."""
        return f"{self.role}.{'diameter' if self.role == 'hole' else 'drill'}"


@dataclass(frozen=True, kw_only=True)
class Opening:
    """An opening in the solder mask or coverlay; side is "top" or "bottom".

    window: the closed path of one that is not round; its diameter is then 0.
    """

    side: str
    at: Point
    diameter: float
    window: Path | None = None

    @property
    def path(self) -> Path:
        """Its edge."""
        return self.window or Path((Arc(self.at, self.diameter / 2, 0.0, math.tau),))

    def moved(self, isometry: Isometry) -> "Opening":
        """The image of the opening."""
        window = None if self.window is None else self.window.moved(isometry)
        return replace(self, at=isometry.point(self.at), window=window)


@dataclass(frozen=True, kw_only=True)
class StiffSheet:
    """A stiffener on a face, "top" or "bottom": its closed edge, material, thickness and adhesive's, m."""

    side: str
    path: Path
    material: str
    thickness: float
    adhesive: float

    def moved(self, isometry: Isometry) -> "StiffSheet":
        """The image of the sheet."""
        return replace(self, path=self.path.moved(isometry))


@dataclass(frozen=True, kw_only=True)
class BendLine:
    """The middle of a bend, straight across the tail: from edge to edge; along: half of what is bent, m."""

    path: Path
    along: Point
    says: str

    def moved(self, isometry: Isometry) -> "BendLine":
        """The image of the line."""
        along = isometry.point(self.along) - isometry.point(0j)
        return replace(self, path=self.path.moved(isometry), along=along)

    @property
    def corners(self) -> tuple[Point, ...]:
        """Of the strip that is bent, counter-clockwise or clockwise."""
        first, last = self.path.start, self.path.end
        return first - self.along, last - self.along, last + self.along, first + self.along


@dataclass(frozen=True, kw_only=True)
class Stroke:
    """A printed line of the top legend."""

    path: Path
    width: float


@dataclass(frozen=True, kw_only=True, repr=False)
class Art:
    """Everything the fab makes. Traces are stroked with a round tool: round ends, round outer corners.

    copper_layers: of the stack-up, wound or not. outline and pockets are closed paths, counter-clockwise; no
    outline is None.
    """

    copper_layers: int
    traces: tuple[Trace, ...]
    pads: tuple[Pad, ...]
    holes: tuple[Hole, ...]
    openings: tuple[Opening, ...]
    legend: tuple[Stroke, ...]
    outline: Path | None
    pockets: tuple[Path, ...]
    stiffeners: tuple[StiffSheet, ...] = ()
    bends: tuple[BendLine, ...] = ()

    def traces_on(self, layer: int) -> tuple[Trace, ...]:
        """Traces of one copper layer, in current order."""
        return tuple(trace for trace in self.traces if trace.layer == layer)

    def pads_on(self, layer: int) -> tuple[Pad, ...]:
        """Pads of one copper layer."""
        return tuple(pad for pad in self.pads if pad.layer == layer)

    def moved(self, isometry: Isometry) -> "Art":
        """The image of the art."""
        return replace(
            self,
            traces=tuple(replace(each, path=each.path.moved(isometry)) for each in self.traces),
            pads=tuple(each.moved(isometry) for each in self.pads),
            holes=tuple(replace(each, at=isometry.point(each.at)) for each in self.holes),
            openings=tuple(each.moved(isometry) for each in self.openings),
            legend=tuple(replace(each, path=each.path.moved(isometry)) for each in self.legend),
            outline=None if self.outline is None else self.outline.moved(isometry),
            pockets=tuple(each.moved(isometry) for each in self.pockets),
            stiffeners=tuple(each.moved(isometry) for each in self.stiffeners),
            bends=tuple(each.moved(isometry) for each in self.bends),
        )

    def pads_at(self, side: str) -> tuple[Pad, ...]:
        """Pads on the "top" or "bottom" face; a board of one copper layer has none on the bottom."""
        if side == "top":
            return self.pads_on(1)
        return self.pads_on(self.copper_layers) if self.copper_layers > 1 else ()

    def __repr__(self) -> str:
        return (
            f"<Art: {self.copper_layers} copper layers, {len(self.traces)} traces, {len(self.holes)} holes>"
        )


def copper_extent(art: Art) -> tuple[Point, Point]:
    """Lower left and upper right corner of the rectangle that holds all copper, m."""
    return extent_of(stroked(art))


def stroked(art: Art) -> list[tuple[Path | Point, float]]:
    """All copper as paths and points with half their width."""
    traces: list[tuple[Path | Point, float]] = [(trace.path, trace.width / 2) for trace in art.traces]
    return traces + [(end, pad.diameter / 2) for pad in art.pads for end in pad.ends]
