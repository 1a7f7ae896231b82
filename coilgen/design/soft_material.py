"""What soft cores and targets are made of: magnetisation curve, density, resistivity, heat."""

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Annotated, Literal, cast

from pydantic import Field, StrictStr, model_validator

from coilgen.catalogue import rows
from coilgen.design.keys import (
    ByName,
    FieldStrengths,
    FluxDensities,
    Permeability,
    Positive,
    Row,
    SaturationFluxDensity,
    Table,
    filled,
    optional,
)
from coilgen.errors import DesignError, shown

if TYPE_CHECKING:
    from coilgen.physics.core.magnetisation_curve import Curve

_CURVE = ("permeability", "saturation", "field_strength", "flux_density", "knee")
Knee = Literal["rounded", "steel"]
_STEEL = 1.0
"""T: what saturates later is iron or steel, unless told otherwise (common practice, no source)."""


class SoftMaterial(Table):
    """A soft-magnetic material: a permeability that may saturate, or a table of B against H."""

    name: StrictStr = Field(default="custom", description="name of the material, for the figures")
    like: Annotated[str, Row("materials", "soft-magnetic")] | None = Field(
        default=None, description="takes the facts left out from this material of `coilgen list materials`"
    )
    permeability: Permeability | None = Field(default=None, description="relative, in weak fields")
    saturation: SaturationFluxDensity | None = Field(
        default=None, description="polarisation B - mu0 H that it levels at; left out, it never saturates"
    )
    knee: Knee | None = Field(
        default=None,
        description="form of the curve from permeability to saturation: steel, as measured on low-carbon "
        "steel, or rounded, as of ferrites; left out, steel from a saturation of 1 T on",
    )
    field_strength: FieldStrengths = optional("H of a B-H table, A/m, rising; instead of permeability", ())
    flux_density: FluxDensities = optional("B of a B-H table, T, one for each H, rising", ())
    density: Positive = optional("kg/m3; default that of soft iron", 1.0)
    resistivity: Positive = optional("ohm m at 20 degC; default that of soft iron", 1.0)
    heat_conductivity: Positive = optional("W/(m K); default that of soft iron", 1.0)
    heat_capacity: Positive = optional("J/(kg K); default that of soft iron", 1.0)

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, given: object) -> object:
        """Facts left out are those of the material it is like; a curve is taken whole or not at all."""
        if not isinstance(given, Mapping):
            return given
        like = given.get("like")
        row = _facts(like) if isinstance(like, str) else None
        usual = dict(row or _facts("soft iron") or {})
        if row is None or "field_strength" in given or "flux_density" in given:
            usual = {fact: usual[fact] for fact in usual if fact not in _CURVE}
        return filled(given, usual)

    @model_validator(mode="after")
    def _curve(self) -> "SoftMaterial":
        table = bool(self.field_strength or self.flux_density)
        if not table and self.permeability is None:
            raise _fault("permeability", "not given; give it, or a B-H table, or a material it is like")
        if table and (self.permeability is not None or self.saturation is not None):
            raise _fault("permeability", "given besides a B-H table; keep one of the two")
        if self.knee is not None and self.saturation is None:
            raise _fault(
                "knee", "given without a saturation that it leads to; give one, or leave the knee out"
            )
        if len(self.field_strength) != len(self.flux_density):
            raise _fault(
                "flux_density",
                f"{len(self.flux_density)} given for {len(self.field_strength)} in field_strength; "
                "give one for each",
            )
        self._rising()
        try:
            _ = self.curve
        except ValueError as error:
            raise _fault("flux_density" if table else "permeability", f"{error}; mend the numbers") from None
        return self

    def _rising(self) -> None:
        """Raises DesignError at the first entry of a B-H table that does not rise over the one before."""
        from coilgen.physics.base.constants import MU0

        h, b = 0.0, 0.0
        for number, (field, density) in enumerate(
            zip(self.field_strength, self.flux_density, strict=True), 1
        ):
            if number == 1 and field == density == 0.0:
                continue
            if field <= h:
                raise _falls("field_strength", number, f"{field:g} A/m is not over {h:g} A/m")
            if density - MU0 * field <= b - MU0 * h:
                least = f"{b:g} T by more than the {MU0 * (field - h):.3g} T that air adds"
                raise _falls("flux_density", number, f"{density:g} T is not over {least}")
            h, b = field, density

    @property
    def curve(self) -> "Curve":
        """Its magnetisation curve, for the solvers."""
        from coilgen.physics.core import magnetisation_curve as curves

        if self.field_strength:
            return curves.curve_from_table(self.field_strength, self.flux_density)
        if self.permeability is None:
            raise ValueError("neither permeability nor B-H table")
        if self.saturation is None:
            return curves.straight_curve(self.permeability)
        knee = self.knee or ("steel" if self.saturation >= _STEEL else "rounded")
        if knee == "rounded":
            return curves.saturating_curve(self.permeability, self.saturation)
        steel = cast("Mapping[str, list[float]]", rows("magnetisation_curves")[knee])
        return curves.stretched_curve(
            steel["field_strength"], steel["flux_density"], self.permeability, self.saturation
        )


def _fault(key: str, says: str) -> DesignError:
    return DesignError.at(f"material.{key}", says)


def _falls(key: str, number: int, says: str) -> DesignError:
    return _fault(key, f"entry {number}: {says}; give H in A/m and B in T, each rising from entry to entry")


def _facts(name: str) -> Mapping[str, object] | None:
    row = rows("materials").get(name)
    if row is None or row["sort"] != "soft-magnetic":
        return None
    return {fact: row[fact] for fact in row if fact in SoftMaterial.model_fields}


@cache
def soft_material(name: str) -> SoftMaterial:
    """The soft-magnetic material of this name in the data; ValueError when there is none."""
    return SoftMaterial.model_validate({"name": name, "like": name})


BY_NAME = ByName("soft-magnetic material", Row("materials", "soft-magnetic"), soft_material)


def written(material: SoftMaterial) -> str:
    """The material in a word or two, for tables of figures."""
    return material.name if material.name != "custom" or not material.like else f"like {shown(material.like)}"
