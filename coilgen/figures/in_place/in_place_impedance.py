"""Impedance of the coil with all that stands at it, as a meter sees it and as the drive does."""

import numpy as np

from coilgen.figures.in_place._metal import HIGHEST, Level, highest, metal, pieces
from coilgen.figures.in_place._meter import loss_cautions, meter_cautions
from coilgen.figures.in_place._spreads import Added, added, conductivity_spread, permeability_spread
from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.units import per_cent, readable

_SLOW = (10.0, 20.0, 50.0, 100.0, 200.0, 500.0)
"""Hz, before the frequencies of the bare coil's impedance."""
_FIELD_WITH_IRON, _FIELD_WITH_METAL = (1.0, 4.0), (0.0, 1.0)
"""Times the copper's eddy loss: iron at most doubles the field, a shield may take it away."""


@dataclass(frozen=True, kw_only=True)
class Bare:
    """The coil alone: frequencies (n,) Hz, resistance ohm and inductance H there, and their bands' ends.

    direct: the resistance at direct current.
    """

    frequency: Floats
    resistance: Floats
    inductance: Floats
    resistances: tuple[Floats, Floats]
    inductances: tuple[Floats, Floats]
    direct: float


def bare(case: Case) -> Bare:
    """The figure `impedance`, and slower frequencies, up to the self-resonance."""
    rows, direct = case.value("impedance"), float(case.value("resistance_20c"))
    first = rows[0]
    slow = np.array([f for f in _SLOW if f < first["frequency"]])
    rise = (first["resistance"] - direct) * (slow / first["frequency"]) ** 2
    frequency = np.concatenate([slow, [row["frequency"] for row in rows]])
    kept = frequency <= highest(case) * (1 + 1e-9)
    ohm, henry = case.spread("resistance_20c"), case.spread("inductance")

    def all_of(column: str, before: Floats) -> Floats:
        return np.concatenate([before, [row[column] for row in rows]])[kept]

    return Bare(
        frequency=frequency[kept],
        resistance=all_of("resistance", direct + rise),
        inductance=all_of("inductance", np.full(len(slow), henry.value)),
        resistances=(
            all_of("resistance_low", ohm.band[0] + rise),
            all_of("resistance_high", ohm.band[1] + rise),
        ),
        inductances=(
            all_of("inductance_low", np.full(len(slow), henry.band[0])),
            all_of("inductance_high", np.full(len(slow), henry.band[1])),
        ),
        direct=direct,
    )


def _in_place(case: Case) -> Answer | None:
    found = _table(case, "weak")
    return (
        None
        if found is None
        else Answer(
            value=found, model=_model(case, "weak"), cautions=meter_cautions(case, "impedance_in_place")
        )
    )


def _at_drive(case: Case) -> Answer | None:
    found = _table(case, "drive")
    if found is None:
        return None
    return Answer(value=found, model=_model(case, "drive"), cautions=loss_cautions(case))


def _table(case: Case, level: Level) -> list[dict[str, float]] | None:
    alone = bare(case)
    spread = added(case, level, alone.frequency)
    if spread is None:
        return None
    omega = 2 * np.pi * alone.frequency
    resistance = alone.resistance - omega * spread.usual.imag
    inductance = alone.inductance + spread.usual.real
    lowest_r, highest_r = _resistances(case, level, alone, spread)
    lowest_l, highest_l = _inductances(case, level, alone, spread)
    lowest_r, highest_r = np.minimum(lowest_r, resistance), np.maximum(highest_r, resistance)
    lowest_l, highest_l = np.minimum(lowest_l, inductance), np.maximum(highest_l, inductance)
    columns = {
        "frequency": alone.frequency,
        "resistance": resistance,
        "inductance": inductance,
        "quality": omega * inductance / resistance,
        "resistance_bare": alone.resistance,
        "inductance_bare": alone.inductance,
        "quality_bare": omega * alone.inductance / alone.resistance,
        **_banded("", omega, (lowest_r, highest_r), (lowest_l, highest_l)),
        **_banded("_bare", omega, alone.resistances, alone.inductances),
    }
    return [
        {name: float(value) for name, value in zip(columns, row, strict=True)}
        for row in zip(*columns.values(), strict=True)
    ]


