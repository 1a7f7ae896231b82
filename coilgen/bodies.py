"""What stands at the coil: soft cores, a permanent magnet, a steel target, and where each of them stands."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, ValidationInfo, field_validator, model_validator

from coilgen.catalogue import rows
from coilgen.errors import DesignError, Fault
from coilgen.fields import (
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
    told,
)
from coilgen.soft_material import BY_NAME, SoftMaterial, soft_material
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

_RECTANGULAR = ("plate", "bar", "block")


class Body(Table):
    """Measures that cores, magnets and targets share."""

    form: str
    width: Length | None = Field(default=None, description="of a rectangular form, along x")
    depth: Length | None = Field(
        default=None, validate_default=True, description="along y, as width; default the width"
    )
    diameter: Length | None = Field(default=None, description="of a round form")
    hole_diameter: Length | None = Field(default=None, description="of a ring, inside")
    thickness: Length = Field(description="along z, from face to face")

    @field_validator("depth", mode="before")
    @classmethod
    def _square(cls, given: object, info: ValidationInfo) -> object:
        """A rectangular form told by its width alone is square."""
        width: float | None = info.data.get("width")
        if given is not None or width is None or info.data.get("form") not in _RECTANGULAR:
            return given
        return SI(width)

    @property
    def size(self) -> tuple[float, float]:
        """Over all along x and y, m."""
        if self.form in _RECTANGULAR:
            return self.width or 0.0, self.depth or 0.0
        return self.diameter or 0.0, self.diameter or 0.0

    @property
    def hole(self) -> float:
        """Inner diameter of a ring, m; 0 for the rest."""
        return self.hole_diameter or 0.0

    @property
    def area(self) -> float:
        """Seen from the top, m²."""
        if self.form in _RECTANGULAR:
            return self.size[0] * self.size[1]
        return math.pi / 4 * (self.size[0] ** 2 - self.hole**2)

    @property
    def volume(self) -> float:
        """m³."""
        return self.area * self.thickness


def _measured(body: Body, table: str) -> None:
    """Raises DesignError where a form lacks a measure or has one of another form."""
    wanted = ("width", "depth") if body.form in _RECTANGULAR else ("diameter",)
    wanted = (*wanted, "hole_diameter") if body.form == "ring" else wanted
    faults = []
    for key in ("width", "depth", "diameter", "hole_diameter"):
        value = getattr(body, key)
        if key in wanted and value is None and (key != "depth" or body.width is not None):
            faults.append(Fault(key=f"{table}.{key}", says=f'not given; form = "{body.form}" needs it'))
        if key not in wanted and value is not None:
            says = f'has no use with form = "{body.form}"; it takes {", ".join(wanted)}'
            faults.append(Fault(key=f"{table}.{key}", says=says))
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
        description="of adhesive or air, to the board's face or the core before it; default 0.05 mm",
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


class Magnet(Body):
    """A permanent magnet that the coil pushes, magnetised evenly."""

    form: Annotated[MagnetForm, Word()] = Field(default="disc", description="default disc")
    grade: Annotated[str, Row("magnets")] | None = Field(
        default=None, description="from `coilgen list magnets`; or give remanence"
    )
    remanence: Remanence | None = Field(default=None, description="instead of grade")
    pole: Annotated[Pole, Word()] = Field(
        default="up", description="where its north pole points: up is away from the top face; default up"
    )
    place: Annotated[Face, Word()] = Field(default="top", description="which side it is on; default top")
    gap: Gap = Field(
        description="between its near face and the board's, or that of what stands there; 0.02 mm or more"
    )
    offset: Offsets = told("of its centre from the coil's axis along x and y; default 0, 0", (0.0, 0.0))

    @model_validator(mode="after")
    def _whole(self) -> "Magnet":
        if self.grade is None and self.remanence is None:
            says = "not given; give a grade from `coilgen list magnets`, or a remanence"
            raise DesignError.at("magnet.grade", says)
        if self.grade is not None and self.remanence is not None:
            raise DesignError.at("magnet.remanence", "given besides grade; keep one of the two")
        _measured(self, "magnet")
        return self

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
        description="between its near face and the board's, or that of what stands there; 0.02 mm or more"
    )
    offset: Offsets = told("of its centre from the coil's axis along x and y; default 0, 0", (0.0, 0.0))

    @model_validator(mode="after")
    def _whole(self) -> "Target":
        _measured(self, "target")
        return self

    @property
    def held_mass(self) -> float:
        """What is to be held, kg."""
        return self.volume * self.material.density if self.mass is None else self.mass


@dataclass(frozen=True, kw_only=True)
class Standing:
    """Heights of a body's lower and upper face, m."""

    bottom: float
    top: float


