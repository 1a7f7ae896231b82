"""How the coil is mounted, for its heat: which way it looks, what holds it, what it rests on."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import (
    Field,
    SerializerFunctionWrapHandler,
    ValidationInfo,
    field_validator,
    model_serializer,
    model_validator,
)

from coilgen.catalogue import rows
from coilgen.design.footprint import measure_faults, square_depth
from coilgen.design.keys import (
    ContactResistances,
    Emissivity,
    HeatTransfer,
    Length,
    Row,
    Table,
    Temperature,
    Word,
    optional,
)
from coilgen.errors import DesignError

Orientation = Literal["face-up", "face-down", "vertical"]
Face = Literal["top", "bottom"]
PlateShape = Literal["round", "rectangle"]


class BasePlate(Table):
    """A plate, not magnetic, that the board is held flat to; a magnetic one is a [[core]]."""

    material: Annotated[str, Row("materials", "plate")] = Field(
        default="aluminium", description="from `coilgen list materials`; default aluminium"
    )
    place: Annotated[Face, Word()] = Field(default="bottom", description="its face; default bottom")
    shape: Annotated[PlateShape, Word()] = Field(default="rectangle", description="default rectangle")
    diameter: Length | None = Field(default=None, description="of a round plate")
    width: Length | None = Field(default=None, description="of a rectangular plate, along x")
    depth: Length | None = Field(
        default=None, validate_default=True, description="along y, as width; default the width"
    )
    thickness: Length = Field(description="of the plate")
    emissivity: Emissivity = optional("of its faces; default 0.2, as of bare dull metal", 0.2)
    contact: Annotated[str, Row("contacts")] | None = Field(
        default=None, description="from `coilgen list contacts`; default mounting.contact"
    )

    @field_validator("depth", mode="before")
    @classmethod
    def _square(cls, given: object, info: ValidationInfo) -> object:
        rectangular = info.data.get("shape") == "rectangle"
        return square_depth(given, info.data.get("width"), rectangular=rectangular)

    @model_validator(mode="after")
    def _measures(self) -> "BasePlate":
        wanted = ("diameter",) if self.shape == "round" else ("width", "depth")
        measures = {key: getattr(self, key) for key in ("diameter", "width", "depth")}
        shape = f'shape = "{self.shape}"'
        faults = measure_faults("mounting.base_plate", shape, measures, wanted, "leave it out")
        if faults:
            raise DesignError(faults)
        return self

    @property
    def facts(self) -> Mapping[str, Any]:
        """density kg/m³, heat_conductivity W/(m K), heat_capacity J/(kg K) of the material."""
        return rows("materials")[self.material]


class Mounting(Table):
    """How the coil is held in the air."""

    orientation: Annotated[Orientation, Word()] = Field(
        default="face-up", description="which way the top face looks; default face-up"
    )
    emissivity: Emissivity = optional("of the board's faces; default 0.9, as of solder mask or coverlay", 0.9)
    contact: Annotated[str, Row("contacts")] = optional(
        "how cores and base plate are held, from `coilgen list contacts`; default thin-tape", "thin-tape"
    )
    contact_resistance: ContactResistances | None = Field(
        default=None, description="instead of contact: least, typical and most, m2 K/W"
    )
    forced_convection: HeatTransfer | None = Field(
        default=None, description="W/(m2 K) on every face in place of still air, as of a fan"
    )
    limit_temperature: Temperature | None = Field(
        default=None, description="a limit of your own for the hottest copper, besides the materials'"
    )
    base_plate: BasePlate | None = Field(
        default=None, description="what the board is held flat to; left out, it hangs in the air"
    )

    @model_validator(mode="after")
    def _contacts(self) -> "Mounting":
        if self.contact_resistance is None:
            return self
        if "contact" in self.model_fields_set:
            raise DesignError.at("mounting.contact_resistance", "given besides contact; keep one of the two")
        if list(self.contact_resistance) != sorted(self.contact_resistance):
            raise DesignError.at(
                "mounting.contact_resistance", "does not rise; give least, typical and most in this order"
            )
        return self

    @model_serializer(mode="wrap")
    def _told(self, handler: SerializerFunctionWrapHandler) -> dict[str, Any]:
        """Without the contact that its resistance stands instead of."""
        told: dict[str, Any] = handler(self)
        if self.contact_resistance is not None:
            del told["contact"]
        return told

    def contact_band(self, contact: str | None) -> tuple[float, float, float]:
        """Least, typical and most resistance of a joint, m² K/W; the mounting's own for None."""
        if contact is None and self.contact_resistance is not None:
            low, typical, high = self.contact_resistance
        else:
            row: Mapping[str, Any] = rows("contacts")[contact or self.contact]
            low, typical, high = row["resistance"]
        return low, typical, high