def _banded(
    end: str, omega: Floats, resistances: tuple[Floats, Floats], inductances: tuple[Floats, Floats]
) -> dict[str, Floats]:
    """Columns of the bands' ends; the quality's are those of both together."""
    (low_r, high_r), (low_l, high_l) = resistances, inductances
    return {
        f"resistance{end}_low": low_r,
        f"resistance{end}_high": high_r,
        f"inductance{end}_low": low_l,
        f"inductance{end}_high": high_l,
        f"quality{end}_low": omega * low_l / high_r,
        f"quality{end}_high": omega * high_l / low_r,
    }


def _resistances(case: Case, level: Level, alone: Bare, spread: Added) -> tuple[Floats, Floats]:
    found = metal(case, level)
    assert found is not None
    low, high = alone.resistances
    rise = alone.resistance - alone.direct
    less, more = _copper_loss(case)
    omega = 2 * np.pi * alone.frequency
    ends = np.array([-omega * one.imag for one in (spread.usual, *spread.ends)])
    return (
        low - (1 - less) * rise + ends.min(axis=0) * (1 - found.resistance_error),
        high + (more - 1) * rise + ends.max(axis=0) * (1 + found.resistance_error),
    )


def _copper_loss(case: Case) -> tuple[float, float]:
    """Least and most of the copper's eddy loss over that of the bare coil."""
    iron = any(piece.body.magnetic for piece in pieces(case))
    shield = any(piece.conducts for piece in pieces(case))
    return (
        _FIELD_WITH_METAL[0] if shield else _FIELD_WITH_IRON[0],
        _FIELD_WITH_IRON[1] if iron else _FIELD_WITH_METAL[1],
    )


def _inductances(case: Case, level: Level, alone: Bare, spread: Added) -> tuple[Floats, Floats]:
    found = metal(case, level)
    assert found is not None
    low, high = alone.inductances
    ends = np.array([one.real for one in (spread.usual, *spread.ends)])
    error = found.inductance_error * max(abs(found.relaxation.static), abs(found.relaxation.perfect))
    return (
        low + ends.min(axis=0) - error,
        high + ends.max(axis=0) + error,
    )


_HOW = {
    "round": "round bodies by finite elements in the meridian plane",
    "sheets": "a plate by stream functions on layers of bricks",
    "equal area": "discs of equal area on the axis by finite elements, scaled to what all adds at rest",
}


_BIAS = (
    ", about the mean flux density that the magnet holds in each (of bodies that it saturates in part "
    "inductance_in_place tells more, slow)"
)


def _model(case: Case, level: Level) -> str:
    found = metal(case, level)
    assert found is not None
    bias = "" if case.design.magnet is None else _BIAS
    at_drive = f"at the drive's largest current, from their curves{bias}"
    which = "in weak fields" if level == "weak" else at_drive
    return (
        f"{', '.join(piece.name for piece in pieces(case))}: {_HOW[found.method]}, permeabilities {which}; "
        "eddy currents in all that conducts, no laminations, no hysteresis, which iron and ferrites have "
        f"besides; cold copper, without the winding's capacitance; bands: {_facts(case)}the model's error, "
        f"the copper's own eddy loss in the changed field{_reach(case)}"
    )


def _facts(case: Case) -> str:
    """Which facts of the metal the bands count."""
    sigma, mu = conductivity_spread(case), permeability_spread(case)
    told = [f"conductivity within {per_cent(sigma - 1)}"] if sigma > 1.0 else []
    told += [f"permeability within a factor of {mu:g}"] if mu > 1.0 else []
    return "".join(f"{each}, " for each in told)


def _reach(case: Case) -> str:
    top = highest(case)
    if top >= HIGHEST:
        return ""
    return f"; frequencies over the self-resonance, {readable(top, 'Hz', 3)}, are left out"


_ENDS = (("",), ("_bare",), ("_low", "_high"), ("_bare_low", "_bare_high"))
_UNITS = {"resistance": "ohm", "inductance": "H", "quality": "1"}
_UNIT = "table(frequency Hz, {})".format(
    ", ".join(
        f"{quantity}{end} {unit}" for ends in _ENDS for quantity, unit in _UNITS.items() for end in ends
    )
)
FIGURES = (
    Quantity(
        name="impedance_in_place",
        unit=_UNIT,
        says="impedance of the coil with what stands at it, for weak currents: what a meter reads",
        group="electrical",
        compute=_in_place,
    ),
    Quantity(
        name="impedance_at_drive",
        unit=_UNIT,
        says="impedance of the coil with what stands at it, at the drive's level",
        group="electrical",
        compute=_at_drive,
    ),
)
