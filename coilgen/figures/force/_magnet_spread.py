"""What the tolerances of current, remanence, gaps and cores change in the axial force on the magnet."""

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.core._ends import remanence_spread
from coilgen.figures.force._moved_magnet import LEAST_GAP, at_gaps, forces_at_core_ends, magnet_forces
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case
from coilgen.result.spread import Spread, carried, told

if TYPE_CHECKING:
    from coilgen.physics.core.magnet_force import CoredMagnetForce


def axial_spread(case: Case, turned: float) -> Spread:
    """Axial force, N, at the drive's current times `turned` (1, -1 or 0).

    The part at rest goes with the square of the remanence, the part odd in the current with both; what is
    left of a saturating core stays: with one the band is rather wide. Positive up.
    """
    forces = magnet_forces(case).forces
    driven = {1.0: forces.forward, -1.0: forces.backward, 0.0: forces.at_rest}[turned]
    rest, odd, current = _rest(case), _odd(case), case.value("current")
    left = float(driven.force[2]) - rest.value - turned * odd.value
    found = carried(
        lambda at_rest, per_current, remanence, amperes: (
            at_rest * remanence**2 + turned * per_current * remanence * amperes / current + left
        ),
        rest,
        odd,
        remanence_spread(case),
        case.spread("current"),
    )
    return Spread(found.value, {**found.shifts, **_model(case, turned)})


def constant_spread(case: Case) -> Spread:
    """Axial force that an ampere adds, N/A."""
    current = case.value("current")
    found = carried(lambda odd, remanence: odd * remanence / current, _odd(case), remanence_spread(case))
    size = float(np.linalg.norm(magnet_forces(case).forces.odd)) / current
    error = magnet_forces(case).error[1] * size
    return Spread(found.value, {**found.shifts, "model of force_constant": (-error, error)})


def _model(case: Case, turned: float) -> dict[str, tuple[float, float]]:
    found = magnet_forces(case)
    parts = (found.forces.at_rest.force, turned * found.forces.odd)
    error = sum(share * float(np.linalg.norm(part)) for share, part in zip(found.error, parts, strict=True))
    return {"model of force_on_magnet": (-error, error)} if error else {}


def _rest(case: Case) -> Spread:
    found = _of_gap(case, magnet_forces(case).forces.at_rest.force, 0)
    return _of_cores(case, found, lambda forces: float(forces.at_rest.force[2]))


def _odd(case: Case) -> Spread:
    found = _of_gap(case, magnet_forces(case).forces.odd, 1)
    return _of_cores(case, found, lambda forces: float(forces.odd[2]))


def _of_cores(case: Case, found: Spread, read: "Callable[[CoredMagnetForce], float]") -> Spread:
    """With what the cores' materials and gaps change, as the rougher grid tells it."""
    rough = magnet_forces(case).rough
    if rough is None:
        return found
    usual = read(rough)
    moved = {
        source: (read(low) - usual, read(high) - usual)
        for source, (low, high) in forces_at_core_ends(case).items()
    }
    return Spread(found.value, {**found.shifts, **moved})


def _of_gap(case: Case, force: Floats, part: int) -> Spread:
    """The axial part of a force with what the gap's tolerance changes; part: 0 at rest, 1 odd."""
    magnet, value = case.design.magnet, float(force[2])
    assert magnet is not None
    share = case.design.tolerance.gap_of(magnet)
    ends = (max(magnet.gap - share, min(LEAST_GAP, magnet.gap)), magnet.gap + share)
    if not share or not value:
        return Spread(value)
    moved = case.once("forces at the ends of the gap", lambda: at_gaps(case, ends))
    parts = (moved.at_rest[:, 2], moved.driven[:, 2] - moved.at_rest[:, 2])[part]
    return told(value, "gap of the magnet", float(parts[0]), float(parts[1]))
