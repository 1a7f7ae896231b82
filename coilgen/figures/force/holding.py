"""Pull on a steel target: at the drive's current, against gap and current, and whether it holds."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from coilgen.design.bodies import Target
from coilgen.figures.core._magnetics import (
    cell_size,
    core_bodies,
    core_curves,
    solvable,
    target_body,
    winding_path,
)
from coilgen.physics.base.constants import GRAVITY
from coilgen.result.figure import WARNING, Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread, carried, told
from coilgen.units import readable

if TYPE_CHECKING:
    from coilgen.physics.core.brick_grid import Body
    from coilgen.physics.core.holding import Holding
    from coilgen.physics.core.magnetisation_curve import Curve

SAFE_MARGIN = 2.0
"""Pull over weight that leaves room for knocks and warm copper; common practice, no source."""
COARSER = 2.0
"""Cells of the finer grid over those for a core alone: the pull changes by some percent, the time tenfold."""
LEAST_GAP = 2e-5
_GAPS = (0.2, 0.5, 1.0, 2.0, 4.0)
_CURRENTS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0)


@dataclass(frozen=True, kw_only=True)
class Pulled:
    """pull: N toward the coil at the drive's current; error: N. rough: a coarser grid for further solves.

    scale: what turns a force along z on the coarser grid into a pull that agrees with the finer one's.
    """

    pull: float
    error: float
    rough: "Holding"
    scale: float


def _pulled(case: Case, cored: bool = True) -> Pulled:
    """With the cores, or as if there were none."""
    cored = cored and bool(case.design.core)
    return case.once(f"pull on the target, cores {cored}", lambda: _solved(case, cored))


def _solved(case: Case, cored: bool) -> Pulled:
    from coilgen.physics.core.holding import pull_on_target

    target, cores, curves = _bodies(case, cored)
    with solvable("target"):
        found = pull_on_target(
            winding_path(case), target, cores, curves, current=case.value("current"), cell=_cell(case, cored)
        )
    pull = _toward(case) * found.force
    return Pulled(pull=pull, error=found.error, rough=found.rough, scale=pull / found.rough_force)


def _bodies(case: Case, cored: bool) -> "tuple[Body, tuple[Body, ...], tuple[Curve, ...]]":
    """The target, the cores, and the curves of all."""
    curves = (_target(case).material.curve, *core_curves(case))
    cores = core_bodies(case) if cored else ()
    return target_body(case), cores, curves[: 1 + len(cores)]


def _target(case: Case) -> Target:
    target = case.design.target
    if target is None:
        raise LookupError("the design has no target")
    return target


def _cell(case: Case, cored: bool) -> float:
    return COARSER * cell_size((target_body(case), *(core_bodies(case) if cored else ())))


def _toward(case: Case) -> float:
    """Sign of a force along z that draws the target to the coil."""
    return -1.0 if _target(case).place == "top" else 1.0


def _pull(case: Case) -> Answer | None:
    if case.design.target is None:
        return None
    return spread_answer(
        _pull_spread(case),
        f"{_model(case)}, by virtual work; toward the coil; the band is the expected error of the grid, the "
        "square of the current's band and the gap's tolerance",
    )


def _pull_spread(case: Case) -> Spread:
    """With what its tolerances change, N; the gap's is found on the coarser grid."""
    found, usual = _pulled(case), case.value("current")
    driven = carried(
        lambda pull, current: pull * (current / usual) ** 2, _over_gap(case), case.spread("current")
    )
    model = (-found.error, found.error)
    return Spread(driven.value, {**driven.shifts, "model of pull_on_target": model})


def _over_gap(case: Case) -> Spread:
    share, gap = case.design.tolerance.gap_of(_target(case)), _target(case).gap
    pull = _pulled(case).pull
    if not share:
        return Spread(pull)
    near, far = max(gap - share, min(LEAST_GAP, gap)), gap + share
    return told(pull, "gap of the target", _at_gap(case, near, True), _at_gap(case, far, True))


def _model(case: Case) -> str:
    together = "target and cores" if case.design.core else "target"
    return f"{together} magnetised by the winding, saturation in, at rest, no magnet near"


def _against_gap(case: Case) -> Answer | None:
    if case.design.target is None:
        return None
    given = _target(case).gap
    gaps = sorted({given, *(factor * given for factor in _GAPS if factor * given >= LEAST_GAP)})
    pulls = [_at_gap(case, gap, True) for gap in gaps]
    bare = [_at_gap(case, gap, False) for gap in gaps] if case.design.core else pulls
    return Answer(
        value=[
            {"gap": gap, "pull": pull, "without_core": without}
            for gap, pull, without in zip(gaps, pulls, bare, strict=True)
        ],
        model=f"{_model(case)}; on a coarser grid, set right by the finer one's pull; "
        "the nearest gaps to within a tenth",
    )


def _at_gap(case: Case, gap: float, cored: bool) -> float:
    """Pull with the target at another gap, N."""
    from coilgen.physics.core.effect import COARSER as ROUGHER
    from coilgen.physics.core.holding import holding

    found, further = _pulled(case, cored), gap - _target(case).gap
    if further == 0.0:
        return found.pull
    target, cores, curves = _bodies(case, cored)
    there = replace(target, bottom=target.bottom - _toward(case) * further)
    setup = holding(winding_path(case), there, cores, curves, ROUGHER * _cell(case, cored))
    return found.scale * setup.pull(case.value("current"))


def _against_current(case: Case) -> Answer | None:
    if case.design.target is None:
        return None
    found = _pulled(case)
    currents = [factor * case.value("current") for factor in _CURRENTS]
    return Answer(
        value=[
            {"current": current, "pull": found.scale * pull}
            for current, pull in zip(currents, found.rough.pulls(currents), strict=True)
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
    return case.once("holding current", lambda: current_for(found.rough, _weight(case) / abs(found.scale)))


def _holding_current(case: Case) -> Answer | None:
    if case.design.target is None or math.isinf(_least_current(case)):
        return None
    return Answer(
        value=_least_current(case),
        model=f"least current whose pull is the weight of what is held, {readable(_weight(case), 'N')}; "
        f"{_model(case)}",
    )


def _lift_margin(case: Case) -> Answer | None:
    if case.design.target is None:
        return None
    weight = _weight(case)
    margin = _pulled(case).pull / weight
    return spread_answer(
        carried(lambda pull: pull / weight, case.spread("pull_on_target")),
        f"pull over the weight of what is held, {readable(weight, 'N')}; at 1 it just holds",
        cautions=(*_doubts(case, margin), *_pauses(case)),
    )


def _doubts(case: Case, margin: float) -> tuple[str, ...]:
    pull, weight = readable(_pulled(case).pull, "N"), readable(_weight(case), "N")
    if margin <= 0.0:
        return (
            f"{WARNING}The coil pushes the target off with {pull.removeprefix('-')}: put it over the turns.",
        )
    if margin < 1.0:
        return (
            f"{WARNING}The pull of {pull} does not hold the target's weight of {weight}; {_remedy(case)}.",
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
    least, largest = _least_current(case), case.figure("largest_current")
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
