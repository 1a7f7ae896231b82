"""The board that was asked for, and what is cut, drilled and landed in it: pocket, vias, terminals."""

import math
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import Field, SerializerFunctionWrapHandler, StrictBool, model_serializer, model_validator

from coilgen.design.keys import (
    Length,
    LengthOrZero,
    Place,
    Refused,
    SectorAngle,
    Size,
    Table,
    Whole,
    Word,
    optional,
    pair,
    si_of,
)
from coilgen.design.stackup import BY_NAME, Stackup, default_name, named
from coilgen.design.winding_sizes import SECTOR, ring_of
from coilgen.errors import DesignError, Fault, shown
from coilgen.units import in_mm, size_in_mm

Outline = Literal["none", "round", "square", "rectangle"]
PocketShape = Literal["round", "square", "hexagonal", "rectangular", "racetrack", "wedge"]
TerminalKind = Literal["plated-hole", "surface-pad", "contact-fingers"]
Side = Literal["north", "east", "south", "west"]


class Board(Table):
    """The board round the winding; its centre is the coil's."""

    stackup: Annotated[Stackup, BY_NAME] = Field(
        default_factory=lambda: named(default_name(1)),
        description="a name from `coilgen list stackups`, or a table; default a rigid one with layers enough",
    )
    outline: Annotated[Outline, Word()] = optional("default round for a round winding, else square", "square")
    size: Length | None = Field(
        default=None, description="diameter or side of a round or square outline; default what the art needs"
    )
    width: Length | None = Field(default=None, description="of a rectangle; default what the art needs")
    height: Length | None = Field(default=None, description="of a rectangle; default what the art needs")
    corner_radius: LengthOrZero = optional("of a square or rectangular outline; default 0", 0.0)
    offset: Place | None = Field(
        default=None, description="x and y of the outline's centre from the coil's, y up; default 0, 0"
    )

    @model_validator(mode="after")
    def _measures(self) -> "Board":
        faults = [
            Fault(
                key=f"board.{key}", says=f'has no use with outline = "{self.outline}"; {_fits(self.outline)}'
            )
            for key in ("size", "width", "height", "corner_radius", "offset")
            if key in self.model_fields_set and getattr(self, key) and key not in _MEASURES[self.outline]
        ]
        if self.outline == "rectangle" and (self.width is None) != (self.height is None):
            absent = "height" if self.height is None else "width"
            faults.append(Fault(key=f"board.{absent}", says="not given; give width and height, or neither"))
        sides = [side for side in (self.size, self.width, self.height) if side is not None]
        if sides and self.corner_radius > min(sides) / 2:
            faults.append(
                Fault(
                    key="board.corner_radius",
                    says=f"{in_mm(self.corner_radius)} is over half of {in_mm(min(sides))}; make it smaller",
                )
            )
        if faults:
            raise DesignError(faults)
        return self

    @model_serializer(mode="wrap")
    def _told(self, handler: SerializerFunctionWrapHandler) -> dict[str, Any]:
        """Without an offset where none is asked for."""
        return _given(handler(self), ("offset",))

    @property
    def centre(self) -> complex:
        """Of the outline from the coil's centre, m."""
        return complex(*self.offset) if self.offset else 0j

    @property
    def notes(self) -> tuple[str, ...]:
        """What is not made, in sentences."""
        return (NO_FAB_SET,) if self.outline == "none" else ()


NO_FAB_SET = (
    'board.outline = "none" is for a layout of your own: no files for a fab are written, as their only edge '
    "could be the pocket's. Use the DXF files and the pads table, or give the board an outline."
)

_ROUNDED = 1e-12
"""m, within which a radius is the largest."""

_MEASURES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "none": (),
        "round": ("size", "offset"),
        "square": ("size", "corner_radius", "offset"),
        "rectangle": ("width", "height", "corner_radius", "offset"),
    }
)


def _fits(outline: str) -> str:
    measures = _MEASURES[outline]
    return f"it takes {', '.join(measures)}" if measures else "leave it out or choose an outline"


