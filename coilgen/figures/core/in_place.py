"""Inductance of the coil where it stands, with all that is magnetic about it."""

from coilgen.figures.core._magnetics import in_place
from coilgen.figures.in_place._meter import meter_cautions
from coilgen.result.figure import Answer, Case, Quantity


def _inductance(case: Case) -> Answer | None:
    effect, bare = in_place(case), case.figure("inductance")
    if effect is None or bare is None:
        return None
    low, high = bare.band or (bare.value, bare.value)
    error = effect.added_inductance_error
    return Answer(
        value=bare.value + effect.added_small_signal,
        model=f"for small changes about the current while the drive is on, {_standing(case)}; slow: no eddy "
        "currents; the band is the bare coil's error and a cautious one from a grid of half the fineness",
        band=(low + effect.added_small_signal - error, high + effect.added_small_signal + error),
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
