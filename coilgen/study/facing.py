"""Two boards, one over the other, each at its own drive: how their coils couple, and what that moves."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from coilgen.design.as_made import calibration_told
from coilgen.frozen import dataclass
from coilgen.physics.base.constants import GRAVITY
from coilgen.physics.base.one_thread import one_thread
from coilgen.result.figure import Case, Figure
from coilgen.study.pair_figures import CHORDS, pair_figure
from coilgen.study.placed_boards import Standing, placed_figures, size_of_force
from coilgen.units import in_mm, readable

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.physics.field.filaments import Filaments

_FAR = 0.25
"""Distance over the larger outer size from which the flux is counted along filaments."""
_COARSE = 0.02
"""Of the distance: the largest between an arc and its chord when far off."""
_UNDER_STRANDS = 0.5
"""Force by two filaments for a strip is good from this share of its width on."""
_MOSTLY = 0.7
"""Of the force: a lesser axial part is beside the way that the boards push each other."""
_MAY_SHIFT = 0.1
"""Force over weight that a smooth table may no longer hold by friction; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Pair:
    """Board `upper` where it stands over board `lower`. figures: of the pair, by name."""

    lower: str
    upper: str
    standing: Standing
    figures: Mapping[str, Figure]
    cautions: tuple[str, ...]


def case_of(design: Design) -> Case:
    """A design with its coil, ready for the figures that a pair needs. DesignError where it has no room."""
    from coilgen import job

    return job.case_of(design, *job.draw(design))


@one_thread()
def pair(lower: Case, upper: Case, distance: float, shift: complex = 0j, turn: float = 0.0) -> Pair:
    """The figures of two boards, the upper one over the lower.

    distance: from the lower's top face to the upper's bottom face, above zero, m. shift: of the upper's
    centre over the lower's, m. turn: of the upper board, degrees, counter-clockwise seen from the top.
    """
    standing = Standing(distance=distance, shift=shift, turn=turn)
    if standing.on_axis and not lower.windings and not upper.windings:
        figures = _on_one_axis(lower, upper, distance)
    else:
        figures = placed_figures(lower, upper, standing)
    named = {figure.name: figure for figure in figures}
    axial, force = float(named["force"].value), size_of_force(named)
    return Pair(
        lower=lower.design.name,
        upper=upper.design.name,
        standing=standing,
        figures={**named, "boards": _boards(lower, upper, force)},
        cautions=(
            _moved(lower, upper, axial, force),
            *_in_step(lower, upper),
            *_left_out(lower, upper),
            *_too_near(lower, upper, distance),
            *(caution for case in (lower, upper) for caution in _without_outline(case)),
            *(told for case in (lower, upper) for told in calibration_told(case.design)),
        ),
    )


def _on_one_axis(lower: Case, upper: Case, distance: float) -> tuple[Figure, ...]:
    mutual = _mutual_inductance(lower, upper, distance)
    return mutual, _coupling(lower, upper, mutual.value), _force(lower, upper, distance)


def _mutual_inductance(lower: Case, upper: Case, distance: float) -> Figure:
    from coilgen.physics.inductance.facing import linkage_between, mutual_inductance

    height = _height(upper, distance)
    if distance >= _FAR * max(case.design.winding.span for case in (lower, upper)):
        below, above = (_path(case, max(_COARSE * distance, CHORDS)) for case in (lower, upper))
        value, counted = linkage_between(below, above, height), "flux of one along the path of the other"
    else:
        shares = (_shares(lower), _shares(upper))
        value = mutual_inductance(lower.conductor, upper.conductor, height, shares)
        counted = "all pieces of one with all of the other, vias left out"
    return pair_figure(
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
    return pair_figure(
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
    return pair_figure(
        "force",
        per_ampere * lower.value("current") * upper.value("current"),
        "N",
        "axial force on the upper board; positive pushes the boards apart",
        "I dl x B over all traces, both at their own drive's current, in step; the band is the currents'",
        (min(forces), max(forces)) if min(forces) < max(forces) else None,
    )


def _path(case: Case, tolerance: float = CHORDS) -> Filaments:
    from coilgen.figures.field._paths import strand_path

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
                "force_over_weight": force / (mass * GRAVITY),
            }
        )
    return pair_figure(
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


def _moved(lower: Case, upper: Case, axial: float, force: float) -> str:
    """What the force does to the lighter board."""
    lighter = min((upper, lower), key=board_mass)
    share = force / (board_mass(lighter) * GRAVITY)
    does = "push each other apart" if axial > 0 else "draw each other"
    if abs(axial) < _MOSTLY * force:
        does = "push each other sideways"
    told = (
        f"The coils {does} with {readable(force, 'N')}, {share:.2g} times the weight of the lighter "
        f"board, {lighter.design.name}: "
    )
    if share >= 1.0:
        return told + "fasten both boards."
    if share >= _MAY_SHIFT:
        return told + "a board that lies loose may shift."
    return told + "too little to move a board."


def _in_step(lower: Case, upper: Case) -> tuple[str, ...]:
    """Where windings of one board have drives of their own."""
    drives = [each.case.design.drive for case in (lower, upper) for each in case.windings]
    if all(drive.waveform == "dc" for drive in drives):
        return ()
    return ("Force and torque are those of all windings' currents at once and in step.",)


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
