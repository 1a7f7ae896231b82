"""Pull on a steel target: at the drive's current, against gap and current, and whether it holds."""

import math
from collections.abc import Callable

from coilgen.figures.core._magnetics import solvable
from coilgen.figures.force._pull import (
    driven_usually,
    gaps,
    pull_at_gap,
    pull_at_one_current,
    pulled,
    steepness,
    target_of,
)
from coilgen.physics.base.constants import GRAVITY
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread, carried
from coilgen.units import readable

SAFE_MARGIN = 2.0
"""Pull over weight that leaves room for knocks and warm copper; common practice, no source."""
_MOST_ERROR = 0.9
"""Of the pull, that a current can make up for."""
_CURRENTS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0)
"""Over the drive's."""


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
        return Spread(pulled(case).pull)
    found, usual = pulled(case), case.value("current")
    driven = carried(
        lambda pull, amperes: pull * (amperes / usual) ** _power(case),
        pull_at_one_current(case),
        case.spread("current"),
    )
    return driven.plus(**{"model of pull_on_target": (-found.error, found.error)})


def _power(case: Case) -> float:
    """Of the current, by which the pull grows about the drive's; 2 where nothing saturates."""
    return case.once("steepness of the pull", lambda: steepness(case, case.value("current")))


def _model(case: Case) -> str:
    together = "target and cores" if case.design.core else "target"
    return f"{together} magnetised by the winding, saturation in, at rest, no magnet near"


def _against_gap(case: Case) -> Answer | None:
    if case.design.target is None:
        return None
    told = gaps(case)
    pulls = [pull_at_gap(case, gap, True) for gap in told]
    bare = [pull_at_gap(case, gap, False) for gap in told] if case.design.core else pulls
    return Answer(
        value=[
            {"gap": gap, "pull": pull, "without_core": without}
            for gap, pull, without in zip(told, pulls, bare, strict=True)
        ],
        model=f"{_model(case)}; on a coarser grid, set right by the finer one's pull; "
        "gaps from half the given one on to within 3 %, nearer ones to within a tenth",
    )


def _against_current(case: Case) -> Answer | None:
    if case.design.target is None:
        return None
    found = pulled(case)
    currents = [factor * case.value("current") for factor in _CURRENTS]
    return Answer(
        value=[
            {"current": current, "pull": found.scale * pull}
            for current, pull in zip(currents, found.rough.pulls(currents, driven_usually(case)), strict=True)
        ],
        model=f"{_model(case)}; on a coarser grid, set right by the finer one's pull",
    )


def _weight(case: Case) -> float:
    return target_of(case).held_mass * GRAVITY


def _least_current(case: Case) -> float:
    """A; inf where no current holds the target."""
    from coilgen.physics.core.holding import current_for

    found = pulled(case)
    if found.pull <= 0.0:
        return math.inf
    with solvable("target"):
        rough = found.rough
    return case.once(
        "holding current", lambda: current_for(rough, _weight(case) / abs(found.scale), driven_usually(case))
    )


def _holding_current(case: Case) -> Answer | None:
    if case.design.target is None or math.isinf(_least_current(case)):
        return None
    return spread_answer(
        _holding_spread(case),
        f"least current whose pull is the weight of what is held, {readable(_weight(case), 'N')}; "
        f"{_model(case)}; the band is that of the pull at one current, by how steeply it grows with it",
        says=f"least current{_of_first(case)} that holds the target",
    )


def _of_first(case: Case) -> str:
    """Whose current is told, where there are several."""
    return f" of {case.reference.name}, the others' in proportion," if case.windings else ""


def _holding_spread(case: Case) -> Spread:
    """A, with the tolerances of gaps and materials and the grid's error; not those of the current."""
    least, found = _least_current(case), pulled(case)
    if case.values_only:
        return Spread(least)
    steep = steepness(case, least)
    error = min(found.error / found.pull, _MOST_ERROR) * found.pull
    pull = pull_at_one_current(case).plus(**{"model of pull_on_target": (-error, error)})
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


_FELT = 1e-9
"""Of the weight: forces below are those of rounding."""


def _doubts(case: Case, margin: float) -> tuple[str, ...]:
    pull, weight = readable(case.value("pull_on_target"), "N"), readable(_weight(case), "N")
    if abs(margin) < _FELT:
        return (f"{WARNING}The coil does not pull the target where it stands: put it over the turns.",)
    if margin <= 0.0:
        return (
            f"{WARNING}The coil pushes the target off with {pull.removeprefix('-')}: put it over the turns.",
        )
    if margin < 1.0:
        return (
            f"{WARNING}The pull of {pull} does not hold the target's weight of {weight}; {_remedy(case)}.",
        )
    warm, least = _settled_current(case), _least_told(case)
    if warm < least <= case.value("current"):
        return (
            f"{WARNING}The pull holds the target only while the coil is cold: holding takes "
            f"{readable(least, 'A')}{_of_first(case)} and the settled coil has {readable(warm, 'A')}. "
            "Use more copper, lead the heat away, or lower the gap.",
        )
    if margin < SAFE_MARGIN:
        return (
            f"The pull of {pull} is only {margin:.2g} times the target's weight of {weight}: a knock or warm "
            "copper may let it fall.",
        )
    return ()


def _settled_current(case: Case) -> float:
    """A; of several windings under direct currents the first one's, as that falls which falls most; inf where
    it is not known."""
    warm = case.figure("hot_current")
    if warm is not None:
        return float(warm.value)
    board = case.figure("winding_temperatures")
    if board is None or any(each.case.design.drive.waveform != "dc" for each in case.windings):
        return math.inf
    cold = [float(each.case.value("current")) for each in case.windings]
    return cold[0] * min(float(row["current"]) / own for row, own in zip(board.value, cold, strict=True))


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
    takes = f"that takes {readable(least, 'A')}{_of_first(case)} at this gap"
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
