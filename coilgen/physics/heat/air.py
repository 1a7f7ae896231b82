"""Dry air at sea level: the properties that natural convection asks for."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coilgen.frozen import dataclass

Floats = NDArray[np.float64]

PRESSURE = 101325.0
"""Pa."""
GAS_CONSTANT = 287.05
"""Of dry air, J/(kg K)."""
LEAST_TEMPERATURE, LARGEST_TEMPERATURE = 200.0, 1300.0
"""Range of the heat capacity's fit, K."""


@dataclass(frozen=True, kw_only=True)
class Air:
    """conductivity W/(m K), kinematic_viscosity m²/s, prandtl 1, expansion 1/K; all of one shape."""

    conductivity: Floats
    kinematic_viscosity: Floats
    prandtl: Floats
    expansion: Floats


def air(temperature: ArrayLike) -> Air:
    """Properties of dry air at 101325 Pa; temperature in K, any shape, held within 200 to 1300 K.

    Viscosity and conductivity by Sutherland's law with the constants of White, Viscous Fluid Flow, 1991
    (within 2 % to 1000 K); heat capacity by a cubic through Table A.4 of Incropera and DeWitt, Fundamentals
    of Heat and Mass Transfer (within 0.3 %), values from memory; perfect gas. Viscosity and conductivity are
    within 0.2 % of the US Standard Atmosphere of 1976 from 250 to 400 K. The table has at 300 K:
    26.3e-3 W/(m K), 15.89e-6 m²/s, 0.707.

    >>> still = air(300.0)
    >>> [float(np.round(x, 3)) for x in (1e3 * still.conductivity, 1e6 * still.kinematic_viscosity)]
    [26.245, 15.697]
    >>> float(np.round(still.prandtl, 3))
    0.709
    """
    held = np.clip(np.asarray(temperature, dtype=np.float64), LEAST_TEMPERATURE, LARGEST_TEMPERATURE)
    viscosity = _sutherland(held, 1.716e-5, 111.0)
    conductivity = _sutherland(held, 0.0241, 194.0)
    return Air(
        conductivity=conductivity,
        kinematic_viscosity=viscosity * GAS_CONSTANT * held / PRESSURE,
        prandtl=viscosity * _heat_capacity(held) / conductivity,
        expansion=1 / held,
    )


def _sutherland(temperature: Floats, at_273: float, constant: float) -> Floats:
    ratio = temperature / 273.0
    law: Floats = at_273 * ratio * np.sqrt(ratio) * (273.0 + constant) / (temperature + constant)
    return law


def _heat_capacity(temperature: Floats) -> Floats:
    """At constant pressure, J/(kg K)."""
    t = temperature / 1000
    fit: Floats = ((-244.744 * t + 586.170) * t - 227.781) * t + 1029.179
    return fit
