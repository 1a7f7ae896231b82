"""Inductance of the coil where it stands, with all that is magnetic about it."""

from coilgen.figures.core._magnetics import in_place
from coilgen.figures.core._spreads import BANDED, inductance_spread, slope
from coilgen.figures.in_place._meter import meter_cautions
from coilgen.result.figure import Answer, Case, Quantity, spread_answer


def _inductance(case: Case) -> Answer | None:
    effect = in_place(case)
    if effect is None or case.figure("inductance") is None:
        return None
    return spread_answer(
        inductance_spread(case, effect.added_small_signal, slope, "inductance_in_place"),
        f"for small changes about the current while the drive is on, {_standing(case)}; slow: no eddy "
        f"currents; {BANDED}",
        cautions=meter_cautions(case, "inductance_in_place"),
    )


def _standing(case: Case) -> str:
    design = case.design
    magnetic = {"cores": bool(design.core), "target": design.target, "magnet": design.magnet}
    return f"{', '.join(name for name, stands in magnetic.items() if stands)} in place"


FIGURES = (
    Quantity(
        name="inductance_in_place",
        unit="H",
        says="inductance with cores, target and magnet where they stand",
        group="core",
        compute=_inductance,
    ),
)