class Pocket(Table):
    """The central pocket for a core, through the board."""

    shape: Annotated[PocketShape, Word()] = Field(default="round", description="default round")
    size: Size = optional(
        "diameter, side, across flats of a hexagon; of a rectangle or racetrack [x, y]; none of a wedge", 0.0
    )
    inner_radius: Length | None = Field(default=None, description="of a wedge, from the centre of its ring")
    outer_radius: Length | None = Field(default=None, description="of a wedge, from the centre of its ring")
    angle: SectorAngle | None = Field(default=None, description="of a wedge, degrees")
    corner_radius: LengthOrZero = optional(
        "inner corner radius; default the shop's least; none on a round one", 0.0
    )

    @model_validator(mode="before")
    @classmethod
    def _sized(cls, given: object) -> object:
        """A wedge has its radii and no size; other shapes have their one or two numbers."""
        if not isinstance(given, Mapping):
            return given
        shape = given.get("shape", "round")
        return {**given, **(_sector_keys(given) if shape == "wedge" else _size_keys(given, shape))}

    @model_validator(mode="after")
    def _corners(self) -> "Pocket":
        if not self.cornered:
            return self
        if self.corner_radius > self.widest_corner + _ROUNDED:
            raise DesignError.at(
                "pocket.corner_radius",
                f"{in_mm(self.corner_radius)} is over {in_mm(self.widest_corner)}, the most that {self.told} "
                "has room for; make it smaller",
            )
        return self

    @model_validator(mode="after")
    def _long(self) -> "Pocket":
        if self.shape == "racetrack" and self.sizes[0] == self.sizes[1]:
            says = f'{self.told} is as wide as long: that is shape = "round"; make one size larger'
            raise DesignError.at("pocket.size", says)
        return self

    @model_serializer(mode="wrap")
    def _written(self, handler: SerializerFunctionWrapHandler) -> dict[str, Any]:
        """Without the keys of sectors where the shape is none, and without a size where it is one."""
        told: dict[str, Any] = handler(self)
        unused = ("size",) if self.shape == "wedge" else SECTOR
        return {key: value for key, value in told.items() if key not in unused}

    @property
    def cornered(self) -> bool:
        """Whether it has corners to round."""
        return self.shape not in ("round", "racetrack")

    @property
    def ring(self) -> float | None:
        """How far from the centre of a sector's ring the pocket's own lies, m: half way between its arcs."""
        return ring_of(self.inner_radius, self.outer_radius)

    @property
    def sizes(self) -> tuple[float, float]:
        """In x and y, m; of a wedge, across its middle and from arc to arc."""
        if self.inner_radius is None or self.outer_radius is None or self.angle is None:
            return pair(self.size)
        across = (self.inner_radius + self.outer_radius) * math.sin(self.angle / 2)
        return across, self.outer_radius - self.inner_radius

    @property
    def least(self) -> float:
        """The lesser of the sizes, m."""
        return min(self.sizes)

    @property
    def widest_corner(self) -> float:
        """The largest radius of its corners, m.

        Of a wedge, that whose arcs touch one another on the inner or the outer arc, or along a side: a corner
        touches a side at the angle asin(r / (inner + r)) from it, or asin(r / (outer - r)).
        """
        if self.inner_radius is None or self.outer_radius is None or self.angle is None:
            return self.least / 2
        along = (self.outer_radius - self.inner_radius) / 2
        if self.angle >= math.pi:
            return along
        half = math.sin(self.angle / 2)
        return min(along, self.inner_radius * half / (1 - half), self.outer_radius * half / (1 + half))

    @property
    def told(self) -> str:
        """The sizes as text."""
        if self.inner_radius is not None and self.outer_radius is not None and self.angle is not None:
            radii = f"{in_mm(self.inner_radius)} to {in_mm(self.outer_radius)}"
            return f"{radii} over {math.degrees(self.angle):.6g} degrees"
        return size_in_mm(self.size)

    @property
    def notes(self) -> tuple[str, ...]:
        """What has no effect, in sentences."""
        if not self.cornered and self.corner_radius:
            return (f"pocket.corner_radius has no effect on a {self.shape} pocket.",)
        return ()


