"""Limits of the shop that makes the board: one table of the design file."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, Any

from pydantic import Field, SerializerFunctionWrapHandler, model_serializer, model_validator

from coilgen.catalogue import rows
from coilgen.design.keys import Length, LengthOrZero, Quantity, Ratio, Row, Table, Voltage, filled, optional


class Rules(Table):
    """Limits of the shop that makes the board, each of which may be overridden."""

    shop: Annotated[str, Row("shops")] = optional(
        "from `coilgen list shops`; default rigid-standard, flex-standard, or heavy-copper over 52 um",
        "rigid-standard",
    )
    trace_width: Length = optional("least width of a trace", 0.0)
    trace_spacing: Length = optional("least distance between copper edges", 0.0)
    annular_ring: LengthOrZero = optional("least copper round a drilled hole", 0.0)
    drill_diameter: Length = optional("least diameter of a drill", 0.0)
    drill_aspect_ratio: Ratio = optional("most board thickness over drill diameter", 1.0)
    hole_to_hole: LengthOrZero = optional("least distance between the edges of two holes", 0.0)
    copper_to_edge: LengthOrZero = optional(
        "least distance of copper to the board's edge and to unplated holes", 0.0
    )
    copper_to_pocket: LengthOrZero = optional("least distance of copper to the pocket's edge", 0.0)
    hole_to_pocket: LengthOrZero = optional("least distance of a hole's edge to the pocket's edge", 0.0)
    pocket_corner_radius: LengthOrZero = optional("least inner radius the cutter leaves", 0.0)
    mask_web: LengthOrZero = optional("least solder mask or coverlay left between two openings", 0.0)
    mask_opening: LengthOrZero = optional("by which an opening reaches past its pad on each side", 0.0)
    coverlay_hold: LengthOrZero = optional(
        "by which coverlay holds a terminal pad's edge on each side; 0 for openings that reach past it", 0.0
    )
    legend_clearance: LengthOrZero = optional(
        "least distance of printed ink to mask openings, holes and edges", 0.0
    )
    board_size: Length = optional("largest side of a board", 0.0)
    layer_count: Annotated[float, Quantity(dimension="number", least=1, most=64)] = optional(
        "most copper layers", 1.0
    )
    isolation_voltage: Voltage | None = Field(
        default=None, description="that windings are to be isolated from one another for, V; left out: none"
    )

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, given: object) -> object:
        """Limits left out are the shop's."""
        if not isinstance(given, Mapping):
            return given
        shop = given.get("shop", "rigid-standard")
        row = rows("shops").get(shop) if isinstance(shop, str) else None
        return filled(
            given, {} if row is None else {limit: row[limit] for limit in cls.model_fields if limit in LIMITS}
        )

    @model_serializer(mode="wrap")
    def _told(self, handler: SerializerFunctionWrapHandler) -> dict[str, Any]:
        """Without an isolation voltage where none is asked for."""
        told: dict[str, Any] = handler(self)
        return {key: value for key, value in told.items() if value is not None}

    @property
    def limits(self) -> Mapping[str, float]:
        """Every limit by name: m, but drill_aspect_ratio and layer_count are plain numbers."""
        return MappingProxyType({name: self.limit(name) for name in LIMITS})

    def limit(self, name: str) -> float:
        """One limit by name."""
        if name not in LIMITS:
            raise KeyError(name)
        value: float = getattr(self, name)
        return value


def finer_shop(name: str) -> str | None:
    """The next shop that makes the same boards with finer traces; None where the data has none."""
    finer = rows("shops")[name].get("finer")
    return None if finer is None else str(finer)


LIMITS = tuple(name for name in Rules.model_fields if name not in ("shop", "isolation_voltage"))
