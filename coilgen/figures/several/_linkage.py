"""Mutual inductances of a board's windings where they lie, computed once for all figures."""

from collections.abc import Hashable
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from coilgen.design.design import Design
from coilgen.figures.field._paths import strand_path
from coilgen.layout.coil import strands
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case, Winding

if TYPE_CHECKING:
    from coilgen.physics.field.filaments import Filaments
    from coilgen.physics.inductance.facing import Cuts

CHORDS, _SIDE_BY_SIDE, _FARTHER = 1e-5, 1e-4, 0.03
"""Largest distance between an arc and its chord, m. Coils of an array lie side by side, and what is between
them feels that of their chords by less than 1e-4; where others lie between them so it does by this share of a
coil's reach."""
_NEXT = 1.5
"""Over the least distance of middles: coils so near each other, in a grid across the corner too, are
neighbours."""


def inductance_matrix(case: Case) -> Floats:
    """Self inductances on the diagonal, mutual ones beside it, (n, n) H, symmetric; windings in file order.

    A mutual inductance is positive where positive currents in both, from their odd terminals to their even
    ones, help each other.
    """
    return case.once("inductance matrix", lambda: _matrix(case))


def _matrix(case: Case) -> Floats:
    matrix = np.diag([float(each.case.value("inductance")) for each in case.windings])
    known: dict[Hashable, float] = {}
    for one, other in combinations(range(len(case.windings)), 2):
        lie = alike(case.design, one, other)
        if lie not in known:
            known[lie] = _mutual(case, one, other)
        matrix[one, other] = matrix[other, one] = known[lie]
    return matrix


def alike(design: Design, one: int, other: int) -> Hashable:
    """What pairs of windings that lie to each other alike have in common.

    Coils of a ring lie alike as many places apart, either way round: the matrix is circulant. Coils of a row
    or a grid lie alike when the way between them is the same; others are alike to themselves only.
    """
    array = design.array
    if array is None:
        return one, other
    if array.arrangement == "ring":
        apart = (other - one) % len(design.windings)
        return min(apart, len(design.windings) - apart)
    columns = array.columns or len(design.windings)
    (row, column), (further, along) = divmod(one, columns), divmod(other, columns)
    way = (further - row, along - column)
    return max(way, (-way[0], -way[1]))


def _mutual(case: Case, one: int, other: int) -> float:
    from coilgen.physics.inductance.facing import linkage_apart

    return linkage_apart(*pair(case, other, one))


def pair(case: Case, source: int, number: int) -> "tuple[Filaments, Filaments, Cuts]":
    """Paths of two windings, and how the second is cut for what the first does to it."""
    return case.once(f"pair {source} {number}", lambda: _pair(case, source, number))


def _pair(case: Case, source: int, number: int) -> "tuple[Filaments, Filaments, Cuts]":
    from coilgen.physics.inductance.facing import cut_by_clearance

    chords = None
    if case.design.array is not None and not _neighbours(case, source, number):
        chords = max(_SIDE_BY_SIDE, _FARTHER * case.windings[0].case.reach)
    one, other = (path_of(case, case.windings[each], chords) for each in (source, number))
    return one, other, cut_by_clearance(one, other)


def _neighbours(case: Case, one: int, other: int) -> bool:
    middles = np.array([each.centre for each in case.design.windings])
    least = min(float(np.abs(middles - middles[k])[k + 1 :].min()) for k in range(len(middles) - 1))
    return bool(abs(middles[one] - middles[other]) < _NEXT * least)


def path_of(case: Case, winding: Winding, chords: float | None = None) -> "Filaments":
    """A winding where it lies as strips that carry one ampere in all; chords: m, usual for None."""
    usual = CHORDS if case.design.array is None else _SIDE_BY_SIDE
    tolerance = chords or usual
    laid = strands(winding.passed, case.design.board.stackup)
    return case.once(f"path of {winding.name} {tolerance}", lambda: strand_path(laid, tolerance))
