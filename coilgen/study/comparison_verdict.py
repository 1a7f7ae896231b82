"""What a variant cannot do, in sentences: what makes it no choice however good its figures are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coilgen.result.figure import Case


def cannot(case: Case) -> tuple[str, ...]:
    """Each thing that a variant cannot do, with the numbers that say so."""
    return (*_push(case), *_lift(case), *_move(case), *_stay_cool(case), *_be_made(case))


def _push(case: Case) -> Iterator[str]:
    """A magnet that is drawn the same way whichever way the current flows is not pushed."""
    from coilgen.units import readable

    driven, turned = case.figure("force_on_magnet"), case.figure("force_reversed")
    if driven is None or turned is None or driven.value * turned.value <= 0:
        return
    rest = readable(abs(case.value("force_at_rest")), "N")
    change = readable(abs(driven.value - turned.value) / 2, "N")
    yield f"cannot push: held at rest with {rest}, which the current changes by {change} only"


def _lift(case: Case) -> Iterator[str]:
    margin = case.figure("lift_margin")
    if margin is not None and margin.value < 1.0:
        yield f"cannot lift: the pull is {margin.value:.2g} times the weight"


def _move(case: Case) -> Iterator[str]:
    """A mover that the currents do not bring away from every place."""
    if case.design.mover is None:
        return
    from coilgen.figures.mover._machine import cancelled
    from coilgen.figures.mover.torque import weakest

    if cancelled(case):
        yield "cannot move the mover: the voltages of its coils cancel"
    elif weakest(case).dead:
        share = round(100 * weakest(case).share)
        yield f"cannot start from every place: {share} % of the mean push is left at the worst"


def _stay_cool(case: Case) -> Iterator[str]:
    from coilgen.figures.heat._limits import lasting

    limit, temperature = lasting(case), case.figure("temperature")
    if temperature is None:
        yield "cannot stay on: it finds no steady temperature and burns out"
    elif temperature.value > limit.temperature:
        reached = f"{temperature.value:.0f} °C"
        yield f"cannot stay on: {reached}, over the {limit.temperature:.0f} °C of {limit.name}"


def _be_made(case: Case) -> Iterator[str]:
    from coilgen.study.evaluator import broken

    found = {rule: count for rule, count in broken(case).items() if count}
    if found:
        count = sum(found.values())
        places = "a place" if count == 1 else f"{count} places"
        yield f"cannot be made by this shop: {', '.join(found)} broken at {places}"
