"""Array and mover together: voltages of the phases, winding factor, eddy loss; and what tolerances change."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.mover._magnets import magnets, mover_of, plate_faces
from coilgen.figures.several._linkage import CHORDS, path_of
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case
from coilgen.result.spread import Spread, carried

if TYPE_CHECKING:
    from coilgen.physics.field.filaments import Filaments
    from coilgen.physics.mover.magnets import Magnets
    from coilgen.physics.mover.voltages import Voltages

_SAMPLES, _SAMPLES_OF_ROW = 720, 180
_PLATES = 0.05
"""Of what iron plates add: how far images in plates without end and of any permeability are trusted; own
judgement, no source."""


@dataclass(frozen=True, kw_only=True)
class Machine:
    """voltages: of the phases as joined. distribution, pitch: factors of the fundamental. loss: of all tracks
    over the square of the speed, W s2."""

    voltages: "Voltages"
    distribution: float
    pitch: float
    loss: float

    @property
    def winding_factor(self) -> float:
        """Of the fundamental."""
        return self.distribution * self.pitch


_CANCELLED = 0.02
"""Winding factor below which speeds and ripple, which divide by it, mean nothing."""


def cancelled(case: Case) -> bool:
    """Whether hardly anything is left of the voltages of a phase's coils, or of a coil's strips."""
    return machine(case).winding_factor < _CANCELLED


def machine(case: Case, lifted: float = 0.0, *, plates: bool = True) -> Machine:
    """As designed, or with gaps wider by so much, m, or without iron plates."""
    key = f"mover {lifted} {plates}"
    return case.once(key, lambda: _machine(case, magnets(case, lifted, plates=plates), lifted, plates))


def _machine(case: Case, found: "Magnets", lifted: float, plates: bool) -> Machine:
    if mover_of(case).arrangement == "ring":
        return _ring(case, found)
    return _row(case, magnets(case, lifted, plates=plates, alone=True))


def _resistivity(case: Case) -> float:
    return float(case.design.board.stackup.metal.resistivity)


def coils_of_phase(case: Case) -> int:
    """How many coils each phase has."""
    return len(case.design.windings) // phases(case)


def phases(case: Case) -> int:
    """How many phases there are."""
    assert case.design.array is not None
    return case.design.array.phase_count


def dealt(case: Case) -> Floats:
    """What each coil counts in each phase, (m, c): its sense, shared among parallel ones."""
    found = np.zeros((phases(case), len(case.design.windings)))
    array = case.design.array
    assert array is not None
    share = 1.0 / coils_of_phase(case) if array.coils == "parallel" else 1.0
    for number, coil in enumerate(array.connected):
        found[coil.phase, number] = share * coil.sense
    return found


def _ring(case: Case, found: "Magnets") -> Machine:
    from coilgen.physics.mover.ring import ring_harmonics
    from coilgen.physics.mover.voltages import Voltages

    own = ring_harmonics(_first_path(case), found, mover_of(case).poles, _resistivity(case))
    angles = np.radians([each.rotation - case.design.windings[0].rotation for each in case.design.windings])
    turned = np.exp(1j * np.outer(angles, own.orders))
    linkage = dealt(case) @ turned * own.linkage
    places = 2.0 * np.pi / own.orders[0] * np.arange(_SAMPLES) / _SAMPLES
    waves = np.exp(-1j * np.outer(own.orders, places))
    slopes = ((-1j * own.orders * linkage) @ waves).real
    return Machine(
        voltages=Voltages(places=places, slopes=slopes),
        distribution=_distribution(case, turned[:, 0]),
        pitch=own.pitch_factor,
        loss=own.loss * len(angles),
    )


def _distribution(case: Case, phasors: "np.ndarray[tuple[int, ...], np.dtype[np.complex128]]") -> float:
    """Mean over phases of the sum of the coils' phasors over that of their sizes."""
    counted = dealt(case)
    return float(np.mean(np.abs(counted @ phasors) / np.abs(counted).sum(axis=1)))


