"""A steel target with the cores: magnetised together, at the ends of tolerances and at other gaps."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from coilgen.design.bodies import Target
from coilgen.figures.core._cells import cell_size, check_width
from coilgen.figures.core._ends import LEAST_GAP, at_gap_ends, material_ends
from coilgen.figures.core._magnetics import (
    WITH_TARGET,
    bodies_in_place,
    core_bodies,
    in_place,
    on_grids,
    solvable,
)
from coilgen.figures.core._spreads import solved_at_ends
from coilgen.figures.field._paths import coils_path
from coilgen.frozen import dataclass
from coilgen.result.figure import Case
from coilgen.result.spread import Spread

if TYPE_CHECKING:
    from coilgen.physics.core.body import Body
    from coilgen.physics.core.holding import Driven, Holding, Pull
    from coilgen.physics.core.magnetisation_curve import Curve
    from coilgen.physics.core.on_grid import SetUp
    from coilgen.physics.core.soft_core import Magnetised
    from coilgen.physics.core.two_grids import TwoGrids

_NEAR = 1.05
"""Ratio of currents between which the pull's steepness is told."""
_GAPS = (0.2, 0.5, 1.0, 2.0, 4.0)
"""Over the given one."""


@dataclass(frozen=True, kw_only=True)
class Pulled:
    """pull: N toward the coil at the drive's current; found: what the solver tells of it."""

    pull: float
    found: "Pull"

    @property
    def error(self) -> float:
        """N."""
        return self.found.error

    @property
    def rough(self) -> "Holding":
        """A coarser grid for further solves."""
        return self.found.rough

    @property
    def rough_state(self) -> "Magnetised":
        """The magnetisation on it, at the drive's current."""
        return self.found.rough_state

    @property
    def scale(self) -> float:
        """What turns a force along z on the coarser grid into a pull that agrees with the finer one's."""
        return self.pull / self.found.rough_force


def pulled(case: Case, cored: bool = True) -> Pulled:
    """At the drive's current, with the cores, or as if there were none."""
    cored = cored and bool(case.design.core)
    return case.once(f"pull on the target, cores {cored}", lambda: _solved(case, cored))


def _solved(case: Case, cored: bool) -> Pulled:
    from coilgen.physics.core.holding import pull_at

    check_width("target", _bodies(case, cored)[0], _cell(case, cored) / case.coarser)
    alone = case.design.magnet is not None or cored != bool(case.design.core)
    with solvable("target"):
        known = None if alone else in_place(case)
        found = pull_at(_grids(case, cored), case.value("current"), known)
        if not case.values_only:
            found.with_error()
    return Pulled(pull=_toward(case) * found.force, found=found)


def _grids(case: Case, cored: bool) -> "TwoGrids[Holding]":
    """What does not depend on the current: what stands on it here is kept for other currents too."""
    return case.kept_last(_gridded, cored)


def _gridded(case: Case, cored: bool) -> "TwoGrids[Holding]":
    """On the grids that target and cores have anyway; without the cores on such of its own."""
    from coilgen.physics.core.holding import holding_among, target_on_two_grids

    path, (bodies, curves) = coils_path(case), _bodies(case, cored)
    if cored == bool(case.design.core):
        return on_grids(case).further(lambda laid: holding_among(laid, path, len(bodies) - 1))
    return target_on_two_grids(path, bodies[-1], (), curves, _cell(case, cored))


def _bodies(case: Case, cored: bool) -> "tuple[tuple[Body, ...], tuple[Curve, ...]]":
    """The cores, if they count, and the target last, with their curves."""
    bodies, curves = bodies_in_place(case)
    return (bodies, curves) if cored else (bodies[-1:], curves[-1:])


def target_of(case: Case) -> Target:
    """The design's target; LookupError for a design without one."""
    target = case.design.target
    if target is None:
        raise LookupError("the design has no target")
    return target


def _cell(case: Case, cored: bool) -> float:
    return case.coarser * cell_size(_bodies(case, cored)[0], WITH_TARGET)


def _toward(case: Case) -> float:
    """Sign of a force along z that draws the target to the coil."""
    return -1.0 if target_of(case).place == "top" else 1.0


