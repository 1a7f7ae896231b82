"""Pull on a steel target: at the drive's current, against gap and current, and whether it holds."""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from coilgen.design.bodies import Target
from coilgen.figures.core._ends import LEAST_GAP, at_gap_ends, material_ends
from coilgen.figures.core._magnetics import (
    WITH_TARGET,
    bodies_in_place,
    cell_size,
    check_width,
    coils_path,
    core_bodies,
    in_place,
    on_grids,
    solvable,
)
from coilgen.figures.core._spreads import solved_at_ends
from coilgen.frozen import dataclass
from coilgen.physics.base.constants import GRAVITY
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread, carried
from coilgen.units import readable

if TYPE_CHECKING:
    from coilgen.physics.core.body import Body
    from coilgen.physics.core.holding import Driven, Holding, Pull
    from coilgen.physics.core.magnetisation_curve import Curve
    from coilgen.physics.core.on_grid import SetUp
    from coilgen.physics.core.soft_core import Magnetised
    from coilgen.physics.core.two_grids import TwoGrids

SAFE_MARGIN = 2.0
"""Pull over weight that leaves room for knocks and warm copper; common practice, no source."""
_NEAR = 1.05
"""Ratio of currents between which the pull's steepness is told."""
_MOST_ERROR = 0.9
"""Of the pull, that a current can make up for."""
_GAPS = (0.2, 0.5, 1.0, 2.0, 4.0)
_CURRENTS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0)


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


def _pulled(case: Case, cored: bool = True) -> Pulled:
    """With the cores, or as if there were none."""
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


def _target(case: Case) -> Target:
    target = case.design.target
    if target is None:
        raise LookupError("the design has no target")
    return target


def _cell(case: Case, cored: bool) -> float:
    return case.coarser * cell_size(_bodies(case, cored)[0], WITH_TARGET)


def _toward(case: Case) -> float:
    """Sign of a force along z that draws the target to the coil."""
    return -1.0 if _target(case).place == "top" else 1.0


def _pull(case: Case) -> Answer | None:
    if case.design.target is None:
        return None
    return spread_answer(
        _pull_spread(case),
        f"{_model(case)}, by virtual work; toward the coil; the band is that of gaps, materials and "
        "current and the expected error of the grid",
    )


def _pull_spread(case: Case) -> Spread:
    """With what its tolerances change, N; those of gaps and materials are found on the coarser grid."""
    if case.values_only:
        return Spread(_pulled(case).pull)
    found, usual = _pulled(case), case.value("current")
    driven = carried(
        lambda pull, amperes: pull * (amperes / usual) ** _power(case), _at_one(case), case.spread("current")
    )
    return driven.plus(**{"model of pull_on_target": (-found.error, found.error)})


def _power(case: Case) -> float:
    """Of the current, by which the pull grows about the drive's; 2 where nothing saturates."""
    return case.once("steepness of the pull", lambda: _steepness(case, case.value("current")))


def _steepness(case: Case, current: float) -> float:
    low, high = _pulled(case).rough.pulls((current / _NEAR, current * _NEAR), _usual(case))
    return math.log(high / low) / math.log(_NEAR**2)


def _usual(case: Case) -> "Driven":
    """The coarser grid at the drive's current."""
    from coilgen.physics.core.holding import Driven

    found = _pulled(case).found
    return Driven(current=found.current, force=found.rough_force, state=found.rough_state)


def _at_one(case: Case) -> Spread:
    """At one current, with the tolerances of gaps and materials, N."""
    return case.once("pull at the ends of tolerances", lambda: _over_ends(case))


def _over_ends(case: Case) -> Spread:
    found = _pulled(case)
    shifts = {
        source: (found.scale * low - found.pull, found.scale * high - found.pull)
        for source, low, high in _forces_at_ends(case)
    }
    return Spread(found.pull, shifts)


def _forces_at_ends(case: Case) -> Iterator[tuple[str, float, float]]:
    """On the coarser grid, N; by the states that the inductance has found there, where no magnet is."""
    found, current = _pulled(case), case.value("current")
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


def _model(case: Case) -> str:
    together = "target and cores" if case.design.core else "target"
    return f"{together} magnetised by the winding, saturation in, at rest, no magnet near"


def _against_gap(case: Case) -> Answer | None:
    if case.design.target is None:
        return None
    gaps = _gaps(case)
    pulls = [_at_gap(case, gap, True) for gap in gaps]
    bare = [_at_gap(case, gap, False) for gap in gaps] if case.design.core else pulls
    return Answer(
        value=[
            {"gap": gap, "pull": pull, "without_core": without}
            for gap, pull, without in zip(gaps, pulls, bare, strict=True)
        ],
        model=f"{_model(case)}; on a coarser grid, set right by the finer one's pull; "
        "gaps from half the given one on to within 3 %, nearer ones to within a tenth",
    )


def _gaps(case: Case) -> list[float]:
    """The given one and others, m."""
    given = _target(case).gap
    return sorted({given, *(factor * given for factor in _GAPS if factor * given >= LEAST_GAP)})


def _at_gap(case: Case, gap: float, cored: bool) -> float:
    """Pull with the target at one of the gaps, N."""
    found = _pulled(case, cored)
    if gap == _target(case).gap:
        return found.pull
    there = case.kept_last(_at_gaps, cored)[gap]
    return found.scale * there.pull(case.value("current"), found.rough_state)


def _at_gaps(case: Case, cored: bool) -> "Mapping[float, Holding]":
    """The coarser grid with the target at each gap but its own."""
    given = _target(case).gap
    return {gap: _higher(case, cored, _toward(case) * (given - gap)) for gap in _gaps(case) if gap != given}


