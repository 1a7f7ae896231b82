"""What soft cores do to the coil: inductance with them, their mass, the state they are in."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from coilgen.catalogue import rows
from coilgen.design.soft_material import written
from coilgen.figures.core._magnetics import crest, in_place, over_iron
from coilgen.figures.core._spreads import (
    BANDED,
    core_spread,
    inductance_spread,
    linkage_per_ampere,
    onset_spread,
    slope,
    slope_at_rest,
)
from coilgen.physics.base.conductor import Floats
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import carried, within
from coilgen.units import per_cent, readable

if TYPE_CHECKING:
    from coilgen.physics.core.effect import CoreEffect
    from coilgen.physics.core.on_grid import OnGrid

_FALSE = "its flux density and what it adds to inductance, field and force are told"
FLOODED = 0.1
"""Of a core's volume, saturated without current, from which on the magnet is told to saturate it."""


def _effect(case: Case) -> "CoreEffect | None":
    """Cores, target and magnet where they stand; None without cores."""
    return in_place(case) if case.design.core else None


def _inductance(case: Case) -> Answer | None:
    return _with_core(
        case,
        "core_inductance",
        lambda effect: effect.added_inductance,
        linkage_per_ampere,
        "flux linkage that the current makes, over it, while the drive is on",
    )


def _at_rest(case: Case) -> Answer | None:
    return _with_core(
        case,
        "core_inductance_at_rest",
        lambda effect: effect.at_rest,
        slope_at_rest,
        "for small currents about none",
    )


def _small_signal(case: Case) -> Answer | None:
    return _with_core(
        case,
        "core_inductance_small_signal",
        lambda effect: effect.added_small_signal,
        slope,
        "for small changes about the current while the drive is on, low where a core saturates",
    )


def _beside(case: Case) -> str:
    """What stands at the coil besides the cores, for the models."""
    others = [name for name in ("target", "magnet") if getattr(case.design, name) is not None]
    return (
        f", {' and '.join(others)} where {'it stands' if len(others) == 1 else 'they stand'}"
        if others
        else ""
    )


def _said(case: Case, name: str) -> str:
    """What a figure says, with all that counts in it."""
    return f"{case.quantities[name].says}{_beside(case)}"


def _with_core(
    case: Case,
    name: str,
    added: "Callable[[CoreEffect], float]",
    read: "Callable[[OnGrid], float]",
    what: str,
) -> Answer | None:
    """The bare coil's inductance and what the cores add, with the tolerances and errors of both."""
    effect = _effect(case)
    if effect is None:
        return None
    return spread_answer(
        inductance_spread(case, added(effect), read, name),
        f"{what}{_beside(case)}; static, magnetisation of the cores by a volume integral on {_cells(effect)} "
        f"cells; {BANDED}",
        says=_said(case, name),
    )


def _cells(effect: "CoreEffect") -> int:
    return int(effect.state.core.grid.filled.sum())


def _ratio(case: Case) -> Answer | None:
    if not case.design.core:
        return None
    ratio = carried(
        lambda whole, bare: whole / bare, case.spread("core_inductance"), case.spread("inductance")
    )
    return spread_answer(
        ratio, "core_inductance over the bare coil's inductance", says=_said(case, "core_inductance_ratio")
    )


def _mass(case: Case) -> Answer | None:
    if not case.design.core:
        return None
    share = float(str(rows("tolerances")["bodies"]["mass"]))
    return spread_answer(
        within(
            sum(each.core.mass for each in case.design.stand.bodies), "sizes and density of the cores", share
        ),
        "volume times density of all cores",
    )