def _size_keys(given: Mapping[str, object], shape: object) -> dict[str, object]:
    """What stands in place of a size or of radii that do not go with a shape."""
    two = shape in ("rectangular", "racetrack")
    found: dict[str, object] = {
        key: Refused(f"has no use with shape {shown(shape)}, whose size is told; leave it out")
        for key in SECTOR
        if key in given
    }
    if "size" not in given:
        example = 'size = ["12 mm", "6 mm"]' if two else 'size = "6 mm"'
        found["size"] = Refused(f"not given; add it, for instance {example}")
    elif isinstance(given["size"], list | tuple) != two:
        right = (
            'two sizes, x and y; write size = ["12 mm", "6 mm"]' if two else 'one size; write size = "6 mm"'
        )
        found["size"] = Refused(f"{shown(shape)} has {right}")
    return found


def _sector_keys(given: Mapping[str, object]) -> dict[str, object]:
    found: dict[str, object] = {
        key: Refused("not given; a wedge is told by inner_radius, outer_radius and angle")
        for key in SECTOR
        if key not in given
    }
    if "size" in given:
        says = "has no use with a wedge, which inner_radius, outer_radius and angle tell; leave it out"
        found["size"] = Refused(says)
    inner, outer = (si_of(given, key, "length") for key in ("inner_radius", "outer_radius"))
    if inner is not None and outer is not None and inner >= outer:
        says = f"{in_mm(inner)} is not under outer_radius, {in_mm(outer)}; lower the one or raise the other"
        found["inner_radius"] = Refused(says)
    return found


class Hole(Table):
    """A hole of the board besides those of vias, terminals and pockets: for a shaft, a screw, a pin."""

    at: Place = Field(description="x and y of its centre on the board, y up")
    diameter: Length = Field(description="finished diameter")
    plated: StrictBool = optional("with copper in it; default false", False)


class Via(Table):
    """The vias between layers; count of them stand in parallel at each layer change."""

    drill: Length = optional("default 0.3 mm, or the shop's least if that is more", 3e-4)
    pad: Length = optional("default the drill and the shop's annular ring on both sides", 6e-4)
    count: Annotated[int, Whole(least=1, most=16)] = Field(
        default=1, description="parallel vias at each layer change; default 1"
    )

    @model_validator(mode="after")
    def _ring(self) -> "Via":
        if self.pad <= self.drill:
            raise DesignError.at(
                "via.pad",
                f"{in_mm(self.pad)} leaves no copper round a drill of {in_mm(self.drill)}; widen it",
            )
        return self


