"""Bodies at the ends of their tolerances: gaps moved, materials and magnet changed."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from coilgen.figures.core._magnetics import Placed, bodies_in_place, cell_in_place, on_grids, placed
from coilgen.figures.field._paths import coils_path
from coilgen.result.figure import Case
from coilgen.result.spread import Spread, told, within

if TYPE_CHECKING:
    from coilgen.physics.core.on_grid import SetUp

LEAST_GAP = 2e-5
"""m: what stays between bodies that lie on one another: lacquer and roughness."""
Pair = tuple["SetUp", "SetUp"]
Factors = tuple[float, float]
"""Of permeability and of saturation."""


def remanence_spread(case: Case) -> Spread:
    """The magnet's own over its typical one; of a grade the data tell the least alone."""
    magnet, share = case.design.magnet, case.design.tolerance.remanence
    assert magnet is not None
    assert share is not None
    least, typical = magnet.remanences
    told_by_grade = magnet.grade is not None and abs(share - (1 - least / typical)) < 1e-5
    return told(1.0, "remanence", least / typical, 1.0) if told_by_grade else within(1.0, "remanence", share)


def material_ends(case: Case, *, straight: bool) -> Iterator[tuple[str, Factors, Factors]]:
    """Each source by itself, with all materials' factors of permeability and saturation at its ends."""
    tolerance = case.design.tolerance
    if tolerance.permeability:
        mu = 1.0 + tolerance.permeability
        yield "permeability", (1 / mu, 1.0), (mu, 1.0)
    if tolerance.saturation and not straight:
        top = tolerance.saturation
        yield "saturation", (1.0, 1.0 - top), (1.0, 1.0 + top)


def gap_ends(case: Case) -> Iterator[tuple[str, Placed, Placed]]:
    """Each gap by itself, at its narrow and at its wide end; what stands beyond a core moves with it."""
    usual, tolerance = placed(case), case.design.tolerance
    for number, core in enumerate(usual.stand.cores):
        if core.gap is not None and tolerance.gap_of(core):
            near, far = _ends(core.gap, tolerance.gap_of(core))
            yield f"gap of core {number + 1}", _with_core(usual, number, near), _with_core(usual, number, far)
    target, magnet = usual.target, usual.magnet
    if target is not None and tolerance.gap_of(target):
        near, far = _ends(target.gap, tolerance.gap_of(target))
        yield "gap of the target", replace(usual, target_off=near), replace(usual, target_off=far)
    if magnet is not None and tolerance.gap_of(magnet):
        near, far = _ends(magnet.gap, tolerance.gap_of(magnet))
        yield "gap of the magnet", replace(usual, magnet_off=near), replace(usual, magnet_off=far)


def _ends(gap: float, share: float) -> tuple[float, float]:
    """By how much a gap is wider than told at its narrow and at its wide end, m."""
    return max(-share, min(LEAST_GAP, gap) - gap), share


def _with_core(usual: Placed, number: int, wider: float) -> Placed:
    """Unmoved where it would stand in another."""
    every = tuple(wider if k == number else 0.0 for k in range(len(usual.stand.cores)))
    stand = replace(usual.stand, wider=every)
    return usual if stand.faults() else replace(usual, stand=stand)


def set_ups(case: Case, usual: "SetUp") -> Iterator[tuple[str, Pair]]:
    """What is magnetised, on the coarser grid, at the low and at the high end of each source."""
    for source, low, high in material_ends(case, straight=usual.straight):
        yield source, (usual.made_of(*low), usual.made_of(*high))
    if usual.applied is not None:
        for source, (weak, strong) in remanence_spread(case).shifts.items():
            yield source, (usual.applied_times(1.0 + weak), usual.applied_times(1.0 + strong))
    yield from case.kept_last(at_gap_ends).items()


def at_gap_ends(case: Case) -> Mapping[str, Pair]:
    """What is magnetised, on the coarser grid, at the narrow and at the wide end of each gap."""
    from coilgen.physics.core.on_grid import set_up
    from coilgen.physics.core.two_grids import COARSER

    curves, cell, usual = bodies_in_place(case)[1], COARSER * cell_in_place(case), on_grids(case).rough

    def at(place: Placed) -> "SetUp":
        return set_up(coils_path(case), place.bodies, curves, cell, place.applied, near=usual)

    return {source: (at(narrow), at(wide)) for source, narrow, wide in gap_ends(case)}
