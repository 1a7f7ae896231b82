"""The winding that was asked for, with its sizes completed."""

from collections.abc import Mapping
from itertools import combinations
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, ModelWrapValidatorHandler, PrivateAttr, model_validator

from coilgen.design import sizing
from coilgen.design.keys import (
    SI,
    Length,
    LengthOrZero,
    Refused,
    Specimen,
    Table,
    Turns,
    Whole,
    Word,
    optional,
    si_of,
)
from coilgen.errors import DesignError
from coilgen.units import in_mm

Corner = Literal["sharp", "chamfered", "rounded"]
Direction = Literal["counterclockwise", "clockwise"]
Connection = Literal["series", "parallel"]


class Winding(Table):
    """The spiral of one layer and how many layers carry it; sizes are over the copper."""

    model_config = ConfigDict(
        json_schema_extra={"anyOf": [{"required": list(four)} for four in combinations(sizing.NUMBERS, 4)]}
    )

    shape: Annotated[str, Specimen("coilgen.layout.shapes")] = Field(description="from `coilgen list shapes`")
    layers: Annotated[int, Whole(least=1, most=8)] = Field(
        default=1, description="copper layers wound, counted from the top; default 1"
    )
    turns: Turns = optional("turns on each layer; whole when derived (rounded down)", 1.0)
    trace_width: Length = optional("width of the trace", 0.0)
    trace_spacing: Length = optional(
        "clear distance between neighbouring turns, copper edge to copper edge", 0.0
    )
    outer_size: Length = optional("over the winding's copper: diameter (round) or across flats", 0.0)
    inner_size: Length = optional("clear opening inside the winding's copper, measured as outer_size", 0.0)
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
        sizes, notes = _five(given)
        winding = handler(_corner({**given, **sizes}))
        winding._notes = notes
        return winding

    @model_validator(mode="after")
    def _corners(self) -> "Winding":
        if isinstance(self, SeveralWindings):
            return self
        if self.corner_size > self.inner_size / 2:
            raise DesignError.at(
                "winding.corner_size",
                f"{in_mm(self.corner_size)} is over half the inner_size, "
                f"{in_mm(self.inner_size)}; make it smaller",
            )
        least = self.trace_width / 2 if self.corner == "rounded" else 0.0
        if self.shape != "round" and self.corner != "sharp" and self.corner_size <= least:
            what = (
                "its inner edge no radius; give over half the trace_width"
                if least
                else "no chamfer; give more"
            )
            raise DesignError.at(
                "winding.corner_size", f'{in_mm(self.corner_size)} leaves {what}, or corner = "sharp"'
            )
        return self

    @property
    def copper_layers(self) -> int:
        """Copper layers that suit the winding: in parallel, one more to lead it out, while there are some."""
        return min(8, self.layers + 1) if self.connection == "parallel" else self.layers

    @property
    def notes(self) -> tuple[str, ...]:
        """What was changed or has no effect, in sentences."""
        if self.shape == "round" and self.corner != "sharp":
            return (*self._notes, "winding.corner has no effect on a round winding.")
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


def _five(given: Mapping[str, object]) -> tuple[dict[str, object], tuple[str, ...]]:
    """What to put in place of the given five numbers, and notes; nothing while one of them is faulty."""
    present = [name for name in sizing.NUMBERS if name in given]
    if len(present) < 4:
        return _too_few(present), ()
    dimensions = {"turns": "number"}
    numbers = {name: si_of(given, name, dimensions.get(name, "length")) for name in present}
    sound = {name: value for name, value in numbers.items() if value is not None and value > 0}
    if len(sound) < len(present):
        return {}, ()
    return _agreeing(sound) if len(sound) == 5 else _derived(sound)


def _too_few(present: list[str]) -> dict[str, object]:
    missing = [name for name in sizing.NUMBERS if name not in present]
    needed = 4 - len(present)
    return {
        missing[0]: Refused(
            f"not given; four of {', '.join(sizing.NUMBERS)} are needed and {len(present)} given: "
            f"add {needed} of {', '.join(missing)}, for instance {_EXAMPLES[missing[0]]}"
        )
    }


_EXAMPLES = {
    "turns": "turns = 14",
    "trace_width": 'trace_width = "0.2 mm"',
    "trace_spacing": 'trace_spacing = "0.2 mm"',
    "outer_size": 'outer_size = "24 mm"',
    "inner_size": 'inner_size = "8 mm"',
}


def _agreeing(numbers: dict[str, float]) -> tuple[dict[str, object], tuple[str, ...]]:
    over = sizing.disagreement(numbers)
    if abs(over) <= sizing.AGREEMENT:
        return {}, ()
    return {
        "outer_size": Refused(
            f"{in_mm(numbers['outer_size'])} is {in_mm(abs(over))} {'over' if over > 0 else 'under'} the "
            f"{in_mm(numbers['outer_size'] - over)} that turns, trace_width, trace_spacing and inner_size "
            "make; leave one of the five out and it is derived"
        )
    }, ()


def _derived(numbers: dict[str, float]) -> tuple[dict[str, object], tuple[str, ...]]:
    try:
        values, notes = sizing.derived(numbers)
    except sizing.UnfitError as unfit:
        (missing,) = set(sizing.NUMBERS) - set(numbers)
        return {missing: Refused(f"cannot be derived: {unfit}")}, ()
    return {name: SI(value) for name, value in values.items()}, notes


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
