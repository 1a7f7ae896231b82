"""What soft cores do to the coil: inductance with them, their mass, the state they are in."""

import math
from typing import TYPE_CHECKING

from coilgen.design.soft_material import SoftMaterial, written
from coilgen.figures.core._magnetics import (
    cell_size,
    core_bodies,
    core_curves,
    core_effect,
    crest,
    solvable,
    winding_path,
)
from coilgen.result.figure import WARNING, Answer, Case, Quantity
from coilgen.units import readable

if TYPE_CHECKING:
    from coilgen.physics.core.effect import CoreEffect

FERRITE = 1e-2
"""ohm m: from this resistivity on eddy currents in a core are left unsaid."""
METER = 1e3
"""Hz, usual frequency of an inductance meter."""


def _inductance(case: Case) -> Answer | None:
    effect = core_effect(case)
    if effect is None:
        return None
    return _with_core(
        case,
        effect,
        effect.added_inductance,
        "flux linkage over current at the current while the drive is on",
        _eddy_cautions(case),
    )


def _at_rest(case: Case) -> Answer | None:
    effect = core_effect(case)
    if effect is None:
        return None
    return _with_core(case, effect, effect.at_rest, "for small currents about none")


def _small_signal(case: Case) -> Answer | None:
    effect = core_effect(case)
    if effect is None:
        return None
    model = "for small changes about the current while the drive is on; low where the core saturates"
    return _with_core(case, effect, effect.added_small_signal, model)


def _with_core(
    case: Case, effect: "CoreEffect", added: float, what: str, cautions: tuple[str, ...] = ()
) -> Answer:
    """The bare coil's inductance and what the cores add; both errors together are the band."""
    bare = case.figure("inductance")
    assert bare is not None
    low, high = bare.band or (bare.value, bare.value)
    error = effect.added_inductance_error
    return Answer(
        value=bare.value + added,
        model=f"{what}; static, magnetisation of the cores by a volume integral on {_cells(effect)} cells; "
        "the band is the bare coil's error and a cautious one from a grid of half the fineness",
        band=(low + added - error, high + added + error),
        cautions=cautions,
    )


def _cells(effect: "CoreEffect") -> int:
    return int(effect.state.core.grid.filled.sum())


def _eddy_cautions(case: Case) -> tuple[str, ...]:
    metals = {written(core.material): core.material for core in case.design.core}
    frequency = case.design.drive.frequency or METER
    return tuple(
        f"The inductance with the core is a static figure. In {_named(name)} eddy currents hold the flux "
        f"within {readable(_skin_depth(material, frequency), 'm', 2)} of its surface at "
        f"{readable(frequency, 'Hz', 2)} (skin depth): a meter at such frequencies reads less, and so does "
        "a drive that switches fast."
        for name, material in metals.items()
        if material.resistivity < FERRITE
    )


def _named(written: str) -> str:
    """A material's word within a sentence: of a table of the user's own what it is like, if anything."""
    if written == "custom":
        return "the core's own material"
    return f"a material {written}" if written.startswith("like ") else written


def _skin_depth(material: SoftMaterial, frequency: float) -> float:
    """m, in a plane conductor with its permeability in weak fields."""
    from coilgen.physics.eddy.current import skin_depth

    return skin_depth(material.resistivity / material.curve.permeability, frequency)


def _ratio(case: Case) -> Answer | None:
    if not case.design.core:
        return None
    whole, bare = case.figure("core_inductance"), case.figure("inductance")
    assert whole is not None and whole.band is not None and bare is not None
    low, high = (1 + (end - whole.value) / whole.value for end in whole.band)
    ratio = whole.value / bare.value
    return Answer(
        value=ratio,
        model="inductance with the cores over that of the bare coil",
        band=(ratio * low, ratio * high),
    )


def _mass(case: Case) -> Answer | None:
    if not case.design.core:
        return None
    return Answer(
        value=sum(core.mass for core in case.design.core), model="volume times density of all cores"
    )


def _peak(case: Case) -> Answer | None:
    effect = core_effect(case)
    if effect is None:
        return None
    return Answer(
        value=float(effect.peak.max()),
        model="99 % of a core's volume lie under it, in the core where it is most; at the current while the "
        "drive is on",
    )


def _state(case: Case) -> Answer | None:
    effect = core_effect(case)
    if effect is None:
        return None
    columns = zip(case.design.core, effect.peak, effect.mean, effect.saturated, strict=True)
    return Answer(
        value=[
            {
                "core": number,
                "material": written(core.material),
                "peak": float(peak),
                "mean": float(mean),
                "saturated": float(saturated),
                "mass": core.mass,
            }
            for number, (core, peak, mean, saturated) in enumerate(columns, 1)
        ],
        model="flux density that 99 % of the volume lie under, mean by volume, share of the volume on the "
        "flat part of the magnetisation curve; at the current while the drive is on",
    )


def _saturation_current(case: Case) -> Answer | None:
    found = _onset(case) if case.design.core else math.inf
    if found == math.inf:
        return None
    current, flow = _largest_current(case)
    cautions = (
        f"{WARNING}The core saturates: {readable(current, 'A', 2)} {flow}, and from "
        f"{readable(found, 'A', 2)} the inductance falls. A thicker core or a material that saturates later "
        "helps.",
    )
    return Answer(
        value=found,
        model="current at which what the cores add to the inductance for small changes has lost a tenth of "
        "its greatest value, on a grid of half the fineness",
        cautions=cautions if current >= found else (),
    )


def _largest_current(case: Case) -> tuple[float, str]:
    """Of the drive, A, and when it flows."""
    when = "at the sine crest" if case.design.drive.waveform == "sine" else "while the drive is on"
    return crest(case) * case.value("current"), f"flow {when}"


def _onset(case: Case) -> float:
    """A; infinite where no core saturates."""
    from coilgen.physics.core.effect import COARSER, saturation_current

    bodies = core_bodies(case)
    cell = COARSER * cell_size(bodies)
    with solvable("core"):
        return saturation_current(winding_path(case), bodies, core_curves(case), cell=cell)


FIGURES = (
    Quantity(
        name="core_inductance",
        unit="H",
        says="inductance with the cores at the drive current",
        group="core",
        compute=_inductance,
    ),
    Quantity(
        name="core_inductance_at_rest",
        unit="H",
        says="inductance with the cores for small currents",
        group="core",
        compute=_at_rest,
    ),
    Quantity(
        name="core_inductance_small_signal",
        unit="H",
        says="inductance with the cores for small changes about the drive current",
        group="core",
        compute=_small_signal,
    ),
    Quantity(
        name="core_inductance_ratio",
        unit="1",
        says="inductance with the cores over that of the bare coil",
        group="core",
        compute=_ratio,
    ),
    Quantity(
        name="core_peak_flux_density",
        unit="T",
        says="largest flux density in a core",
        group="core",
        compute=_peak,
    ),
    Quantity(
        name="core_state",
        unit="table(core, material, peak T, mean T, saturated 1, mass kg)",
        says="flux density and mass of each core",
        group="core",
        compute=_state,
    ),
    Quantity(
        name="core_saturation_current",
        unit="A",
        says="current at which the cores begin to saturate",
        group="core",
        compute=_saturation_current,
    ),
    Quantity(name="core_mass", unit="kg", says="mass of the cores", group="core", compute=_mass),
)