def _higher(case: Case, cored: bool, by: float) -> "Holding":
    """The coarser grid with the target higher by so much, m."""
    from coilgen.physics.core.holding import holding_among
    from coilgen.physics.core.on_grid import set_up
    from coilgen.physics.core.two_grids import COARSER

    path, usual, (bodies, curves) = coils_path(case), _grids(case, cored).rough, _bodies(case, cored)
    moved = (*bodies[:-1], replace(bodies[-1], bottom=bodies[-1].bottom + by))
    laid = set_up(path, moved, curves, COARSER * _cell(case, cored), near=usual.laid)
    return holding_among(laid, path, len(bodies) - 1, usual)


def _against_current(case: Case) -> Answer | None:
    if case.design.target is None:
        return None
    found = _pulled(case)
    currents = [factor * case.value("current") for factor in _CURRENTS]
    return Answer(
        value=[
            {"current": current, "pull": found.scale * pull}
            for current, pull in zip(currents, found.rough.pulls(currents, _usual(case)), strict=True)
        ],
        model=f"{_model(case)}; on a coarser grid, set right by the finer one's pull",
    )


def _weight(case: Case) -> float:
    return _target(case).held_mass * GRAVITY


def _least_current(case: Case) -> float:
    """A; inf where no current holds the target."""
    from coilgen.physics.core.holding import current_for

    found = _pulled(case)
    if found.pull <= 0.0:
        return math.inf
    with solvable("target"):
        rough = found.rough
    return case.once(
        "holding current", lambda: current_for(rough, _weight(case) / abs(found.scale), _usual(case))
    )


def _holding_current(case: Case) -> Answer | None:
    if case.design.target is None or math.isinf(_least_current(case)):
        return None
    return spread_answer(
        _holding_spread(case),
        f"least current whose pull is the weight of what is held, {readable(_weight(case), 'N')}; "
        f"{_model(case)}; the band is that of the pull at one current, by how steeply it grows with it",
    )


def _holding_spread(case: Case) -> Spread:
    """A, with the tolerances of gaps and materials and the grid's error; not those of the current."""
    least, found = _least_current(case), _pulled(case)
    if case.values_only:
        return Spread(least)
    steep = _steepness(case, least)
    error = min(found.error / found.pull, _MOST_ERROR) * found.pull
    pull = _at_one(case).plus(**{"model of pull_on_target": (-error, error)})
    return carried(
        lambda newton: least * (found.pull / max(newton, (1 - _MOST_ERROR) * found.pull)) ** (1 / steep), pull
    )


def _least_told(case: Case) -> float:
    """As the figure tells it, A; inf where no current holds the target."""
    told = case.figure("holding_current")
    return math.inf if told is None else float(told.value)


def _lift_margin(case: Case) -> Answer | None:
    if case.design.target is None:
        return None
    weight = _weight(case)
    margin = case.value("pull_on_target") / weight
    return spread_answer(
        carried(lambda pull: pull / weight, case.spread("pull_on_target")),
        f"pull over the weight of what is held, {readable(weight, 'N')}; at 1 it just holds",
        cautions=() if case.values_only else (*_doubts(case, margin), *_pauses(case)),
    )


def _doubts(case: Case, margin: float) -> tuple[str, ...]:
    pull, weight = readable(case.value("pull_on_target"), "N"), readable(_weight(case), "N")
    if margin <= 0.0:
        return (
            f"{WARNING}The coil pushes the target off with {pull.removeprefix('-')}: put it over the turns.",
        )
    if margin < 1.0:
        return (
            f"{WARNING}The pull of {pull} does not hold the target's weight of {weight}; {_remedy(case)}.",
        )
    warm, least = case.figure("hot_current"), _least_told(case)
    if warm is not None and warm.value < least <= case.value("current"):
        return (
            f"{WARNING}The pull holds the target only while the coil is cold: holding takes "
            f"{readable(least, 'A')}, and the settled coil has {readable(warm.value, 'A')}. "
            "Use more copper, lead the heat away, or lower the gap.",
        )
    if margin < SAFE_MARGIN:
        return (
            f"The pull of {pull} is only {margin:.2g} times the target's weight of {weight}: a knock or warm "
            "copper may let it fall.",
        )
    return ()


def _pauses(case: Case) -> tuple[str, ...]:
    """Under a drive whose current does not flow all the time."""
    if case.design.drive.waveform == "sine":
        return (
            "The pull is the mean under the sine: it falls to nothing twice in a period, and the target may "
            "hum or drop.",
        )
    if case.design.drive.waveform == "square":
        return (
            "The pull is that while the drive is on: in its pauses the target is let go as the current dies.",
        )
    return ()


def _remedy(case: Case) -> str:
    least, largest = _least_told(case), case.figure("largest_current")
    if math.isinf(least):
        return "no current holds it at this gap"
    takes = f"that takes {readable(least, 'A')} at this gap"
    if largest is None or least <= largest.value:
        return takes
    return f"{takes}, more than the {readable(largest.value, 'A')} that the coil carries for good"


def _quantity(name: str, unit: str, says: str, compute: Callable[[Case], Answer | None]) -> Quantity:
    return Quantity(name=name, unit=unit, says=says, group="force", compute=compute, of="board")


FIGURES = (
    _quantity("pull_on_target", "N", "pull on the steel target, toward the coil", _pull),
    _quantity(
        "pull_against_gap",
        "table(gap m, pull N, without_core N)",
        "pull on the target against its gap, with the cores and without",
        _against_gap,
    ),
    _quantity(
        "pull_against_current",
        "table(current A, pull N)",
        "pull on the target against the current",
        _against_current,
    ),
    _quantity("holding_current", "A", "least current that holds the target", _holding_current),
    _quantity("lift_margin", "1", "pull on the target over its weight", _lift_margin),
)
