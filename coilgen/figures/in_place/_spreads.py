"""What the spread of the metal's conductivity and permeability changes in what it adds."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from coilgen.figures.electrical._copper_eddies import copper_eddies
from coilgen.figures.in_place._metal import Level, metal, pieces, with_permeabilities
from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.metal.relaxation import Relaxation

Complexes = np.ndarray[Any, np.dtype[np.complex128]]


@dataclass(frozen=True, kw_only=True)
class Facts:
    """Conductivity and permeability of all metal at the coil, over the expected ones.

    model: at which end of its error the model stands, from -1 to 1, for what is told at one frequency.
    """

    conductivity: float = 1.0
    permeability: float = 1.0
    model: float = 0.0


USUAL = Facts()


@dataclass(frozen=True, kw_only=True)
class Added:
    """What the bodies add at frequencies, complex H: as expected, and at the ends of their facts' spread."""

    usual: Complexes
    ends: tuple[Complexes, ...]


def conductivity_spread(case: Case) -> float:
    """A factor, either way: that of the metal known worst; 1 where none conducts."""
    tolerance = case.design.tolerance
    widest = max((tolerance.conductivity_of(one.material) for one in pieces(case) if one.conducts), default=0)
    return 1.0 + widest


def permeability_spread(case: Case) -> float:
    """A factor, either way, in weak fields; 1 where nothing is magnetic."""
    magnetic = any(piece.curve is not None for piece in pieces(case))
    return 1.0 + (case.design.tolerance.permeability or 0.0) if magnetic else 1.0


def single(case: Case) -> Iterator[tuple[str, Facts, Facts]]:
    """Each source by itself, with the metal at its low and at its high end."""
    sigma, mu = conductivity_spread(case), permeability_spread(case)
    if sigma > 1.0:
        yield "metal's conductivity", Facts(conductivity=1 / sigma), Facts(conductivity=sigma)
    if mu > 1.0:
        yield "metal's permeability", Facts(permeability=1 / mu), Facts(permeability=mu)
    if pieces(case):
        yield "model of the metal", Facts(model=-1.0), Facts(model=1.0)


def corners(case: Case) -> Iterator[Facts]:
    """Both facts at their ends, and the conductivity alone."""
    conductivity, permeability = conductivity_spread(case), permeability_spread(case)
    for mu in dict.fromkeys((1.0, 1 / permeability, permeability)):
        for sigma in dict.fromkeys((1 / conductivity, conductivity)):
            yield Facts(conductivity=sigma, permeability=mu)


def weak(case: Case, facts: Facts) -> "Relaxation":
    """The bodies' decays in weak fields."""
    from coilgen.physics.metal.relaxation import conducting

    return conducting(with_permeabilities(case, facts.permeability).relaxation, facts.conductivity)


def added(case: Case, level: Level, frequency: Floats) -> Added | None:
    """What the bodies add at frequencies, Hz, and the ends that conductivity and permeability leave."""
    if metal(case, level) is None:
        return None
    ends = tuple(added_with(case, level, frequency, facts) for facts in corners(case))
    return Added(usual=added_with(case, level, frequency, USUAL), ends=ends)


def added_with(case: Case, level: Level, frequency: Floats, facts: Facts) -> Complexes:
    """Complex H. At the drive's level the change is that in weak fields, of losses in proportion."""
    from coilgen.physics.metal.relaxation import added_inductance

    found = metal(case, level)
    assert found is not None
    told, usual, changed = (
        added_inductance(each, frequency) for each in (found.relaxation, weak(case, USUAL), weak(case, facts))
    )
    share = np.where(usual.imag == 0.0, 1.0, changed.imag / np.where(usual.imag == 0.0, 1.0, usual.imag))
    size = max(abs(found.relaxation.static), abs(found.relaxation.perfect))
    inductance = told.real + changed.real - usual.real + facts.model * found.inductance_error * size
    return np.asarray(inductance + 1j * told.imag * share * (1.0 + facts.model * found.resistance_error))


def series_impedance(case: Case, frequency: float, facts: Facts = USUAL) -> complex:
    """What the bodies add at a frequency, Hz, at the drive's level, ohm; 0 without bodies."""
    if not pieces(case):
        return 0j
    return complex(2j * np.pi * frequency * added_with(case, "drive", np.array([frequency]), facts)[0])


def cold_current(case: Case, facts: Facts = USUAL) -> float:
    """The drive's current through the cold coil with metal of such facts, A."""
    drive = case.design.drive
    if drive.waveform != "sine" or drive.voltage is None or drive.frequency is None:
        return float(case.value("current"))
    added = series_impedance(case, drive.frequency, facts)
    reactance = 2 * np.pi * drive.frequency * float(case.value("inductance")) + added.imag
    resistance = float(case.value("resistance_20c")) + copper_eddies(case) + added.real
    return drive.through(resistance, reactance)