def _peak(case: Case) -> Answer | None:
    effect = _effect(case)
    if effect is None:
        return None
    from coilgen.physics.core.two_grids import grid_error

    peak = float(effect.peak[: len(case.design.stand.bodies)].max())
    read = partial(_largest_peak, case)
    return spread_answer(
        core_spread(
            case,
            peak,
            read,
            lambda effect: float(grid_error(peak, read(effect.rough))),
            "core_peak_flux_density",
        ),
        "99 % of a core's volume lie under it, in the core where it is most; at the current while the drive "
        f"is on{_beside(case)}; {BANDED}",
        cautions=over_iron(case, effect.peak[: len(case.design.stand.bodies)].tolist(), _FALSE),
    )


def _largest_peak(case: Case, grid: "OnGrid") -> float:
    """T, of the cores without the target."""
    return float(grid.peaks[: len(case.design.stand.bodies)].max())


def _state(case: Case) -> Answer | None:
    effect = _effect(case)
    if effect is None:
        return None
    repeated = len(case.design.stand.bodies) > len(case.design.core)
    return Answer(
        value=[
            {
                "core": number,
                "material": written(core.material),
                "peak": _most(case, number, effect.peak),
                "mean": _most(case, number, effect.mean),
                "saturated": _most(case, number, effect.saturated),
                "peak_at_rest": _most(case, number, effect.peak_at_rest),
                "saturated_at_rest": _most(case, number, effect.saturated_at_rest),
                "mass": core.mass,
            }
            for number, core in enumerate(case.design.core, start=1)
        ],
        model="flux density that 99 % of the volume lie under, mean by volume, share of the volume on the "
        f"flat part of the magnetisation curve; at the current while the drive is on{_beside(case)}; "
        "at rest: without current"
        + ("; of a core in every coil the most in any, and the mass of one" if repeated else ""),
        cautions=_flooded(case, effect),
    )


def _most(case: Case, number: int, told: Floats) -> float:
    """The most in any body of a core; told: for each body."""
    return float(max(told[k] for k, each in enumerate(case.design.stand.bodies) if each.number == number))


def _flooded(case: Case, effect: "CoreEffect") -> tuple[str, ...]:
    """What the magnet alone saturates."""
    if case.design.magnet is None:
        return ()
    return tuple(
        f"The magnet alone saturates {per_cent(share)} of core {number} ({written(core.material)}), "
        "which there no "
        "longer leads the coil's flux: inductance and force are told with that. A thicker core, a material "
        "that saturates later or a magnet farther off keeps its use."
        for number, core in enumerate(case.design.core, start=1)
        if (share := _most(case, number, effect.saturated_at_rest)) > FLOODED
    )


def _saturation_current(case: Case) -> Answer | None:
    onset = onset_spread(case) if case.design.core else None
    if onset is None:
        return None
    found = onset.value
    current, flow = _largest_current(case)
    cautions = (
        f"{WARNING}The core saturates: {readable(current, 'A', 2)} {flow}, and from "
        f"{readable(found, 'A', 2)} the inductance falls. A thicker core or a material that saturates later "
        "helps.",
    )
    return spread_answer(
        onset,
        "current at which what the cores add to the inductance for small changes has lost a tenth of "
        f"its greatest value{_beside(case)}, on a grid of half the fineness",
        cautions=cautions if current >= found else (),
    )


def _largest_current(case: Case) -> tuple[float, str]:
    """Of the drive, A, and when it flows."""
    when = "at the sine crest" if case.design.drive.waveform == "sine" else "while the drive is on"
    return crest(case) * case.value("current"), f"flow {when}"


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
        of="board",
    ),
    Quantity(
        name="core_state",
        unit="table(core, material, peak T, mean T, saturated 1, peak_at_rest T, saturated_at_rest 1, "
        "mass kg)",
        says="flux density and mass of each core",
        group="core",
        compute=_state,
        of="board",
    ),
    Quantity(
        name="core_saturation_current",
        unit="A",
        says="current at which the cores begin to saturate",
        group="core",
        compute=_saturation_current,
    ),
    Quantity(
        name="core_mass",
        unit="kg",
        says="mass of the cores",
        group="core",
        compute=_mass,
        of="board",
    ),
)
