"""Force and torque on a permanent magnet, against its place, and how it behaves when the current turns."""

import itertools
from collections.abc import Callable
from typing import Any

import numpy as np

from coilgen.design.bodies import Magnet
from coilgen.figures.core._magnetics import IMPLANT_LEVEL
from coilgen.figures.force._magnet_spread import axial_spread, constant_spread
from coilgen.figures.force._moved_magnet import (
    ACROSS,
    Moved,
    against_gap,
    against_offset,
    clearance,
    magnet_forces,
)
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.dipole import reach_on_axis
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.units import readable

WEAK = 0.1
"""Pull to the core over the part that reverses with the current, under which it is called weak."""
_ASIDE = 0.2
"""Axial part of what the current does to a magnet over the rest of it, under which the rest is told."""


def _model(case: Case) -> str:
    field = "winding and cores magnetised by both" if case.design.core else "winding alone, no metal near"
    swings = "; at a sine's root mean square" if case.design.drive.waveform == "sine" else ""
    return (
        f"currents and poles of an even magnetisation at typical remanence in the field of {field}; "
        f"recoil as in air{swings}"
    )


def _force(case: Case) -> Answer | None:
    magnet = case.design.magnet
    if magnet is None:
        return None
    return spread_answer(
        axial_spread(case, 1.0),
        f"{_model(case)}; along the axis, positive up",
        cautions=(_handle(magnet), *_near_core(case), *_beside_target(case)),
    )


def _reversed(case: Case) -> Answer | None:
    if case.design.magnet is None:
        return None
    return spread_answer(axial_spread(case, -1.0), f"{_model(case)}; the current turned; positive up")


def _at_rest(case: Case) -> Answer | None:
    if case.design.magnet is None:
        return None
    return spread_answer(axial_spread(case, 0.0), f"{_model(case)}; no current; positive up")


def _handle(magnet: Magnet) -> str:
    reach = readable(reach_on_axis(magnet.remanences[1] * magnet.volume, IMPLANT_LEVEL), "m", 2)
    return (
        f"{WARNING}A strong magnet snaps to steel and to other magnets and pinches; keep it away from bank "
        "cards, data carriers and implants such as pacemakers: its own field is over 0.5 mT up to about "
        f"{reach} from it."
    )


def _near_core(case: Case) -> tuple[str, ...]:
    magnet = case.design.magnet
    assert magnet is not None
    if clearance(case) >= max(magnet.size) / ACROSS:
        return ()
    return (
        f"The magnet is nearer to a core than a {ACROSS}th of its size: the force on it is a rough guide.",
    )


def _beside_target(case: Case) -> tuple[str, ...]:
    if case.design.target is None:
        return ()
    return ("Magnet and target are judged apart: what the magnet does to the target is not counted.",)


def _ends(case: Case, at_rest: Floats, odd: Floats, driven: Floats) -> tuple[float, float]:
    """Least and most of an axial force, N, of the parts (3,) of a force.

    At rest with the square of the remanence, the odd part with remanence and current, and the error.
    """
    found, current = magnet_forces(case), case.figure("current")
    assert case.design.magnet is not None
    assert current is not None
    least, typical = case.design.magnet.remanences
    rest = driven - at_rest - odd
    turns = [end / current.value for end in current.band or (current.value,)]
    ends = [
        float((at_rest * r**2 + odd * r * i + rest)[2])
        for r, i in itertools.product((least / typical, 1.0), (*turns, 1.0))
    ]
    error = sum(
        share * float(np.linalg.norm(part)) for share, part in zip(found.error, (at_rest, odd), strict=True)
    )
    return min(ends) - error, max(ends) + error


def _constant(case: Case) -> Answer | None:
    magnet = case.design.magnet
    if magnet is None:
        return None
    return spread_answer(
        constant_spread(case),
        f"{_model(case)}; the axial part that reverses with the current, over the current",
        cautions=_aside(case, magnet),
    )


def _aside(case: Case, magnet: Magnet) -> tuple[str, ...]:
    """Where the current mostly pushes the magnet sideways, or turns it, by the torque over its length."""
    forces = magnet_forces(case).forces
    along, across = abs(float(forces.odd[2])), float(np.linalg.norm(forces.odd[:2]))
    turning = float(np.linalg.norm((forces.forward.torque - forces.at_rest.torque)[:2]))
    if along >= _ASIDE * max(across, turning / max(magnet.size)):
        return ()
    return (
        f"The current turns this magnet with {readable(turning, 'N m')} and pushes it sideways with "
        f"{readable(across, 'N')}, along the axis with {readable(along, 'N')} alone: judge it by "
        "torque_on_magnet and force_on_magnet_parts; force_on_magnet and force_constant tell the axial part.",
    )


def _parts(case: Case) -> Answer | None:
    if case.design.magnet is None:
        return None
    forces = magnet_forces(case).forces
    rows = [
        ("at rest", forces.at_rest.force),
        ("forward", forces.forward.force),
        ("backward", forces.backward.force),
        ("odd in the current", forces.odd),
    ]
    return Answer(value=[_row(part, vector) for part, vector in rows], model=_model(case))


