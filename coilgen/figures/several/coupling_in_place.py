"""Inductance matrix and coupling of a board's windings with cores and target where they stand."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.core._magnetics import on_grids, solvable
from coilgen.figures.core._spreads import effect_in_place, ends
from coilgen.figures.several._linkage import inductance_matrix, path_of
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.result.spread import Spread

if TYPE_CHECKING:
    from coilgen.physics.core.on_grid import SetUp


def added(case: Case) -> Floats | None:
    """What cores and target add to self and mutual inductances, (n, n) H; None without such bodies."""
    return _added(case)[0] if case.design.core or case.design.target else None


def _added(case: Case) -> tuple[Floats, Floats]:
    return case.once("inductances that bodies add", lambda: _solved(case))


def _solved(case: Case) -> tuple[Floats, Floats]:
    from coilgen.physics.core.mutual import added_inductances

    with solvable("target" if case.design.target is not None else "core"):
        paths = [path_of(case, each) for each in case.windings]
        return added_inductances(on_grids(case), paths, list(_currents(case)))


def added_spreads(case: Case, ways: Floats, name: str) -> list[Spread]:
    """H that bodies add to the inductance of each way through the windings, with tolerances and errors.

    ways: currents of the windings at one ampere, (k, n). The ends of tolerances are those of the coarser
    grid, solved for these ways alone.
    """
    matrix, errors = _added(case)
    fine, error = _of_ways(ways, matrix), _of_ways(abs(ways), errors)
    if case.values_only:
        return [Spread(float(value)) for value in fine]
    usual, shifted = _at_ends(case, ways)
    found = []
    for k, value in enumerate(fine):
        shifts = {
            source: (float(value * (low[k] / usual[k] - 1.0)), float(value * (high[k] / usual[k] - 1.0)))
            for source, (low, high) in shifted.items()
        }
        own = {f"model of {name}": (-float(error[k]), float(error[k]))}
        found.append(Spread(float(value), {**shifts, **own}))
    return found


def _of_ways(ways: Floats, matrix: Floats) -> Floats:
    return np.asarray(np.einsum("kn,nm,km->k", ways, matrix, ways))


def _at_ends(case: Case, ways: Floats) -> "tuple[Floats, Mapping[str, tuple[Floats, Floats]]]":
    """(k,) H that bodies add to ways on the coarser grid: usually, and at both ends of each source."""
    from coilgen.physics.core.load import winding_load
    from coilgen.physics.core.mutual import added_on

    known: dict[int, Floats] = {}

    def added(one: "SetUp") -> Floats:
        grid = one.core.grid
        if id(grid) not in known:
            known[id(grid)] = np.array([winding_load(grid, path_of(case, each)) for each in case.windings])
        loads = known[id(grid)]
        return added_on(one, _currents(case) @ loads, ways @ loads).diagonal()

    with solvable("target" if case.design.target is not None else "core"):
        found = {source: (added(low), added(high)) for source, (low, high) in ends(case).items()}
        return added(effect_in_place(case).rough.setup), found


def _currents(case: Case) -> Floats:
    return np.array([float(each.case.value("current")) * each.weight for each in case.windings])


def _matrix(case: Case) -> Answer | None:
    bodies = added(case)
    if bodies is None:
        return None
    matrix = inductance_matrix(case) + bodies
    error = float(np.abs(_added(case)[1] / matrix).max())
    return Answer(
        value=matrix.tolist(),
        model="windings in the order of the file; for small changes about all drives' currents while on; "
        f"slow: no eddy currents; by two grids within {error:.1g} of themselves",
        labels=tuple(each.name for each in case.windings),
        cautions=slow(case),
    )


def slow(case: Case) -> tuple[str, ...]:
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
        "have what is told here at all frequencies.",
    )


def _coupling(case: Case) -> Answer | None:
    bodies = added(case)
    if bodies is None:
        return None
    matrix = inductance_matrix(case) + bodies
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