def _row(case: Case, one: "Magnets") -> Machine:
    from coilgen.physics.mover.row import passing, row
    from coilgen.physics.mover.voltages import Voltages

    mover = mover_of(case)
    pitch = mover.mean_pitch
    centres = np.array([each.centre.real for each in case.design.windings])
    farthest = pitch + float(np.abs(centres).max()) + 0.5 * mover.poles * pitch
    own = passing(_first_path(case), one, pitch, farthest, _resistivity(case))
    passed = row(own, mover.poles, pitch)
    places = pitch * (2.0 * np.arange(_SAMPLES_OF_ROW) / _SAMPLES_OF_ROW - 1.0)
    each = np.stack([passed.linkage(places - centre, slope=1) for centre in centres])
    return Machine(
        voltages=Voltages(places=places, slopes=dealt(case) @ each),
        distribution=_distribution(case, np.exp(1j * np.pi / pitch * centres)),
        pitch=own.pitch_factor,
        loss=own.loss * min(len(centres), mover.poles * pitch / _coil_pitch(centres)),
    )


def _coil_pitch(centres: Floats) -> float:
    """m; of a single coil no more than the mover."""
    return float(np.diff(np.sort(centres)).min()) if len(centres) > 1 else math.inf


def _first_path(case: Case) -> "Filaments":
    """Coil 1: of a ring where it stands, of a row about the origin."""
    from coilgen.physics.field.filaments import lifted

    path = path_of(case, case.windings[0], CHORDS)
    if mover_of(case).arrangement == "ring":
        return path
    at = case.design.windings[0].centre
    return lifted(path, np.array([-at.real, -at.imag, 0.0]))


def phase_resistance(case: Case) -> Spread:
    """Of one phase with its joints, ohm at 20 degC; known as well as a coil's."""
    own, mean = case.windings[0].case.spread("resistance_20c"), float(np.mean(case.value("phase_resistance")))
    return carried(lambda ohm: mean * ohm / own.value, own)


def with_tolerances(case: Case, of: Callable[[Machine], float], *, field: bool = True) -> Spread:
    """A value with what gap, remanence and model change in it; field: whether it goes with the magnets."""
    found = machine(case)
    value = of(found)
    shifts: dict[str, tuple[float, float]] = {}
    tolerance = case.design.tolerance
    step = min(tolerance.gap_of(mover_of(case)), 0.9 * mover_of(case).gap)
    if step:
        wider = of(machine(case, step))
        shifts["gap of the mover"] = (value - wider if not field else value**2 / wider - value, wider - value)
    if field:
        shifts |= {each: (low * value, high * value) for each, (low, high) in strength(case).items()}
    if any(face is not None for face in plate_faces(case)):
        added = _PLATES * abs(value - of(machine(case, plates=False)))
        shifts["model of iron plates"] = (-added, added)
    return Spread(value, shifts)


def strength(case: Case) -> dict[str, tuple[float, float]]:
    """What the magnets' field may be less or more by, as shares of it, by source.

    The recoil permeability is taken for that of air, by which magnets give less than told.
    """
    magnet, share = mover_of(case).magnet, case.design.tolerance.remanence
    least, typical = magnet.remanences
    found = {}
    if share:
        by_grade = magnet.grade is not None and abs(share - (1 - least / typical)) < 1e-5
        found["remanence"] = (-share, 0.0 if by_grade else share)
    working = case.once("working point of the mover", lambda: _working_point(case))
    recoil = float(magnet.row["recoil_permeability"]) - 1.0
    found["recoil of the magnets"] = (1.0 / (1.0 + recoil * (1.0 - working)) - 1.0, 0.0)
    return found


def _working_point(case: Case) -> float:
    """Mean flux density in the middle of a magnet over its remanence."""
    from coilgen.physics.mover.attraction import pole_flux_density

    found = magnets(case)
    low, high = magnets(case, plates=False).sheets[0]
    return min(1.0, max(0.0, pole_flux_density(found, 0.5 * (low + high)) / found.polarisation))