def _torque(case: Case) -> Answer | None:
    if case.design.magnet is None:
        return None
    forces = magnet_forces(case).forces
    rows = [
        ("at rest", forces.at_rest.torque),
        ("forward", forces.forward.torque),
        ("backward", forces.backward.torque),
    ]
    return Answer(
        value=[_row(part, vector) for part, vector in rows],
        model=f"{_model(case)}; about the magnet's centre",
    )


def _row(part: str, vector: Any) -> dict[str, Any]:
    x, y, z = (float(value) for value in vector)
    return {"part": part, "x": x, "y": y, "z": z}


def _gap(case: Case) -> Answer | None:
    if case.design.magnet is None:
        return None
    moved, current = against_gap(case), case.value("current")
    return Answer(
        value=[
            {
                "gap": gap,
                "force": float(driven[2]),
                **_between(case, at_rest, driven),
                "at_rest": float(at_rest[2]),
                "per_ampere": float(driven[2] - at_rest[2]) / current,
                **_tilting(torque),
            }
            for gap, at_rest, driven, torque in _rows(moved)
        ],
        model=f"{_model(case)}; along the axis, positive up; torque about the magnet's centre",
    )


def _offset(case: Case) -> Answer | None:
    if case.design.magnet is None:
        return None
    return Answer(
        value=[
            {
                "offset": offset,
                "force": float(driven[2]),
                **_between(case, at_rest, driven),
                "sideways": float(driven[0]),
                "at_rest": float(at_rest[2]),
                **_tilting(torque),
            }
            for offset, at_rest, driven, torque in _rows(against_offset(case))
        ],
        model=f"{_model(case)}; the magnet moved along x, force along the axis and along x; torque about the "
        "magnet's centre",
    )


def _rows(moved: Moved) -> "zip[tuple[float, Any, Any, Any]]":
    return zip(moved.varied, moved.at_rest, moved.driven, moved.torque, strict=True)


def _between(case: Case, at_rest: Floats, driven: Floats) -> dict[str, float]:
    """What the current adds is taken for odd in it."""
    low, high = _ends(case, at_rest, driven - at_rest, driven)
    return {"force_low": low, "force_high": high}


def _tilting(torque: Any) -> dict[str, float]:
    return {"torque_x": float(torque[0]), "torque_y": float(torque[1])}


def _behaviour(case: Case) -> Answer | None:
    if case.design.magnet is None:
        return None
    forces = magnet_forces(case).forces
    at_rest, odd = (float(np.linalg.norm(part)) for part in (forces.at_rest.force, forces.odd))
    says = _says(at_rest, odd)
    return Answer(
        value=[
            {"part": "without current", "force": float(forces.at_rest.force[2]), "says": says[0]},
            {"part": "odd in the current", "force": float(forces.odd[2]), "says": says[1]},
        ],
        model=f"{_model(case)}; force along the axis, positive up, judged by the whole force",
        cautions=_stuck(at_rest, odd),
    )


def _says(at_rest: float, odd: float) -> tuple[str, str]:
    """What each part does to the magnet."""
    if at_rest == 0.0:
        return "no core draws it", "reverses with the current, as in a voice coil"
    if at_rest > odd:
        return "drawn to the core whatever the current", "only makes that pull stronger or weaker"
    pull = "a weak pull to the core" if at_rest < WEAK * odd else "a pull to the core, one way only"
    return pull, "stronger: the whole reverses with the current, though not evenly"


def _stuck(at_rest: float, odd: float) -> tuple[str, ...]:
    if at_rest <= odd:
        return ()
    return (
        f"{WARNING}The core draws the magnet with {readable(at_rest, 'N')} without current; the drive's "
        f"current changes that by {readable(odd, 'N')}, too little to turn the force round.",
    )


def _quantity(name: str, unit: str, says: str, compute: Callable[[Case], Answer | None]) -> Quantity:
    return Quantity(name=name, unit=unit, says=says, group="force", compute=compute, of="board")


FIGURES = (
    _quantity("force_on_magnet", "N", "force on the magnet along the axis, positive up", _force),
    _quantity("force_reversed", "N", "force on the magnet with the current turned, positive up", _reversed),
    _quantity("force_at_rest", "N", "force on the magnet without current, positive up", _at_rest),
    _quantity("force_constant", "N/A", "axial force on the magnet that an ampere adds", _constant),
    _quantity(
        "force_on_magnet_parts",
        "table(part, x N, y N, z N)",
        "force on the magnet at rest, at the current and at its reverse",
        _parts,
    ),
    _quantity(
        "torque_on_magnet",
        "table(part, x N m, y N m, z N m)",
        "torque on the magnet about its centre",
        _torque,
    ),
    _quantity(
        "force_against_gap",
        "table(gap m, force N, force_low N, force_high N, at_rest N, per_ampere N/A, "
        "torque_x N m, torque_y N m)",
        "axial force and torque on the magnet against its gap",
        _gap,
    ),
    _quantity(
        "force_against_offset",
        "table(offset m, force N, force_low N, force_high N, sideways N, at_rest N, "
        "torque_x N m, torque_y N m)",
        "force and torque on the magnet moved sideways",
        _offset,
    ),
    _quantity(
        "behaviour", "table(part, force N, says)", "what the magnet does when the current turns", _behaviour
    ),
)
