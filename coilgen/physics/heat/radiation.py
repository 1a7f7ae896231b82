"""Thermal radiation of a grey face into large surroundings: exact, and as a coefficient."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

STEFAN_BOLTZMANN = 5.670374419e-8
"""W/(m² K⁴), exact in the SI of 2019 to the digits given."""


def radiated_flux(surface: ArrayLike, ambient: ArrayLike, emissivity: ArrayLike) -> Floats:
    """Net flux from a face, W/m²: emissivity sigma (T⁴ - Ta⁴), in K (Stefan 1879, Boltzmann 1884).

    A black body at 0 degC sends 315.7 W/m² into empty space:

    >>> float(np.round(radiated_flux(273.15, 0.0, 1.0), 1))
    315.7
    """
    hot, cold = np.asarray(surface, dtype=np.float64), np.asarray(ambient, dtype=np.float64)
    flux: Floats = np.asarray(emissivity) * STEFAN_BOLTZMANN * (hot**4 - cold**4)
    return flux


def radiation_coefficient(surface: ArrayLike, ambient: ArrayLike, emissivity: ArrayLike) -> Floats:
    """The flux over the temperature's excess, W/(m² K): emissivity sigma (T² + Ta²)(T + Ta); K.

    >>> float(np.round(radiation_coefficient(473.15, 293.15, 0.9), 1))
    12.1
    """
    hot, cold = np.asarray(surface, dtype=np.float64), np.asarray(ambient, dtype=np.float64)
    each: Floats = np.asarray(emissivity) * STEFAN_BOLTZMANN * (hot**2 + cold**2) * (hot + cold)
    return each
