"""Windings of two boards wherever the upper one stands: couplings of each with each, force and torque."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from coilgen.frozen import dataclass
from coilgen.result.figure import Case, Figure
from coilgen.study.pair_figures import CHORDS, pair_figure

if TYPE_CHECKING:
    from coilgen.layout.coil import Coil
    from coilgen.physics.base.conductor import Floats
    from coilgen.physics.field.filaments import Filaments

_AXES = "xyz"


@dataclass(frozen=True, kw_only=True)
class Standing:
    """Where the upper board stands: from face to face (m), its centre over the lower's (m), its turn (deg).

    The turn is counter-clockwise, seen from the top.
    """

    distance: float
    shift: complex = 0j
    turn: float = 0.0

    @property
    def on_axis(self) -> bool:
        """Whether both boards stand on one axis, neither turned."""
        return self.shift == 0 and self.turn == 0

    def height(self, upper: Case) -> float:
        """Of the upper board's top face over the lower board's, m."""
        return self.distance + upper.design.board.stackup.thickness


@dataclass(frozen=True, kw_only=True)
class Wound:
    """A winding of one of the boards: its name, its own case, its path in the lower board's frame."""

    name: str
    case: Case
    path: Filaments


def placed_figures(lower: Case, upper: Case, standing: Standing) -> tuple[Figure, ...]:
    """Mutual inductances and couplings of each with each, force and torque on the upper board."""
    below = [*_wound(lower)]
    above = [*_moved(_wound(upper), upper, standing)]
    force, torque = _force_and_torque(below, above, standing.height(upper), standing.shift)
    return (
        *_couplings(below, above),
        _axial(below, above, float(force[2])),
        _all_axes(force, torque),
    )


def size_of_force(figures: Mapping[str, Figure]) -> float:
    """Of all of the force on the upper board, N: on one axis the axial one is all there is."""
    if "force_and_torque" not in figures:
        return abs(float(figures["force"].value))
    rows = figures["force_and_torque"].value
    return float(np.linalg.norm([row["force"] for row in rows]))


def _wound(case: Case) -> Iterator[Wound]:
    if not case.windings:
        yield Wound(name=case.design.name, case=case, path=_path(case, case.passed))
    for each in case.windings:
        yield Wound(name=each.name, case=each.case, path=_path(case, each.passed))


def _path(board: Case, coil: Coil) -> Filaments:
    from coilgen.figures.field._paths import strand_path
    from coilgen.layout.coil import strands

    return strand_path(strands(coil, board.design.board.stackup), CHORDS)


def _moved(windings: Iterator[Wound], upper: Case, standing: Standing) -> Iterator[Wound]:
    from coilgen.physics.field.filaments import lifted, turned

    offset = np.array([standing.shift.real, standing.shift.imag, standing.height(upper)])
    for each in windings:
        path = lifted(turned(each.path, np.radians(standing.turn)), offset)
        yield Wound(name=each.name, case=each.case, path=path)


_COUNTED = (
    "flux of one along the path of the other; uniform current, leads included, each closed straight between "
    "its terminals; positive where currents from odd to even terminals help each other"
)


def _couplings(below: list[Wound], above: list[Wound]) -> Iterator[Figure]:
    from coilgen.physics.inductance.facing import linkage_apart

    rows = []
    for one, other in product(below, above):
        mutual = linkage_apart(one.path, other.path)
        both = one.case.value("inductance") * other.case.value("inductance")
        rows.append(
            {
                "lower": one.name,
                "upper": other.name,
                "mutual_inductance": mutual,
                "coupling": mutual / both**0.5,
            }
        )
    if len(rows) > 1:
        yield pair_figure(
            "mutual_inductances",
            rows,
            "table(lower, upper, mutual_inductance H, coupling 1)",
            "each winding of the lower board with each of the upper",
            f"{_COUNTED}; coupling: over the root of both inductances",
        )
        return
    (row,) = rows
    yield pair_figure(
        "mutual_inductance", row["mutual_inductance"], "H", "mutual inductance of the two coils", _COUNTED
    )
    yield pair_figure(
        "coupling",
        row["coupling"],
        "1",
        "coupling coefficient",
        "mutual over the root of both inductances",
    )


def _force_and_torque(
    below: list[Wound], above: list[Wound], height: float, shift: complex
) -> tuple[Floats, Floats]:
    """On the upper board by the lower one, (3,) N and (3,) N m about the middle of its top face."""
    from coilgen.physics.inductance.facing import force_and_torque_apart

    about = np.array([shift.real, shift.imag, height])
    force, torque = np.zeros(3), np.zeros(3)
    for one, other in product(below, above):
        currents = one.case.value("current") * other.case.value("current")
        per_ampere, turning = force_and_torque_apart(one.path, other.path, about)
        force, torque = force + currents * per_ampere, torque + currents * turning
    return force, torque


_MODEL = "I dl x B over all traces, two filaments for each, all at their own drives' currents, in step"


def _axial(below: list[Wound], above: list[Wound], force: float) -> Figure:
    """With the band of the currents, where one pair of windings is all there is."""
    says = "axial force on the upper board; positive pushes the boards apart"
    if len(below) > 1 or len(above) > 1:
        return pair_figure("force", force, "N", says, _MODEL)
    currents = [each.case.figure("current") for each in (*below, *above)]
    shares = [
        [end / current.value for end in current.band or (current.value,)]
        for current in currents
        if current is not None
    ]
    ends = [force * one * other for one, other in product(*shares)]
    band = (min(ends), max(ends)) if min(ends) < max(ends) else None
    return pair_figure("force", force, "N", says, f"{_MODEL}; the band is the currents'", band)


def _all_axes(force: Floats, torque: Floats) -> Figure:
    rows = [
        {"axis": axis, "force": float(along), "torque": float(about)}
        for axis, along, about in zip(_AXES, force, torque, strict=True)
    ]
    return pair_figure(
        "force_and_torque",
        rows,
        "table(axis, force N, torque N m)",
        "force on the upper board, and torque about the middle of its top face",
        _MODEL,
    )