class Terminals(Table):
    """Two pads where current enters (1) and leaves (2)."""

    kind: Annotated[TerminalKind, Word()] = optional(
        "default plated-hole, surface-pad on a board with one copper layer", "plated-hole"
    )
    pad: Length = optional("diameter or side of a pad's copper; default 1.8 mm, or drill and 0.8 mm", 1.8e-3)
    drill: LengthOrZero = optional("finished hole of a plated-hole terminal; default 1 mm", 1e-3)
    pitch: Length = optional(
        "between the centres of two pads or fingers; default 3.5 mm, fingers 1 mm", 3.5e-3
    )
    side: Annotated[Side, Word()] = Field(default="south", description="of the coil, y up; default south")
    distance: Length | None = Field(
        default=None, description="of the pads' row from the coil's centre; default just outside the winding"
    )
    lead_width: Length | None = Field(
        default=None, description="of leads, where they have room; default the winding's trace_width"
    )
    length: Length | None = Field(
        default=None, description="of a contact finger, bare from the coverlay to its tip; default 4 mm"
    )
    count: Annotated[int, Whole(least=2, most=100)] | None = Field(
        default=None, description="contact fingers; default 2"
    )
    fingers: tuple[Annotated[int, Whole(least=0, most=144)], ...] | None = Field(
        default=None,
        description="terminal of each contact finger, 0 for none; of one winding from terminal 1's side on; "
        "default as many for each",
    )

    @model_validator(mode="after")
    def _pads(self) -> "Terminals":
        faults = [*self._holes(), *self._touching(), *self._of_fingers()]
        if faults:
            raise DesignError(faults)
        return self

    @model_serializer(mode="wrap")
    def _told(self, handler: SerializerFunctionWrapHandler) -> dict[str, Any]:
        """Without the keys of leads and fingers where they are not asked for."""
        return _given(handler(self), ("lead_width", *_OF_FINGERS))

    def dealt(self, order: Sequence[int] = (1, 2)) -> tuple[int, ...]:
        """The terminal of each finger, 0 for none; order: in which terminals are reached, side by side.

        >>> Terminals(kind="contact-fingers", drill=0, pitch=2, pad=1, count=5).dealt((3, 1))
        (3, 3, 0, 1, 1)
        """
        if self.fingers is not None:
            return self.fingers
        count, half = self.count or len(order), len(order) // 2
        each = count // len(order)
        first, last = (
            [number for number in part for _ in range(each)] for part in (order[:half], order[half:])
        )
        return (*first, *[0] * (count - each * len(order)), *last)

    @property
    def finger_length(self) -> float:
        """Bare length of a contact finger, m."""
        return 4e-3 if self.length is None else self.length

    def _holes(self) -> Iterator[Fault]:
        if self.kind == "plated-hole" and not 0 < self.drill < self.pad:
            yield Fault(
                key="terminals.drill", says=f"{in_mm(self.drill)} does not fit a pad of {in_mm(self.pad)}"
            )
        if self.kind != "plated-hole" and self.drill > 0:
            what = "surface pad" if self.kind == "surface-pad" else "contact finger"
            says = f'a {what} has no hole; leave drill out or use "plated-hole"'
            yield Fault(key="terminals.drill", says=says)

    def _touching(self) -> Iterator[Fault]:
        if self.pitch <= self.pad:
            given = "pitch" in self.model_fields_set
            pitch = in_mm(self.pitch) if given else f"{in_mm(self.pitch)}, the default,"
            says = f"{pitch} makes the pads touch; use more than their {in_mm(self.pad)}"
            yield Fault(key="terminals.pitch", says=says)

    def _of_fingers(self) -> Iterator[Fault]:
        if self.kind != "contact-fingers":
            for key in _OF_FINGERS:
                if getattr(self, key) is not None:
                    says = f'has no use with kind = "{self.kind}"; use "contact-fingers" or leave it out'
                    yield Fault(key=f"terminals.{key}", says=says)
            return
        if self.finger_length < self.pad:
            bare = in_mm(self.finger_length)
            told = bare if self.length is not None else f"{bare}, the default,"
            says = f"{told} is shorter than a finger is wide, {in_mm(self.pad)}; give that, or a smaller pad"
            yield Fault(key="terminals.length", says=says)
        if self.fingers is not None:
            yield from self._assigned(self.fingers)

    def _assigned(self, fingers: tuple[int, ...]) -> Iterator[Fault]:
        if self.count is not None and self.count != len(fingers):
            says = f"{len(fingers)} told for a count of {self.count}; tell each finger's terminal"
            yield Fault(key="terminals.fingers", says=says)
        runs = [terminal for k, terminal in enumerate(fingers) if k == 0 or fingers[k - 1] != terminal]
        apart = [terminal for terminal in dict.fromkeys(fingers) if terminal and runs.count(terminal) > 1]
        if apart:
            says = f"{list(fingers)} has fingers of terminal {apart[0]} apart; let them stand together"
            yield Fault(key="terminals.fingers", says=says)


_OF_FINGERS = ("length", "count", "fingers")


def _given(told: dict[str, Any], keys: tuple[str, ...]) -> dict[str, Any]:
    """Without those keys of a written table that were not given."""
    return {key: value for key, value in told.items() if value is not None or key not in keys}
