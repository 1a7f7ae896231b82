"""The winding that was asked for, with its sizes completed."""

import math
from collections.abc import Mapping
from itertools import combinations
from typing import Annotated, Any, Literal

from pydantic import (
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    PrivateAttr,
    SerializerFunctionWrapHandler,
    model_serializer,
    model_validator,
)

from coilgen.design import sizing
from coilgen.design.keys import (
    SI,
    Length,
    LengthOrZero,
    Refused,
    SectorAngle,
    Size,
    Specimen,
    Table,
    Turns,
    Whole,
    Word,
    optional,
    pair,
    si_of,
)
from coilgen.design.measure import Measure, measure_of
from coilgen.design.winding_sizes import SECTOR, completed, ring_of
from coilgen.errors import DesignError
from coilgen.units import in_mm, size_in_mm

Corner = Literal["sharp", "chamfered", "rounded"]
Direction = Literal["counterclockwise", "clockwise"]
Connection = Literal["series", "parallel"]


_SIZED = (
    *combinations(sizing.NUMBERS, 4),
    *(("angle", *radii) for radii in combinations((*SECTOR[:2], "outer_size"), 2)),
)
"""Keys that tell a winding's size: four of five numbers, or a sector."""


class Winding(Table):
    """The spiral of one layer and how many layers carry it; sizes are over the copper."""

    model_config = ConfigDict(json_schema_extra={"anyOf": [{"required": list(keys)} for keys in _SIZED]})

    shape: Annotated[str, Specimen("coilgen.layout.shapes")] = Field(description="from `coilgen list shapes`")
    layers: Annotated[int, Whole(least=1, most=8)] = Field(
        default=1, description="copper layers wound, counted from the top; default 1"
    )
    turns: Turns = optional("turns on each layer; whole when derived (rounded down)", 1.0)
    trace_width: Length = optional("width of the trace", 0.0)
    trace_spacing: Length = optional(
        "clear distance between neighbouring turns, copper edge to copper edge", 0.0
    )
    outer_size: Size = optional(
        "over the winding's copper, see README's table of shapes: diameter, across flats, or [x, y]", 0.0
    )
    inner_size: Size = optional("clear opening inside the winding's copper, measured as outer_size", 0.0)
    inner_radius: Length | None = Field(
        default=None, description="of a wedge, over the copper, from the centre of its ring"
    )
    outer_radius: Length | None = Field(
        default=None, description="of a wedge, over the copper, from the centre of its ring"
    )
    angle: SectorAngle | None = Field(default=None, description="of a wedge, over the copper, degrees")
    direction: Annotated[Direction, Word()] = Field(
        default="counterclockwise", description="sense of the current from terminal 1, seen from the top"
    )
    connection: Annotated[Connection, Word()] = Field(
        default="series", description="of the layers: one after another, or side by side"
    )
    corner: Annotated[Corner, Word()] = Field(default="sharp", description="of polygons")
    corner_size: LengthOrZero = optional(
        "radius of a rounded corner, or length a chamfer takes off each side; default the trace width", 0.0
    )
    _notes: tuple[str, ...] = PrivateAttr(default=())

    @model_validator(mode="wrap")
    @classmethod
    def _complete(cls, given: object, handler: ModelWrapValidatorHandler["Winding"]) -> "Winding":
        """Derives the fifth number, and keeps a note of what was rounded on the way."""
        if not isinstance(given, Mapping):
            return handler(given)
        sizes, notes = completed(given)
        winding = handler(_corner({**given, **sizes}))
        winding._notes = notes
        return winding

    @model_validator(mode="after")
    def _sound(self) -> "Winding":
        if not isinstance(self, SeveralWindings):
            self._check_corners()
            self._check_long()
        return self

    def _check_corners(self) -> None:
        if self.corner_size > self.opening / 2:
            raise DesignError.at(
                "winding.corner_size",
                f"{in_mm(self.corner_size)} is over half the inner_size, "
                f"{size_in_mm(self.inner_size)}; make it smaller",
            )
        least = self.trace_width / 2 if self.corner == "rounded" else 0.0
        if self.measure.cornered and self.corner != "sharp" and self.corner_size <= least:
            what = (
                "its inner edge no radius; give over half the trace_width"
                if least
                else "no chamfer; give more"
            )
            raise DesignError.at(
                "winding.corner_size", f'{in_mm(self.corner_size)} leaves {what}, or corner = "sharp"'
            )

    def _check_long(self) -> None:
        """A shape that is round at its ends needs a longer way."""
        measure, pitch = self.measure, self.trace_width + self.trace_spacing
        if measure.count == 2 and not measure.cornered and abs(self.outer[0] - self.outer[1]) <= pitch:
            says = (
                f'{size_in_mm(self.outer_size)} is as wide as long, to a pitch: that is shape = "round"; '
                "make one size larger, the long sides run along it"
            )
            raise DesignError.at("winding.outer_size", says)

    @model_serializer(mode="wrap")
    def _told(self, handler: SerializerFunctionWrapHandler) -> dict[str, Any]:
        """Without the keys of sectors where the shape is none."""
        told: dict[str, Any] = handler(self)
        return {key: value for key, value in told.items() if key not in SECTOR or value is not None}

    @property
    def measure(self) -> Measure:
        """What the sizes measure."""
        found = measure_of(self.shape)
        assert found is not None, "the shape's name was checked"
        return found

    @property
    def outer(self) -> tuple[float, float]:
        """Over the copper in x and y, m; of a shape of one size that size twice, of a sector as with its
        terminals in the south."""
        if self.inner_radius is None or self.outer_radius is None or self.angle is None:
            return pair(self.outer_size)
        half = self.angle / 2
        return 2 * self.outer_radius * math.sin(half), self.outer_radius - self.inner_radius * math.cos(half)

    @property
    def ring(self) -> float | None:
        """How far from the centre of a sector's ring the winding's own lies, m: half way between its arcs."""
        return ring_of(self.inner_radius, self.outer_radius)

    @property
    def span(self) -> float:
        """The largest size over the copper, m."""
        return max(self.outer)

    @property
    def opening(self) -> float:
        """The least size of the clear opening, m."""
        return min(pair(self.inner_size))

    def widened(self, by: float) -> dict[str, object]:
        """The sizes of a winding as much larger outside, m, and inside with the same copper."""
        if not isinstance(self.outer_size, float):
            return {"outer_size": tuple(size + by for size in self.outer_size)}
        radius = {} if self.outer_radius is None else {"outer_radius": self.outer_radius + by}
        return {"outer_size": self.outer_size + by, **radius}

    def opened(self, opening: float) -> dict[str, object]:
        """The sizes of a winding with the same copper round another opening, m, of two sizes the lesser."""
        inner = self.inner_size
        by = opening - self.opening
        if isinstance(inner, float):
            return {"inner_size": opening, **self.widened(by)}
        return {"inner_size": tuple(size + by for size in inner), **self.widened(by)}

    @property
    def copper_layers(self) -> int:
        """Copper layers that suit the winding: in parallel, one more to lead it out, while there are some."""
        return min(8, self.layers + 1) if self.connection == "parallel" else self.layers

    @property
    def notes(self) -> tuple[str, ...]:
        """What was changed or has no effect, in sentences."""
        if not self.measure.cornered and self.corner != "sharp":
            return (*self._notes, f"winding.corner has no effect on {_a(self.shape)} winding.")
        return self._notes


class SeveralWindings(Winding):
    """Stands in a design of several windings where one alone has its winding: it has no sizes to tell."""

    @classmethod
    def stand_in(cls) -> "SeveralWindings":
        """Without any value, not even the defaults."""
        made = cls.model_construct()
        made.__dict__.clear()
        return made

    def __getattr__(self, item: str) -> Any:
        if item in Winding.model_fields:
            raise LookupError(f"a board of several windings has no one {item}; ask its windings")
        return super().__getattr__(item)  # type: ignore[misc]


def _a(shape: str) -> str:
    """With its article."""
    return f"an {shape}" if shape[0] in "aeiou" else f"a {shape}"


def _corner(given: dict[str, Any]) -> dict[str, Any]:
    """A cut corner without a size gets the trace width."""
    cut = given.get("corner", "sharp") != "sharp"
    if not cut and si_of(given, "corner_size", "length") == 0:
        return {key: value for key, value in given.items() if key != "corner_size"}
    if not cut and "corner_size" in given:
        return {
            **given,
            "corner_size": Refused('has no use on sharp corners; set corner = "chamfered" or "rounded"'),
        }
    width = si_of(given, "trace_width", "length")
    return {"corner_size": SI(width), **given} if cut and width is not None else given
