"""Two boards face to face, each at its own drive: how their coils couple, and what that moves."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coilgen.design.placing import refuse_several
from coilgen.physics.base.constants import GRAVITY
from coilgen.physics.base.one_thread import one_thread
from coilgen.result.figure import Case, Figure
from coilgen.units import in_mm, readable

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.physics.field.filaments import Filaments

_CHORDS = 3e-5
_FAR = 0.25
"""Distance over the larger outer size from which the flux is counted along filaments."""
_COARSE = 0.02
"""Of the distance: the largest between an arc and its chord when far off."""
_UNDER_STRANDS = 0.5
"""Force by two filaments for a strip is good from this share of its width on."""
_MAY_SHIFT = 0.1
"""Force over weight that a smooth table may no longer hold by friction; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Pair:
    """Board `upper` above board `lower` on the same axis, from face to face at a distance (m).

    figures: of the pair, by name.
    """

    lower: str
    upper: str
    distance: float
    figures: Mapping[str, Figure]
    cautions: tuple[str, ...]


def case_of(design: Design) -> Case:
    """A design with its coil, ready for the figures that a pair needs. DesignError where it has no room."""
    from coilgen import job

    refuse_several(design, "of boards face to face; put all windings into one file, each at its place")
    return job.case_of(design, *job.draw(design))


@one_thread()
def pair(lower: Case, upper: Case, distance: float) -> Pair:
    """The figures of two boards face to face; distance > 0, m, from the lower's top to the upper's bottom."""
    mutual = _mutual_inductance(lower, upper, distance)
    force = _force(lower, upper, distance)
    figures = (mutual, _coupling(lower, upper, mutual.value), force, _boards(lower, upper, force.value))
    return Pair(
        lower=lower.design.name,
        upper=upper.design.name,
        distance=distance,
        figures={figure.name: figure for figure in figures},
        cautions=(
            _moved(lower, upper, force.value),
            *_left_out(lower, upper),
            *_too_near(lower, upper, distance),
            *(caution for case in (lower, upper) for caution in _without_outline(case)),
        ),
    )


def _mutual_inductance(lower: Case, upper: Case, distance: float) -> Figure:
    from coilgen.physics.inductance.facing import linkage_between, mutual_inductance

    height = _height(upper, distance)
    if distance >= _FAR * max(case.design.winding.span for case in (lower, upper)):
        below, above = (_path(case, max(_COARSE * distance, _CHORDS)) for case in (lower, upper))
        value, counted = linkage_between(below, above, height), "flux of one along the path of the other"
    else:
        shares = (_shares(lower), _shares(upper))
        value = mutual_inductance(lower.conductor, upper.conductor, height, shares)
        counted = "all pieces of one with all of the other, vias left out"
    return _figure(
        "mutual_inductance",
        value,
        "H",
        "mutual inductance of the two coils",
        f"{counted}; uniform current, leads included, closed straight between the terminals; positive where "
        "the fields agree",
    )


def _height(upper: Case, distance: float) -> float:
    """Of the upper board's top face over the lower board's, m."""
    return distance + upper.design.board.stackup.thickness


def _shares(case: Case) -> dict[int, float]:
    """Of the current in each layer's winding; a lead on a wound layer goes with the winding."""
    found: dict[int, float] = {}
    for share, trace in zip(case.shares, case.coil.traces, strict=True):
        found[trace.layer] = min(share, found.get(trace.layer, share))
    return found


def _coupling(lower: Case, upper: Case, mutual: float) -> Figure:
    both = lower.value("inductance") * upper.value("inductance")
    return _figure(
        "coupling",
        mutual / both**0.5,
        "1",
        "coupling coefficient",
        "mutual over the root of both inductances",
    )


def _force(lower: Case, upper: Case, distance: float) -> Figure:
    from coilgen.physics.inductance.facing import force_between

    per_ampere = force_between(_path(lower), _path(upper), _height(upper, distance))
    currents = [case.figure("current") for case in (lower, upper)]
    ends = [current.band or (current.value, current.value) for current in currents if current is not None]
    forces = [per_ampere * one * other for one, other in itertools.product(*ends)]
    return _figure(
        "force",
        per_ampere * lower.value("current") * upper.value("current"),
        "N",
        "axial force on the upper board; positive pushes the boards apart",
        "I dl x B over all traces, both at their own drive's current, in step; the band is the currents'",
        (min(forces), max(forces)) if min(forces) < max(forces) else None,
    )


def _path(case: Case, tolerance: float = _CHORDS) -> Filaments:
    from coilgen.figures.core._magnetics import strand_path

    return strand_path(case.strands, tolerance)


def _boards(lower: Case, upper: Case, force: float) -> Figure:
    rows = []
    for board, case in (("lower", lower), ("upper", upper)):
        mass = board_mass(case)
        rows.append(
            {
                "board": board,
                "name": case.design.name,
                "current": case.value("current"),
                "mass": mass,
                "weight": mass * GRAVITY,
                "force_over_weight": abs(force) / (mass * GRAVITY),
            }
        )
    return _figure(
        "boards",
        rows,
        "table(board, name, current A, mass kg, weight N, force_over_weight 1)",
        "the boards' currents and weights",
        "weight of laminate inside the outline without pocket and holes, and of the copper; solder mask, "
        "cores, wires and parts not counted",
    )


def board_mass(case: Case) -> float:
    """Mass of the laminate inside the outline and of the copper, kg; of the copper alone without outline."""
    copper: float = case.value("copper_mass")
    outline, stackup = case.art.outline, case.design.board.stackup
    if outline is None:
        return copper
    cut = sum(math.pi / 4 * hole.diameter**2 for hole in case.art.holes)
    area = outline.swept_area - sum(pocket.swept_area for pocket in case.art.pockets) - cut
    return copper + area * sum(stackup.dielectric) * stackup.laminate.density


def _figure(
    name: str, value: object, unit: str, says: str, model: str, band: tuple[float, float] | None = None
) -> Figure:
    return Figure(
        name=name, value=value, unit=unit, says=says, group="field", model=model, band=band, cautions=()
    )


def _moved(lower: Case, upper: Case, force: float) -> str:
    """What the force does to the lighter board."""
    lighter = min((upper, lower), key=board_mass)
    share = abs(force) / (board_mass(lighter) * GRAVITY)
    does = "push each other apart" if force > 0 else "draw each other"
    told = (
        f"The coils {does} with {readable(abs(force), 'N')}, {share:.2g} times the weight of the lighter "
        f"board, {lighter.design.name}: "
    )
    if share >= 1.0:
        return told + "fasten both boards."
    if share >= _MAY_SHIFT:
        return told + "a board that lies loose may shift."
    return told + "too little to move a board."


def _left_out(lower: Case, upper: Case) -> tuple[str, ...]:
    given = {
        word: any(getattr(case.design, key) for case in (lower, upper))
        for key, word in (("core", "cores"), ("magnet", "magnets"), ("target", "targets"))
    }
    words = ", ".join(word for word, there in given.items() if there)
    return (f"The designs' {words} are left out: the coils are taken in air.",) if words else ()


def _too_near(lower: Case, upper: Case, distance: float) -> tuple[str, ...]:
    widest = max(trace.width for case in (lower, upper) for trace in case.coil.traces)
    if distance >= _UNDER_STRANDS * widest:
        return ()
    return (
        f"The boards are nearer than half of the widest trace, {in_mm(widest)}: the force is a rough guide.",
    )


def _without_outline(case: Case) -> tuple[str, ...]:
    if case.art.outline is not None:
        return ()
    return (f"{case.design.name} has no outline: its weight is that of the copper alone.",)
