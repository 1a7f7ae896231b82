"""What stands at the coil: soft cores, a permanent magnet, a steel target, and where each of them stands."""

import math
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, ValidationInfo, field_validator, model_validator

from coilgen.catalogue import rows
from coilgen.design.footprint import measure_faults, square_depth
from coilgen.design.keys import (
    SI,
    Gap,
    Json,
    Length,
    LengthOrZero,
    Mass,
    Offset,
    Offsets,
    Remanence,
    Row,
    Table,
    Word,
    filled,
    optional,
)
from coilgen.design.soft_material import BY_NAME, SoftMaterial, soft_material
from coilgen.errors import DesignError, Fault
from coilgen.units import in_mm

Place = Literal["top", "bottom", "pocket"]
Face = Literal["top", "bottom"]
CoreForm = Literal["plate", "disc", "rod", "ring"]
MagnetForm = Literal["disc", "ring", "block"]
TargetForm = Literal["plate", "bar", "disc", "ring"]
Pole = Literal["up", "down", "north", "east", "south", "west"]

POLES: Mapping[str, tuple[float, float, float]] = {
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
    "north": (0.0, 1.0, 0.0),
    "east": (1.0, 0.0, 0.0),
    "south": (0.0, -1.0, 0.0),
    "west": (-1.0, 0.0, 0.0),
}
"""Direction of each word for where a magnet's north pole points; y is north, z is up."""

RECTANGULAR = ("plate", "bar", "block")


class Body(Table):
    """Lengths that cores, magnets and targets share."""

    form: str
    width: Length | None = Field(default=None, description="of a rectangular form, along x")
    depth: Length | None = Field(
        default=None, validate_default=True, description="along y, as width; default the width"
    )
    diameter: Length | None = Field(default=None, description="of a round form")
    hole_diameter: Length | None = Field(default=None, description="of a ring, inside")
    thickness: Length = Field(description="along z, from face to face")
    gap_tolerance: LengthOrZero | None = Field(
        default=None, description="95 % limit of its gap; default tolerance.gap"
    )

    @field_validator("depth", mode="before")
    @classmethod
    def _square(cls, given: object, info: ValidationInfo) -> object:
        """A rectangular form told by its width alone is square."""
        rectangular = info.data.get("form") in RECTANGULAR
        return square_depth(given, info.data.get("width"), rectangular=rectangular)

    @property
    def size(self) -> tuple[float, float]:
        """Over all along x and y, m."""
        if self.form in RECTANGULAR:
            return self.width or 0.0, self.depth or 0.0
        return self.diameter or 0.0, self.diameter or 0.0

    @property
    def hole(self) -> float:
        """Inner diameter of a ring, m; 0 for the rest."""
        return self.hole_diameter or 0.0

    @property
    def area(self) -> float:
        """Seen from the top, m²."""
        if self.form in RECTANGULAR:
            return self.size[0] * self.size[1]
        return math.pi / 4 * (self.size[0] ** 2 - self.hole**2)

    @property
    def volume(self) -> float:
        """m³."""
        return self.area * self.thickness


def _measured(body: Body, table: str) -> None:
    """Raises DesignError where a form lacks a measure or has one of another form."""
    wanted = ("width", "depth") if body.form in RECTANGULAR else ("diameter",)
    wanted = (*wanted, "hole_diameter") if body.form == "ring" else wanted
    measures = {key: getattr(body, key) for key in ("width", "depth", "diameter", "hole_diameter")}
    faults = measure_faults(table, f'form = "{body.form}"', measures, wanted, f"it takes {', '.join(wanted)}")
    if not faults and body.form == "ring" and body.hole >= body.size[0]:
        says = f"{in_mm(body.hole)} is not under the ring's diameter, {in_mm(body.size[0])}; make it smaller"
        faults.append(Fault(key=f"{table}.hole_diameter", says=says))
    if faults:
        raise DesignError(faults)


def _as_written(schema: Json) -> None:
    """Thickness is needed unless the core is in the pocket, where the board's stands for it."""
    in_pocket = {"properties": {"place": {"enum": ["pocket"]}}, "required": ["place"]}
    schema["anyOf"] = [{"required": schema.pop("required")}, in_pocket]


