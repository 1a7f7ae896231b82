"""Tails of flexible boards, what stiffens them, and where they are bent."""

import math
from typing import Annotated, Literal

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler, model_validator
from pydantic_core import CoreSchema, core_schema

from coilgen.design.board import Side
from coilgen.design.keys import (
    Json,
    Length,
    LengthOrZero,
    Offset,
    Quantity,
    Row,
    Series,
    Sheet,
    Table,
    Word,
    one_of,
    optional,
)
from coilgen.design.stackup import laminate
from coilgen.errors import DesignError
from coilgen.frozen import dataclass
from coilgen.units import in_mm

Leads = Literal["beside", "above"]
Face = Literal["top", "bottom"]
BendKind = Literal["once", "repeated"]

_ADHESIVE = 0.2
"""W/(m K), of acrylic and epoxy (EN 12524, 2000, as the library ht has it)."""

_CORNERS = Series(of=Quantity(dimension="length", least=-2.0, most=2.0), least=4, most=4)


class Tail(Table):
    """A strip that leads run down to the terminals at its end."""

    side: Annotated[Side, Word()] = optional("of the coil, y up; default that of the terminals", "south")
    width: Length | None = Field(
        default=None, description="default what leads and terminals need, with the shop's margin"
    )
    length: Length = Field(description="from the winding's edge of the board to the tail's end")
    offset: Offset = optional("of its middle line from the coil's centre, along x or y; default 0", 0.0)
    root_radius: LengthOrZero = optional(
        "where it leaves the winding's part of the board; default 1 mm", 1e-3
    )
    leads: Annotated[Leads, Word()] = optional(
        "side by side on the top, or above one another; default beside", "beside"
    )
    lead_spacing: Length | None = Field(
        default=None, description="between leads side by side; default what the winding keeps"
    )

    @model_validator(mode="after")
    def _side_by_side(self) -> "Tail":
        if self.leads == "above" and self.lead_spacing is not None:
            raise DesignError.at(
                "tail.lead_spacing", 'has no use with leads = "above"; leave one of them out'
            )
        return self


@dataclass(frozen=True)
class Beneath:
    """What a stiffener lies beneath: a word, or the corners of a rectangle, stored in SI."""

    words: tuple[str, ...] = ("terminals", "winding")

    def value(self, given: object) -> str | tuple[float, ...]:
        """The word, or x and y of the lower left and of the upper right corner."""
        if not isinstance(given, list | tuple):
            return one_of(given, self.words)
        left, low, right, high = _CORNERS.values(given)
        if left >= right or low >= high:
            raise ValueError(
                "is no rectangle; give x and y of its lower left, then of its upper right corner"
            )
        return left, low, right, high

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.value)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        corners = _CORNERS.__get_pydantic_json_schema__(core, handler)
        return {"anyOf": [{"type": "string", "enum": list(self.words)}, corners]}


class Stiffener(Table):
    """A stiff sheet glued to a face of a flexible board."""

    place: Annotated[Face, Word()] = optional("face of the board; default bottom", "bottom")
    beneath: Annotated[str | tuple[float, ...], Beneath()] = optional(
        "terminals, winding, or a rectangle [x1, y1, x2, y2]; default terminals", "terminals"
    )
    length: Length | None = Field(
        default=None, description="from the tail's end, beneath terminals; default 2 mm past them"
    )
    material: Annotated[str, Row("materials", "laminate")] = optional("default polyimide", "polyimide")
    thickness: Sheet = Field(description="of the sheet, without its adhesive")
    adhesive: LengthOrZero = optional("thickness of the adhesive; default 0.05 mm", 5e-5)

    @model_validator(mode="after")
    def _of_terminals(self) -> "Stiffener":
        if self.length is not None and self.beneath != "terminals":
            raise DesignError.at(
                "stiffener.length", 'is measured from the tail\'s end; it goes with beneath = "terminals"'
            )
        return self

    @property
    def height(self) -> float:
        """By which it raises its face, m."""
        return self.thickness + self.adhesive

    @property
    def central(self) -> bool:
        """Whether it lies beneath the coil's centre, and so beneath bodies that stand there."""
        if isinstance(self.beneath, tuple):
            left, low, right, high = self.beneath
            return left <= 0 <= right and low <= 0 <= high
        return self.beneath == "winding"

    @property
    def resistance(self) -> float:
        """Of sheet and adhesive to heat through them, for an area, m² K/W."""
        return self.thickness / laminate(self.material).heat_conductivity + self.adhesive / _ADHESIVE


class Bend(Table):
    """A bend of the tail, straight across it."""

    at: Length = Field(description="of its middle, along the tail from the winding's edge of the board")
    radius: Length = Field(description="inside the bend")
    angle: Annotated[float, Quantity(dimension="angle", least=0.01, most=6.283185307179587)] = optional(
        "by which the tail is bent; default 90 degrees", 1.5707963267948966
    )
    kind: Annotated[BendKind, Word()] = optional(
        "once, at mounting, or repeated in use; default once", "once"
    )

    def length(self, thickness: float) -> float:
        """Of board that is bent, along the middle of a thickness, m."""
        return self.angle * (self.radius + thickness / 2)

    def told(self, number: int) -> str:
        """For people."""
        return (
            f"bend {number}, {in_mm(self.at)} along the tail, radius {in_mm(self.radius)}, by "
            f"{math.degrees(self.angle):.3g} degrees, {self.kind}"
        )
