"""How far what is made and mounted may lie from what was asked: 95 % limits, one table of the design file."""

from collections.abc import Iterable, Mapping
from typing import Any

from pydantic import Field, model_validator

from coilgen.catalogue import rows
from coilgen.design.bodies import Core, Graded, Magnet, Target
from coilgen.design.keys import Deviation, Fraction, LengthOrZero, Platings, Table, optional
from coilgen.design.mover import Mover
from coilgen.design.stackup import Stackup
from coilgen.errors import DesignError


class Tolerance(Table):
    """95 % limits about what the design file tells; those left out come from the data, with their source.

    A fraction is of the value itself. Fractions of permeability and conductivity are those of a factor: by
    1 + f and by 1 / (1 + f).
    """

    trace_width: LengthOrZero = optional("of the finished trace width; default the shop's", 0.0)
    copper_thickness: Fraction = optional("of the finished copper thickness; default the shop's", 0.0)
    plating: Platings = optional("of plated barrels, [least, typical]; default the shop's", (2e-5, 2.5e-5))
    dielectric_thickness: Fraction = optional("of each dielectric; default the stack-up's", 0.0)
    permittivity: Fraction = optional("of laminate and solder mask; default the laminate's", 0.0)
    mask_thickness: Fraction = optional("of solder mask or coverlay; default the laminate's", 0.0)
    permeability: Fraction | None = Field(
        default=None, description="of cores and target; default the widest of their materials"
    )
    saturation: Fraction | None = Field(
        default=None, description="of cores and target; default the widest of their materials"
    )
    remanence: Fraction | None = Field(
        default=None, description="of the magnet; default its grade's from least to typical"
    )
    conductivity: Fraction | None = Field(
        default=None, description="of the copper and of metal near it; default that of each material"
    )
    convection: Fraction | None = Field(
        default=None, description="of the film of air; default what its correlations are known to"
    )
    voltage: Fraction = optional("of the supply; default 0", 0.0)
    ambient: Deviation = optional("of the air's temperature; default 0", 0.0)
    gap: LengthOrZero = optional("of the gaps of cores, magnet and target, unless they tell their own", 5e-5)

    def gap_of(self, body: Core | Magnet | Target | Mover) -> float:
        """That of a body's gap, m: its own, if it tells one."""
        return self.gap if body.gap_tolerance is None else body.gap_tolerance

    def conductivity_of(self, material: str) -> float:
        """That of a material by name, a fraction of a factor."""
        row = float(_of_row("materials", material)["conductivity"])
        return row if self.conductivity is None else self.conductivity

    @model_validator(mode="after")
    def _plated(self) -> "Tolerance":
        if self.plating[0] > self.plating[1]:
            raise DesignError.at("tolerance.plating", "the least is over the typical; write [least, typical]")
        return self


def usual(
    shop: str, stackup: Stackup, bodies: Iterable[Core | Target], magnet: Graded | None
) -> Mapping[str, Any]:
    """The tolerances that the data tells for a design; keys that nothing answers for are left out."""
    named = [_of_row("materials", body.material.name) for body in bodies]
    soft = {key: max(row[key] for row in named) for key in ("permeability", "saturation")} if named else {}
    return {
        **_facts(_of_row("shops", shop), "trace_width", "copper_thickness", "plating"),
        "dielectric_thickness": _of_row("stackups", stackup.name)["dielectric_thickness"],
        **_facts(_of_row("materials", stackup.material), "permittivity", "mask_thickness"),
        **soft,
        **({} if magnet is None else {"remanence": _remanence(magnet)}),
        **_facts(rows("tolerances")["assembly"], "gap"),
        **_facts(rows("tolerances")["supply"], "voltage", "ambient"),
    }


def _of_row(kind: str, name: str) -> Mapping[str, Any]:
    """The tolerances of a row; those of what is told by numbers where there is no such row."""
    custom = rows("tolerances")["custom"]
    row: Any = rows(kind).get(name, {})
    return {**custom, **row.get("tolerance", {})}


def _facts(row: Mapping[str, Any], *keys: str) -> Mapping[str, Any]:
    return {key: row[key] for key in keys}


def _remanence(magnet: Graded) -> float:
    """From the least to the typical of its grade; of a remanence told by number that of the data."""
    least, typical = magnet.remanences
    if least == typical:
        return float(str(rows("tolerances")["custom"]["remanence"]))
    return round(1 - least / typical, 6)