def steepness(case: Case, current: float) -> float:
    """Of the current, A, the power by which the pull grows with it; 2 where nothing saturates."""
    low, high = pulled(case).rough.pulls((current / _NEAR, current * _NEAR), driven_usually(case))
    return math.log(high / low) / math.log(_NEAR**2)


def driven_usually(case: Case) -> "Driven":
    """The coarser grid at the drive's current."""
    from coilgen.physics.core.holding import Driven

    found = pulled(case).found
    return Driven(current=found.current, force=found.rough_force, state=found.rough_state)


def pull_at_one_current(case: Case) -> Spread:
    """At one current, with the tolerances of gaps and materials, N."""
    return case.once("pull at the ends of tolerances", lambda: _over_ends(case))


def _over_ends(case: Case) -> Spread:
    found = pulled(case)
    shifts = {
        source: (found.scale * low - found.pull, found.scale * high - found.pull)
        for source, low, high in _forces_at_ends(case)
    }
    return Spread(found.pull, shifts)


def _forces_at_ends(case: Case) -> Iterator[tuple[str, float, float]]:
    """On the coarser grid, N; by the states that the inductance has found there, where no magnet is."""
    found, current = pulled(case), case.value("current")
    known = {} if case.design.magnet is not None else solved_at_ends(case)
    for source, *ends in _moved(case, found.rough):
        if source in known:
            states = (one.state for one in known[source])
            low, high = (one.force(state, current) for one, state in zip(ends, states, strict=True))
        else:
            low, high = (one.pull(current, found.rough_state) for one in ends)
        yield source, low, high


def _moved(case: Case, usual: "Holding") -> "Iterator[tuple[str, Holding, Holding]]":
    """The coarser grid at the ends of each source but the magnet, which is left out of pulls."""
    straight = usual.core.cells.straight
    for source, low, high in material_ends(case, straight=straight):
        yield source, usual.made_of(*low), usual.made_of(*high)
    yield from case.kept_last(_at_gap_ends)


def _at_gap_ends(case: Case) -> "tuple[tuple[str, Holding, Holding], ...]":
    from coilgen.physics.core.holding import holding_among

    path, number = coils_path(case), len(core_bodies(case))
    usual = _grids(case, bool(case.design.core)).rough

    def at(laid: "SetUp") -> "Holding":
        return holding_among(laid, path, number, usual)

    found = case.kept_last(at_gap_ends).items()
    return tuple(
        (source, at(near), at(far)) for source, (near, far) in found if source != "gap of the magnet"
    )


def gaps(case: Case) -> list[float]:
    """The target's own and others, ascending, m."""
    given = target_of(case).gap
    return sorted({given, *(factor * given for factor in _GAPS if factor * given >= LEAST_GAP)})


def pull_at_gap(case: Case, gap: float, cored: bool) -> float:
    """Pull with the target at one of the gaps, N."""
    found = pulled(case, cored)
    if gap == target_of(case).gap:
        return found.pull
    there = case.kept_last(_at_gaps, cored)[gap]
    return found.scale * there.pull(case.value("current"), found.rough_state)


def _at_gaps(case: Case, cored: bool) -> "Mapping[float, Holding]":
    """The coarser grid with the target at each gap but its own."""
    given = target_of(case).gap
    return {gap: _higher(case, cored, _toward(case) * (given - gap)) for gap in gaps(case) if gap != given}


def _higher(case: Case, cored: bool, by: float) -> "Holding":
    """The coarser grid with the target higher by so much, m."""
    from coilgen.physics.core.holding import holding_among
    from coilgen.physics.core.on_grid import set_up
    from coilgen.physics.core.two_grids import COARSER

    path, usual, (bodies, curves) = coils_path(case), _grids(case, cored).rough, _bodies(case, cored)
    moved = (*bodies[:-1], replace(bodies[-1], bottom=bodies[-1].bottom + by))
    laid = set_up(path, moved, curves, COARSER * _cell(case, cored), near=usual.laid)
    return holding_among(laid, path, len(bodies) - 1, usual)
