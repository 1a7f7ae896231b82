"""Forces between the windings of a board."""

import math
from collections.abc import Callable

import numpy as np

from coilgen.figures.several._linkage import pair
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Answer, Case, Quantity, Winding


def _forces(case: Case) -> Answer:
    rows = []
    for number, each in enumerate(case.windings):
        x, y, z = _on(case, number)
        rows.append({"winding": each.name, "x": x, "y": y, "z": z})
    return Answer(
        value=rows,
        model="on each winding by the currents of all others, z up; I dl x B over two filaments in place of "
        "every strip; no core near",
        cautions=_bare(case),
    )


def _bare(case: Case) -> tuple[str, ...]:
    if not case.design.core:
        return ()
    return (
        "force_on_windings is that of the bare windings on one another: cores change it, and are pulled "
        "themselves.",
    )


def _on(case: Case, number: int) -> tuple[float, float, float]:
    own = _current(case.windings[number])
    total = np.zeros(3)
    for other, winding in enumerate(case.windings):
        if other != number:
            total += _per_ampere(case, other, number) * own * _current(winding)
    x, y, z = total.tolist()
    return x, y, z


def _current(winding: Winding) -> float:
    return float(winding.case.value("current")) * winding.weight


def _per_ampere(case: Case, source: int, number: int) -> Floats:
    """Force on a winding by another, (3,) N, each at one ampere; of coils of an array from pairs that lie
    alike: on a ring turned to their place."""
    from coilgen.physics.inductance.facing import force_apart

    def force(source: int, number: int) -> Floats:
        return force_apart(*pair(case, source, number))

    array = case.design.array
    if array is None:
        return force(source, number)
    if array.arrangement != "ring":
        columns = array.columns or len(case.windings)
        (row, column), (further, along) = divmod(source, columns), divmod(number, columns)
        way = row - further, column - along
        if way < (0, 0):
            return -_per_ampere(case, number, source)
        start = max(-way[1], 0)
        return case.once(f"force {way}", lambda: force(start + way[0] * columns + way[1], start))
    return _on_ring(case, (source - number) % len(case.windings), number, force)


def _on_ring(case: Case, apart: int, number: int, force: Callable[[int, int], Floats]) -> Floats:
    """On a coil of a ring by that so many places on; from one the other way round by the third law."""
    count = len(case.windings)
    if 2 * apart > count:
        return -_on_ring(case, count - apart, (number + apart) % count, force)
    first = case.once(f"force {apart}", lambda: force(apart, 0))
    turn = math.tau * number / count
    cos, sin = math.cos(turn), math.sin(turn)
    return np.array([cos * first[0] - sin * first[1], sin * first[0] + cos * first[1], first[2]])


FIGURES = (
    Quantity(
        name="force_on_windings",
        unit="table(winding, x N, y N, z N)",
        says="force on each winding by the others",
        group="force",
        compute=_forces,
        of="several",
    ),
)
