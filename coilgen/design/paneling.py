"""The panel file: which designs and variants are made together, how they stand and how they come apart."""

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, StrictBool, StrictStr, ValidationError, field_validator

from coilgen.catalogue import rows
from coilgen.design.keys import Length, LengthOrZero, Table, Whole, Word, file_name
from coilgen.design.validation_messages import faults
from coilgen.errors import DesignError, shown
from coilgen.units import in_mm, quantity

Separation = Literal["v-score", "tabs", "none"]
MOST_SAMPLES = 25
"""Each has a letter."""


def fact(row: str, name: str) -> float:
    """A length of the panel data, m."""
    return quantity(rows("panels")[row][name], "length")


def _frame(given: float) -> float:
    least, most = fact("frame", "least"), fact("frame", "most")
    if not least <= given <= most:
        raise ValueError(f"{in_mm(given)} is outside what is allowed, {in_mm(least)} to {in_mm(most)}")
    return given


class Sample(Table):
    """A design file on the panel, some or all of its variants, each so many times."""

    design: StrictStr = Field(description="path of the design file, from the panel file's folder")
    variants: tuple[StrictStr, ...] | None = Field(
        default=None, description='names of variants, "as designed" for the design itself; default all'
    )
    copies: Annotated[int, Whole(least=1, most=100)] = Field(
        default=1, description="boards of each; default 1"
    )

    @field_validator("variants", mode="before")
    @classmethod
    def _listed(cls, given: object) -> object:
        if not isinstance(given, list | tuple):
            raise ValueError(f"{shown(given)} is no list of names; write them in square brackets")
        if not 0 < len(given) <= 200:
            raise ValueError(f"a list of {len(given)} names; give 1 to 200, or leave it out for all variants")
        if len(set(map(str, given))) < len(given):
            raise ValueError("a name stands twice; use copies for more boards of one variant")
        return given


class PanelFile(Table):
    """A whole panel file. Lengths in m; what is left out is chosen for the boards."""

    name: Annotated[StrictStr, AfterValidator(file_name)] = Field(
        description="the panel's name, used in file names"
    )
    note: StrictStr = Field(default="", description="free text, repeated in the files")
    separation: Annotated[Separation, Word()] | None = Field(
        default=None,
        description="v-score, tabs or none; default v-score where rigid rectangles share a side, else tabs",
    )
    gap: LengthOrZero | None = Field(
        default=None, description="between boards; default 0 with a v-score, else slots and a rib"
    )
    frame: Annotated[Length, AfterValidator(_frame)] | None = Field(
        default=None, description="width of the frame; default 8 mm"
    )
    coupons: StrictBool = Field(default=True, description="whether test coupons stand on the frame")
    width: Length | None = Field(default=None, description="largest width of the panel; default the shop's")
    height: Length | None = Field(default=None, description="largest height of the panel; default the shop's")
    sample: tuple[Sample, ...] = Field(description="the designs")

    @field_validator("sample", mode="before")
    @classmethod
    def _samples(cls, given: object) -> object:
        if not isinstance(given, list | tuple):
            raise ValueError(f"{shown(given)} is no list of tables; write each sample as [[sample]]")
        if not 1 <= len(given) <= MOST_SAMPLES:
            raise ValueError(f"{len(given)} given; 1 to {MOST_SAMPLES} are allowed")
        return given

    @classmethod
    def from_tables(cls, given: Mapping[str, object]) -> "PanelFile":
        """The panel that a parsed file's tables describe. DesignError carries every fault found."""
        try:
            return cls.model_validate(dict(given))
        except ValidationError as error:
            raise DesignError(faults(error, cls)) from None


def is_panel(given: Mapping[str, object]) -> bool:
    """Whether a parsed file is a panel file rather than a design."""
    return "sample" in given and "winding" not in given
