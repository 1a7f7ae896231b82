"""What the board is made of, from its top face down: copper layers, dielectric, their materials."""

from collections.abc import Mapping
from dataclasses import fields
from functools import cache
from typing import Annotated, Any, TypeVar

from pydantic import Field, StrictBool, StrictStr, model_validator

from coilgen.catalogue import rows
from coilgen.design.keys import (
    ByName,
    CopperThicknesses,
    DielectricThicknesses,
    LengthOrZero,
    Permittivities,
    Permittivity,
    Row,
    Table,
    one_of,
    optional,
)
from coilgen.errors import DesignError
from coilgen.frozen import dataclass


@dataclass(frozen=True, kw_only=True)
class Metal:
    """A conductor's facts at 20 degC.

    resistivity ohm m, temperature_coefficient 1/K, density kg/m³, heat_conductivity W/(m K),
    heat_capacity J/(kg K).
    """

    resistivity: float
    temperature_coefficient: float
    density: float
    heat_conductivity: float
    heat_capacity: float


@dataclass(frozen=True, kw_only=True)
class Laminate:
    """A dielectric's facts.

    permittivity and loss_tangent near 1 MHz, heat_conductivity through the thickness and
    heat_conductivity_in_plane W/(m K), limit_temperature degC in lasting use, density kg/m³,
    heat_capacity J/(kg K).
    """

    permittivity: float
    loss_tangent: float
    heat_conductivity: float
    heat_conductivity_in_plane: float
    limit_temperature: float
    density: float
    heat_capacity: float


Facts = TypeVar("Facts", Metal, Laminate)


@cache
def metal(name: str = "copper") -> Metal:
    """Facts of a conductor of the materials data."""
    return _facts(Metal, name)


@cache
def laminate(name: str) -> Laminate:
    """Facts of a laminate of the materials data."""
    return _facts(Laminate, name)


def _facts(sort: type[Facts], name: str) -> Facts:
    row: Mapping[str, Any] = rows("materials")[name]
    return sort(**{fact.name: row[fact.name] for fact in fields(sort)})


class Stackup(Table):
    """Copper layers from the top, the dielectric under each, and the solder mask or coverlay outside."""

    name: StrictStr = Field(default="custom", description="name of the stack-up, for the fabrication notes")
    material: Annotated[str, Row("materials", "laminate")] = Field(
        default="FR-4", description="laminate, from `coilgen list materials`; default FR-4"
    )
    copper: CopperThicknesses = Field(description="finished thickness of each copper layer, top to bottom")
    dielectric: DielectricThicknesses = Field(
        description="thickness of each dielectric between two copper layers, top to bottom; "
        "of the base when there is one copper layer"
    )
    permittivity: Permittivities = optional(
        "relative permittivity of each dielectric; default the material's", ()
    )
    mask_thickness: LengthOrZero = optional(
        "thickness of solder mask or coverlay; default the material's", 0.0
    )
    mask_permittivity: Permittivity = optional("relative permittivity of solder mask or coverlay", 1.0)
    flexible: StrictBool = optional("whether the board bends; default the material's", False)

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, written: object) -> object:
        """Facts left out come from the material."""
        if not isinstance(written, Mapping):
            return written
        return {**_usual(written), **written}

    @model_validator(mode="after")
    def _counts(self) -> "Stackup":
        between = max(1, self.layers - 1)
        if len(self.dielectric) != between:
            raise DesignError.at(
                "board.stackup.dielectric",
                f"{len(self.dielectric)} given for {self.layers} in copper, which need {between}; "
                "one stands between two copper layers, or under a single one",
            )
        if len(self.permittivity) != between:
            raise DesignError.at(
                "board.stackup.permittivity",
                f"{len(self.permittivity)} given for {between} in dielectric; give as many",
            )
        return self

    @property
    def layers(self) -> int:
        """Number of copper layers."""
        return len(self.copper)

    @property
    def thickness(self) -> float:
        """Of copper and dielectric together, m; masks left out."""
        return sum(self.copper) + sum(self.dielectric)

    @property
    def masked_faces(self) -> tuple[str, ...]:
        """Faces with solder mask or coverlay: the bottom of a single copper layer is bare."""
        return ("top",) if self.layers == 1 else ("top", "bottom")

    @property
    def finished_thickness(self) -> float:
        """Over everything, solder mask or coverlay included, m."""
        return self.thickness + len(self.masked_faces) * self.mask_thickness

    def height(self, layer: int) -> float:
        """Height z of the middle of a copper layer (1 is the top one), m; the board's top face is z = 0.

        >>> round(named("rigid-2-layer-1.6mm").height(2) * 1e3, 6)
        -1.5825
        """
        if not 1 <= layer <= self.layers:
            raise IndexError(f"layer {layer} of {self.layers}")
        above = sum(self.copper[: layer - 1]) + sum(self.dielectric[: layer - 1])
        return -(above + self.copper[layer - 1] / 2)

    @property
    def metal(self) -> Metal:
        """Facts of the copper."""
        return metal()

    @property
    def laminate(self) -> Laminate:
        """Facts of the dielectric's material; its permittivity may be overridden by `permittivity`."""
        return laminate(self.material)


def _usual(written: Mapping[str, object]) -> dict[str, object]:
    """What a stack-up of this material has unless it says otherwise; nothing for an unknown material."""
    material = written.get("material", "FR-4")
    row = rows("materials").get(material) if isinstance(material, str) else None
    if row is None or row["sort"] != "laminate":
        return {"permittivity": (1.0,)}
    dielectric = written.get("dielectric")
    count = len(dielectric) if isinstance(dielectric, list | tuple) and 1 <= len(dielectric) <= 16 else 1
    return {
        "permittivity": (row["permittivity"],) * count,
        **{fact: row[fact] for fact in ("mask_thickness", "mask_permittivity", "flexible")},
    }


@cache
def named(name: str) -> Stackup:
    """The stack-up of this name in the data; ValueError with the nearest name when there is none."""
    row = rows("stackups")[one_of(name, tuple(rows("stackups")))]
    return Stackup.model_validate(
        {"name": name, **{key: row[key] for key in row if key in Stackup.model_fields}}
    )


def with_layers(layers: int, *, flexible: bool) -> tuple[str, ...]:
    """Names of the stack-ups, rigid or flexible, that have at least so many copper layers."""
    return tuple(
        name for name in rows("stackups") if named(name).layers >= layers and named(name).flexible == flexible
    )


def default_name(layers: int) -> str:
    """The rigid stack-up that takes so many wound layers when none is asked for."""
    fitting = next(count for count in (2, 4, 6, 8) if count >= layers)
    return f"rigid-{fitting}-layer-1.6mm"


BY_NAME = ByName("stack-up", Row("stackups"), named)
