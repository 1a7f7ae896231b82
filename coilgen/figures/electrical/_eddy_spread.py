"""What tolerances and the model's error change in resistance and inductance against frequency."""

from collections.abc import Mapping

import numpy as np

from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case
from coilgen.result.spread import Shift, Spread

Shifts = Mapping[str, tuple[Floats, Floats]]
"""Of each source, at its low and at its high limit, (n,) at the frequencies."""
_WIDTH_OF_RISE = (1.6, -0.2)
"""Exponent of the width in the rise, by the rise's own exponent s in the frequency: 3 in weak eddy currents,
where s is 2, less where they crowd at the edges. Redrawn windings lie between 0.1 and 1.6 at 10 MHz."""


def bands(
    case: Case, frequency: Floats, resistance: Floats, inductance: Floats, error: float
) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    """Ends of the bands of resistance, ohm, and of inductance, H, (n,) each.

    error: of the rise over direct current and of the fall. A strip's eddy currents answer to f t / rho alone
    (a sheet's), in the field of its neighbours to its width as well, so that the slopes of the curves tell
    what section and copper change.
    """
    ohm, henry = case.spread("resistance_20c"), case.spread("inductance")
    rise, fall = resistance - ohm.value, henry.value - inductance
    steep, flat = _slope(frequency, rise), _slope(frequency, fall)
    factors = _factors(case)
    risen = _shifts(rise, factors, steep - 1, _WIDTH_OF_RISE[0] * steep + _WIDTH_OF_RISE[1])
    fallen = _shifts(-fall, factors, flat, flat + 2)
    return _band(resistance, ohm, risen, error * rise), _band(inductance, henry, fallen, error * fall)


def _factors(case: Case) -> Mapping[str, tuple[float, float]]:
    """By how much each source multiplies what it tells, at its low and at its high limit."""
    tolerance = case.design.tolerance
    wider = min(tolerance.trace_width / case.design.winding.trace_width, 0.95)
    conductivity = tolerance.conductivity_of("copper")
    return {
        "trace width": (1 - wider, 1 + wider),
        "copper thickness": (1 / (1 + tolerance.copper_thickness), 1 + tolerance.copper_thickness),
        "conductivity": (1 / (1 + conductivity), 1 + conductivity),
    }


def _slope(frequency: Floats, values: Floats) -> Floats:
    """Exponent with which values grow with the frequency, (n,); 2 where there is nothing."""
    known = np.log(np.maximum(values, 1e-12 * max(float(values.max()), 1e-300)))
    return np.asarray(np.clip(np.gradient(known, np.log(frequency)), 0.0, 2.0))


def _shifts(
    value: Floats, factors: Mapping[str, tuple[float, float]], exponent: Floats, of_width: Floats
) -> Shifts:
    """What each source changes in what eddy currents make, by its exponents (n,) there."""
    exponents = {"trace width": of_width}
    return {
        source: (
            value * (low ** exponents.get(source, exponent) - 1),
            value * (high ** exponents.get(source, exponent) - 1),
        )
        for source, (low, high) in factors.items()
    }


def _band(value: Floats, direct: Spread, eddy: Shifts, model: Floats) -> tuple[Floats, Floats]:
    rows = [
        Spread(float(each), _together(direct, eddy, k, float(model[k]))).band for k, each in enumerate(value)
    ]
    low, high = np.array(rows).T
    return low, high


def _together(direct: Spread, eddy: Shifts, row: int, model: float) -> Mapping[str, Shift]:
    """A source changes the direct value and what eddy currents make of it at once."""
    found: dict[str, Shift] = {**direct.shifts, "model of impedance": (-model, model)}
    for source, (low, high) in eddy.items():
        before = direct.shifts.get(source, (0.0, 0.0))
        found[source] = (before[0] + float(low[row]), before[1] + float(high[row]))
    return found
