"""Inductance matrix and coupling of a board's windings with cores and target where they stand."""

import numpy as np

from coilgen.figures.core._magnetics import bodies_in_place, cell_in_place, magnet_field, solvable
from coilgen.figures.several._linkage import inductance_matrix, path_of
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Answer, Case, Quantity


def with_bodies(case: Case) -> Floats | None:
    """Self and mutual inductances with cores and target, (n, n) H; None without such bodies."""
    if not (case.design.core or case.design.target):
        return None
    return case.once("inductance matrix in place", lambda: inductance_matrix(case) + _added(case)[0])


def _added(case: Case) -> tuple[Floats, Floats]:
    return case.once("inductances that bodies add", lambda: _solved(case))


def _solved(case: Case) -> tuple[Floats, Floats]:
    from coilgen.physics.core.mutual import added_inductances

    bodies, curves = bodies_in_place(case)
    with solvable("target" if case.design.target is not None else "core"):
        return added_inductances(
            [path_of(case, each) for each in case.windings],
            [float(each.case.value("current")) * each.weight for each in case.windings],
            bodies,
            curves,
            cell=cell_in_place(case),
            applied=magnet_field(case),
        )


def _matrix(case: Case) -> Answer | None:
    matrix = with_bodies(case)
    if matrix is None:
        return None
    error = float(np.abs(_added(case)[1] / matrix).max())
    return Answer(
        value=matrix.tolist(),
        model="windings in the order of the file; for small changes about all drives' currents while on; "
        f"slow: no eddy currents; by two grids within {error:.1g} of themselves",
        labels=tuple(each.name for each in case.windings),
        cautions=_slow(case),
    )


def _slow(case: Case) -> tuple[str, ...]:
    """What takes inductance away where drives or meters are fast."""
    design = case.design
    metal = [
        word
        for word, there in (
            ("cores", design.core),
            ("target", design.target),
            ("magnet", design.magnet),
            ("base plate", design.mounting.base_plate),
        )
        if there
    ]
    return (
        f"Inductances of the windings in place leave eddy currents in {' and '.join(metal)} out: the higher "
        "the frequency, the less is left of what metal adds, and a meter reads less; circuits and networks "
        "are those of the bare windings.",
    )


def _coupling(case: Case) -> Answer | None:
    matrix = with_bodies(case)
    if matrix is None:
        return None
    root = np.sqrt(np.diag(matrix))
    return Answer(
        value=(matrix / np.outer(root, root)).tolist(),
        model="mutual inductance in place over the root of both self inductances in place",
        labels=tuple(each.name for each in case.windings),
    )


FIGURES = (
    Quantity(
        name="inductance_matrix_in_place",
        unit="H",
        says="self and mutual inductances of the windings with cores and target where they stand",
        group="core",
        compute=_matrix,
        of="several",
    ),
    Quantity(
        name="coupling_in_place",
        unit="1",
        says="coupling coefficients of the windings with cores and target where they stand",
        group="core",
        compute=_coupling,
        of="several",
    ),
)
