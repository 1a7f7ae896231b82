"""Forces between the windings of a board."""

import numpy as np

from coilgen.figures.several._linkage import path_of
from coilgen.result.figure import Answer, Case, Quantity, Winding


def _forces(case: Case) -> Answer:
    rows = []
    for each in case.windings:
        x, y, z = _on(case, each)
        rows.append({"winding": each.name, "x": x, "y": y, "z": z})
    return Answer(
        value=rows,
        model="on each winding by the currents of all others, z up; I dl x B over two filaments in place of "
        "every strip; no core near",
    )


def _on(case: Case, winding: Winding) -> tuple[float, float, float]:
    from coilgen.physics.inductance.facing import force_apart

    own = float(winding.case.value("current"))
    total = np.zeros(3)
    for other in case.windings:
        if other is not winding:
            per_ampere = force_apart(path_of(case, other), path_of(case, winding))
            total += per_ampere * own * float(other.case.value("current"))
    x, y, z = total.tolist()
    return x, y, z


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