class Core(Body):
    """A soft-magnetic core on a face of the board or in its pocket, centred on the coil."""

    model_config = ConfigDict(json_schema_extra=_as_written)

    material: Annotated[SoftMaterial, BY_NAME] = Field(
        default_factory=lambda: soft_material("soft iron"),
        description="from `coilgen list materials`, or a table; default soft iron",
    )
    form: Annotated[CoreForm, Word()] = Field(default="plate", description="default plate, in the pocket rod")
    place: Annotated[Place, Word()] = Field(default="bottom", description="default bottom")
    gap: LengthOrZero | None = Field(
        default=None,
        description="to the face of the board's outer copper, film on it included, or the core before it; "
        "default 0.05 mm",
    )
    rise: Offset | None = Field(
        default=None, description="of a core in the pocket, its top over the board's top face; default 0"
    )
    contact: Annotated[str, Row("contacts")] | None = Field(
        default=None,
        description="how heat gets to it, from `coilgen list contacts`; default mounting.contact",
    )

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, given: object) -> object:
        if not isinstance(given, Mapping):
            return given
        if given.get("place") == "pocket":
            return filled(given, {"form": "rod", "rise": SI(0.0)})
        return filled(given, {"gap": SI(5e-5)})

    @model_validator(mode="after")
    def _whole(self) -> "Core":
        faults = []
        if self.place == "pocket" and self.gap is not None:
            says = 'has no use with place = "pocket"; leave it out, `rise` tells how the core stands'
            faults.append(Fault(key="core.gap", says=says))
        if self.place != "pocket" and self.rise is not None:
            faults.append(Fault(key="core.rise", says='belongs to place = "pocket"; use gap'))
        if faults:
            raise DesignError(faults)
        _measured(self, "core")
        return self

    @property
    def mass(self) -> float:
        """kg."""
        return self.volume * self.material.density


class Graded(Body):
    """A permanent magnet's body, evenly magnetised: its grade or its remanence."""

    grade: Annotated[str, Row("magnets")] | None = Field(
        default=None, description="from `coilgen list magnets`; or give remanence"
    )
    remanence: Remanence | None = Field(default=None, description="instead of grade")

    @property
    def row(self) -> Mapping[str, Any]:
        """Facts of the grade; those of a common neodymium grade where only a remanence is given."""
        return rows("magnets")[self.grade or "N42"]

    @property
    def remanences(self) -> tuple[float, float]:
        """Least and typical remanence, T."""
        if self.remanence is not None:
            return self.remanence, self.remanence
        low, typical = self.row["remanence"]
        return low, typical

    @property
    def mass(self) -> float:
        """kg."""
        return self.volume * float(self.row["density"])

    def graded(self, table: str) -> None:
        """Raises DesignError where neither or both of grade and remanence are given; table: its name."""
        if self.grade is None and self.remanence is None:
            says = "not given; give a grade from `coilgen list magnets`, or a remanence"
            raise DesignError.at(f"{table}.grade", says)
        if self.grade is not None and self.remanence is not None:
            raise DesignError.at(f"{table}.remanence", "given besides grade; keep one of the two")


class Magnet(Graded):
    """A permanent magnet that the coil pushes, magnetised evenly."""

    form: Annotated[MagnetForm, Word()] = Field(default="disc", description="default disc")
    pole: Annotated[Pole, Word()] = Field(
        default="up", description="where its north pole points: up is away from the top face; default up"
    )
    place: Annotated[Face, Word()] = Field(default="top", description="which side it is on; default top")
    gap: Gap = Field(
        description="between its near face and that of the board's outer copper, film on it included, or of "
        "what stands there; 0.02 mm or more"
    )
    offset: Offsets = optional("of its centre from the coil's axis along x and y; default 0, 0", (0.0, 0.0))
    contact: Annotated[str, Row("contacts")] | None = Field(
        default=None,
        description="of its heat where it is stuck to the board, from `coilgen list contacts`; default free",
    )

    @model_validator(mode="after")
    def _whole(self) -> "Magnet":
        self.graded("magnet")
        _measured(self, "magnet")
        return self


class Target(Body):
    """A steel body that the coil should hold, such as a clip."""

    material: Annotated[SoftMaterial, BY_NAME] = Field(
        default_factory=lambda: soft_material("low-carbon steel"),
        description="from `coilgen list materials`, or a table; default low-carbon steel",
    )
    form: Annotated[TargetForm, Word()] = Field(default="plate", description="default plate")
    mass: Mass | None = Field(default=None, description="of all that is to be held; default the body's own")
    place: Annotated[Face, Word()] = Field(default="top", description="which side it is on; default top")
    gap: Gap = Field(
        description="between its near face and that of the board's outer copper, film on it included, or of "
        "what stands there; 0.02 mm or more"
    )
    offset: Offsets = optional("of its centre from the coil's axis along x and y; default 0, 0", (0.0, 0.0))

    @model_validator(mode="after")
    def _whole(self) -> "Target":
        _measured(self, "target")
        return self

    @property
    def held_mass(self) -> float:
        """What is to be held, kg."""
        return self.volume * self.material.density if self.mass is None else self.mass
