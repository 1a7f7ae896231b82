"""What tolerances of gaps, materials, magnet and current change in figures of the cores.

Solved on the coarser of the two grids, from its state; the changes are told in proportion on the finer one.
"""

import math
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from coilgen.figures.core._ends import Pair, set_ups
from coilgen.figures.core._magnetics import in_place, on_grids, solvable
from coilgen.result.figure import Case
from coilgen.result.spread import Shift, Spread, carried

if TYPE_CHECKING:
    from coilgen.physics.core.effect import CoreEffect
    from coilgen.physics.core.on_grid import OnGrid, SetUp
    from coilgen.physics.core.soft_core import Magnetised

BANDED = (
    "the band is that of gaps, materials and current and, with the bare coil's, the error to expect of the "
    "grid by one of half the fineness"
)
"""For the figures' models."""
_LIKE = 3.0
"""Ratio of both grids' values up to which changes are told in proportion, not as they are."""


def effect_in_place(case: Case) -> "CoreEffect":
    """Of a case with bodies."""
    found = in_place(case)
    assert found is not None
    return found


def ends(case: Case) -> Mapping[str, Pair]:
    """The bodies on the coarser grid at the ends of each source."""
    return case.kept_last(_set_ups)


def _set_ups(case: Case) -> Mapping[str, Pair]:
    return dict(set_ups(case, on_grids(case).rough))


def ends_at_rest(case: Case) -> "Mapping[str, tuple[Magnetised, Magnetised]]":
    """The bodies' states without current at the ends of each source."""
    return case.kept_last(_at_rest)


def _at_rest(case: Case) -> "Mapping[str, tuple[Magnetised, Magnetised]]":
    from coilgen.physics.core.on_grid import at_rest

    usual = on_grids(case).rough

    def at(end: "SetUp") -> "Magnetised":
        near = usual.applied is not None and len(end.load) == len(usual.load)
        return at_rest(end, usual.rest) if near else end.rest

    with solvable("core"):
        return {source: (at(low), at(high)) for source, (low, high) in ends(case).items()}


def solved_at_ends(case: Case) -> "Mapping[str, tuple[OnGrid, OnGrid]]":
    """The bodies on the coarser grid at the ends of each source, at the drive's current."""
    return case.once("cores at the ends of tolerances", lambda: _solutions(case))


def _solutions(case: Case) -> "Mapping[str, tuple[OnGrid, OnGrid]]":
    from coilgen.physics.core.on_grid import on_grid

    rough, resting = effect_in_place(case).rough, ends_at_rest(case)
    with solvable("core"):
        return {
            source: (
                on_grid(low, rough.current, rough, resting[source][0]),
                on_grid(high, rough.current, rough, resting[source][1]),
            )
            for source, (low, high) in ends(case).items()
        }


def driven_at_ends(case: Case) -> "tuple[OnGrid, OnGrid] | None":
    """The bodies on the coarser grid at the ends of the current's band; None where it is exact."""
    return case.once("cores at the ends of the current", lambda: _at_currents(case))


def _at_currents(case: Case) -> "tuple[OnGrid, OnGrid] | None":
    from coilgen.physics.core.on_grid import on_grid

    rough, current = effect_in_place(case).rough, case.spread("current")
    if not current.contributions:
        return None
    low, high = current.band
    with solvable("core"):
        return on_grid(rough.setup, low, rough), on_grid(rough.setup, high, rough)


def core_spread(
    case: Case,
    value: float,
    read: "Callable[[OnGrid], float]",
    error: "Callable[[CoreEffect], float]",
    name: str,
) -> Spread:
    """A value that the finer grid tells, with its shifts; read: it from another grid; error: the grids'."""
    if case.values_only:
        return Spread(value)
    off = error(effect_in_place(case))
    usual = read(effect_in_place(case).rough)
    scale = value / usual if usual and 1 / _LIKE < value / usual < _LIKE else 1.0
    shifts: dict[str, Shift] = {
        source: (scale * (read(low) - usual), scale * (read(high) - usual))
        for source, (low, high) in solved_at_ends(case).items()
    }
    shifts[f"model of {name}"] = (-off, off)
    return _with_current(case, Spread(value, shifts), read)


def _with_current(case: Case, found: Spread, read: "Callable[[OnGrid], float]") -> Spread:
    """By a power of the current through both ends of its band."""
    driven = driven_at_ends(case)
    if driven is None:
        return found
    low, high = (read(each) for each in driven)
    if low * high <= 0.0:
        return found
    power = math.log(high / low) / math.log(driven[1].current / driven[0].current)
    usual = case.value("current")
    return carried(lambda value, amperes: value * (amperes / usual) ** power, found, case.spread("current"))


def inductance_spread(case: Case, added: float, read: "Callable[[OnGrid], float]", name: str) -> Spread:
    """The bare coil's and what the bodies add, H; read: that from another grid."""
    whole = core_spread(case, added, read, lambda effect: effect.added_inductance_error, name)
    return carried(lambda bare, more: bare + more, case.spread("inductance"), whole)


def onset_spread(case: Case) -> Spread | None:
    """Current at which the cores begin to saturate, A, whatever the drive's; None where none does."""
    return case.kept(_onset)


def _onset(case: Case) -> Spread | None:
    from coilgen.physics.core.saturation import onset_error, saturation_onset

    with solvable("core"):
        onset = saturation_onset(on_grids(case).rough)
        if onset is None:
            return None
        value = onset.current
        if case.values_only:
            return Spread(value)
        resting = ends_at_rest(case)
        shifts = {
            source: (
                onset.at(low, resting[source][0]) - value,
                onset.at(high, resting[source][1]) - value,
            )
            for source, (low, high) in ends(case).items()
        }
    error = onset_error(len(on_grids(case).bodies)) * value
    return Spread(value, {**shifts, "model of core_saturation_current": (-error, error)})


def linkage_per_ampere(grid: "OnGrid") -> float:
    """H that the current makes the bodies add."""
    return grid.linkage / grid.current


def slope(grid: "OnGrid") -> float:
    """H, for small changes about the current."""
    return grid.slope


def slope_at_rest(grid: "OnGrid") -> float:
    """H, for small currents about none."""
    return grid.at_rest
