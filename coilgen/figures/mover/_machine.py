"""Array and mover together: voltages of the phases, cogging, winding factor, eddy loss."""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from coilgen.figures.mover._cores import cores, has_cores, linkage, row_places
from coilgen.figures.mover._magnets import magnets, mover_of
from coilgen.figures.mover._setting import BARE, DESIGNED, Setting
from coilgen.figures.several._linkage import CHORDS, path_of
from coilgen.figures.several._network import network
from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case
from coilgen.result.spread import Spread, carried

if TYPE_CHECKING:
    from coilgen.physics.field.filaments import Filaments
    from coilgen.physics.mover.ring import Harmonics
    from coilgen.physics.mover.row import Passing
    from coilgen.physics.mover.voltages import Voltages

_Flux = TypeVar("_Flux", "Harmonics", "Passing")
_SAMPLES, _SAMPLES_OF_ROW = 720, 180


@dataclass(frozen=True, kw_only=True)
class Machine:
    """voltages: of the phases as joined. distribution, pitch: factors of the fundamental. loss: of all tracks
    over the square of the speed, W s2. cogging: at the voltages' places, N m or N, without current; of_core:
    the most that one coil's cores do at any place."""

    voltages: "Voltages"
    distribution: float
    pitch: float
    loss: float
    cogging: Floats
    of_core: float = 0.0

    @property
    def winding_factor(self) -> float:
        """Of the fundamental."""
        return self.distribution * self.pitch

    @property
    def most_cogging(self) -> float:
        """At any place."""
        return float(np.abs(self.cogging).max())


_CANCELLED = 0.02
"""Winding factor below which speeds and ripple, which divide by it, mean nothing."""


def cancelled(case: Case) -> bool:
    """Whether hardly anything is left of the voltages of a phase's coils, or of a coil's strips."""
    return machine(case).winding_factor < _CANCELLED


def machine(case: Case, setting: Setting = DESIGNED) -> Machine:
    """As designed, or otherwise as a setting tells."""
    used = setting if has_cores(case) else _without_cores(setting)
    build = _ring if mover_of(case).arrangement == "ring" else _row
    return case.once(f"mover {used}", lambda: build(case, used))


def _without_cores(setting: Setting) -> Setting:
    return replace(BARE, lifted=setting.lifted, plates=setting.plates, strength=setting.strength)


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


def _ring(case: Case, setting: Setting) -> Machine:
    from coilgen.physics.mover.voltages import Voltages

    own = _ring_flux(case, setting)
    angles = np.radians([each.rotation - case.design.windings[0].rotation for each in case.design.windings])
    places = 2.0 * np.pi / own.orders[0] * np.arange(_SAMPLES) / _SAMPLES
    orders, flux, cogging, of_core = own.orders, own.linkage, np.zeros(_SAMPLES), 0.0
    if setting.cores:
        from coilgen.physics.mover.cored import ring_cogging, with_harmonics

        found = cores(case, setting)
        orders, flux = with_harmonics(own, linkage(case, setting))
        cogging = ring_cogging(found, len(angles), mover_of(case).poles, places)
        of_core = float(np.abs(found.force).max())
    turned = np.exp(1j * np.outer(angles, orders))
    waves = np.exp(-1j * np.outer(orders, places))
    slopes = ((-1j * orders * (dealt(case) @ turned * flux)) @ waves).real
    return Machine(
        voltages=Voltages(places=places, slopes=slopes),
        distribution=_distribution(case, turned[:, 0]),
        pitch=own.pitch_factor,
        loss=own.loss * len(angles),
        cogging=cogging,
        of_core=of_core,
    )


def _ring_flux(case: Case, setting: Setting) -> "Harmonics":
    """Of the magnets by themselves through coil 1."""
    from coilgen.physics.mover.ring import ring_harmonics

    def found(unit: Setting) -> "Harmonics":
        poles, resistivity = mover_of(case).poles, _resistivity(case)
        return ring_harmonics(_first_path(case), magnets(case, unit), poles, resistivity)

    return _of_strength(case, setting, found)


def _of_strength(case: Case, setting: Setting, found: Callable[[Setting], _Flux]) -> _Flux:
    """The magnets' flux without cores, found once for all strengths of the magnets."""
    unit = replace(_without_cores(setting), strength=1.0)
    one, strength = case.once(f"flux of the mover {unit}", lambda: found(unit)), setting.strength
    return replace(one, linkage=strength * one.linkage, loss=strength**2 * one.loss)


def _distribution(case: Case, phasors: "np.ndarray[tuple[int, ...], np.dtype[np.complex128]]") -> float:
    """Mean over phases of the sum of the coils' phasors over that of their sizes."""
    counted = dealt(case)
    return float(np.mean(np.abs(counted @ phasors) / np.abs(counted).sum(axis=1)))


def _row(case: Case, setting: Setting) -> Machine:
    from coilgen.physics.mover.row import row
    from coilgen.physics.mover.voltages import Voltages

    mover = mover_of(case)
    pitch = mover.mean_pitch
    centres = np.array([each.centre.real for each in case.design.windings])
    own = _row_flux(case, setting, centres)
    passed = row(own, mover.poles, pitch)
    places = pitch * (2.0 * np.arange(_SAMPLES_OF_ROW) / _SAMPLES_OF_ROW - 1.0)
    each = np.stack([passed.linkage(places - centre, slope=1) for centre in centres])
    cogging, of_core = np.zeros(_SAMPLES_OF_ROW), 0.0
    if setting.cores:
        from coilgen.physics.mover.cored import along_row

        found, at = cores(case, setting), row_places(case)
        each = each + along_row(linkage(case, setting), at, places, slope=1)
        cogging = along_row(found.force, at, places).sum(axis=0)
        of_core = float(np.abs(found.force).max())
    return Machine(
        voltages=Voltages(places=places, slopes=dealt(case) @ each),
        distribution=_distribution(case, np.exp(1j * np.pi / pitch * centres)),
        pitch=own.pitch_factor,
        loss=own.loss * min(len(centres), mover.poles * pitch / _coil_pitch(centres)),
        cogging=cogging,
        of_core=of_core,
    )


def _row_flux(case: Case, setting: Setting, centres: Floats) -> "Passing":
    """Of one magnet by itself through coil 1."""
    from coilgen.physics.mover.row import passing

    mover = mover_of(case)
    pitch = mover.mean_pitch
    farthest = pitch + float(np.abs(centres).max()) + 0.5 * mover.poles * pitch

    def found(unit: Setting) -> "Passing":
        one = magnets(case, unit, alone=True)
        return passing(_first_path(case), one, pitch, farthest, _resistivity(case))

    return _of_strength(case, setting, found)


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
    array, own = case.design.array, case.windings[0].case.spread("resistance_20c")
    joined = array is not None and array.joined
    mean = network(case).balanced if joined else float(np.mean(case.value("phase_resistance")))
    return carried(lambda ohm: mean * ohm / own.value, own)