@dataclass(frozen=True, kw_only=True)
class Stand:
    """Where cores stand on a board of a thickness (m): those of a face one upon the other, in their order."""

    cores: tuple[Core, ...]
    thickness: float

    @cached_property
    def standing(self) -> tuple[Standing, ...]:
        """For each core."""
        found, reached = [], {"top": 0.0, "bottom": -self.thickness}
        for core in self.cores:
            if core.place == "pocket":
                top = core.rise or 0.0
                found.append(Standing(bottom=top - core.thickness, top=top))
                continue
            found.append(_beyond(reached[core.place], core.place, core.gap or 0.0, core.thickness))
            reached[core.place] = found[-1].top if core.place == "top" else found[-1].bottom
        return tuple(found)

    def face(self, place: str) -> float:
        """Height of the outermost face on a side, of the board or of a core, m."""
        if place == "top":
            return max(0.0, *(each.top for each in self.standing), 0.0)
        return min(-self.thickness, *(each.bottom for each in self.standing), -self.thickness)

    def of(self, body: Magnet | Target) -> Standing:
        """Where a magnet or a target stands."""
        return _beyond(self.face(body.place), body.place, body.gap, body.thickness)

    def faults(self) -> list[Fault]:
        """Cores that would stand in one another."""
        found = []
        for one, core in enumerate(self.cores):
            for other in range(one):
                depth = self._overlap(one, other)
                if depth > 0.0:
                    key, advice = _MOVES["pocket" if core.place == "pocket" else "face"]
                    says = f"stands {in_mm(depth)} in core {other + 1}; {advice}"
                    found.append(Fault(key=f"core {one + 1}.{key}", says=says))
        return found

    def _overlap(self, one: int, other: int) -> float:
        """How far two cores' heights overlap, m; 0 where one fits through the other's hole."""
        a, b = self.standing[one], self.standing[other]
        depth = min(a.top, b.top) - max(a.bottom, b.bottom)
        first, second = self.cores[one], self.cores[other]
        clear = depth <= 1e-9 or _within(first, second.hole) or _within(second, first.hole)
        return 0.0 if clear else depth


_MOVES = {
    "pocket": (
        "rise",
        "shorten it, change its rise, or make a ring of the other with a hole it goes through",
    ),
    "face": ("gap", "widen its gap, shorten the other, or make it a ring whose hole the other goes through"),
}
"""Key and advice for a core that stands in another."""


def _within(core: Core, hole: float) -> bool:
    """Whether a core fits through a round hole of this diameter, m."""
    across = math.hypot(*core.size) if core.form in _RECTANGULAR else core.size[0]
    return across <= hole


def fits(core: Core, shape: str, size: float) -> bool:
    """Whether a core goes into a pocket of a shape and size (m)."""
    if core.form not in _RECTANGULAR:
        return core.size[0] <= size * (1 + 1e-9)
    if shape == "square":
        return max(core.size) <= size * (1 + 1e-9)
    return math.hypot(*core.size) <= size * (1 + 1e-9)


def _beyond(face: float, place: str, gap: float, thickness: float) -> Standing:
    if place == "top":
        return Standing(bottom=face + gap, top=face + gap + thickness)
    return Standing(bottom=face - gap - thickness, top=face - gap)
