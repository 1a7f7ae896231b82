"""Heat spreading in a thin sheet: annular fin, heated disc that lose heat from their faces; islands in it."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def annular_fin_conductance(inner: float, outer: float, sheet: float, coefficient: float) -> float:
    """Heat per kelvin at the inner edge of an annular sheet, W/K, no loss from the outer edge.

    inner, outer radius m; sheet: conductivity times thickness, W/K; coefficient: of both faces together,
    W/(m² K). Modified Bessel functions (Harper and Brown, NACA Report 158, 1922). A sheet that conducts well
    loses the coefficient times its area:

    >>> round(annular_fin_conductance(1e-2, 2e-2, 1e6, 20.0) / (20.0 * np.pi * 3e-4), 6)
    1.0
    """
    from scipy.special import ive, kve

    m = np.sqrt(coefficient / sheet)
    a, b = m * inner, m * outer
    # Scaled functions: exp(-2 (b - a)) is all that is left of their growth.
    fade = np.exp(-2 * (b - a))
    top = ive(1, b) * kve(1, a) - fade * ive(1, a) * kve(1, b)
    bottom = ive(1, b) * kve(0, a) + fade * ive(0, a) * kve(1, b)
    return float(2 * np.pi * inner * sheet * m * top / bottom)


def heated_disc_rise(
    radius: ArrayLike, source: float, rim: float, flux: float, sheet: float, coefficient: float
) -> Floats:
    """Rise over the air, K, at radii of a round sheet heated evenly out to a source radius.

    radius (n,) m, 0 to rim; source: radius of the heated part, up to rim, m; flux W/m² of sheet; sheet:
    conductivity times thickness, W/K; coefficient: both faces together, W/(m² K); no loss from the rim.
    Closed form in modified Bessel functions (method of Carslaw and Jaeger, Conduction of Heat in Solids,
    1959, ch. 5): the even rise flux/coefficient less what the cool rim draws.
    For rim sqrt(coefficient/sheet) below 600.
    """
    from scipy.special import iv, kv

    r = np.asarray(radius, dtype=np.float64)
    m = np.sqrt(coefficient / sheet)
    even, a, b = flux / coefficient, m * source, m * rim
    # Inside even + p I0; outside q (I0 K1(b) + K0 I1(b)); equal value and slope at the source's edge.
    share = kv(1, b) / iv(1, b)
    p = -even * a * (kv(1, a) - share * iv(1, a))
    q = even * a * iv(1, a)
    inside = even + p * iv(0, m * r)
    outside = q * (kv(0, np.maximum(m * r, 1e-300)) + share * iv(0, m * r))
    rise: Floats = np.where(r < source, inside, outside)
    return rise


def heated_disc_centre_rise(power: float, sheet: float) -> float:
    """Centre over edge of an evenly heated disc that loses heat at its edge alone, K: power/(4 pi k t).

    (Carslaw and Jaeger, Conduction of Heat in Solids, 1959.) The radius does not matter for a given power.

    >>> round(heated_disc_centre_rise(1.0, 0.1), 4)
    0.7958
    """
    return float(power / (4 * np.pi * sheet))


def islands_conductivity(sheet: float, islands: float, coverage: float) -> float:
    """Conductivity of a sheet with round islands in it that do not touch, along the sheet; of one unit.

    sheet, islands: conductivities; coverage: share of the area that islands cover, 0 to 1. Maxwell 1873 and
    Eucken 1940, in two dimensions Rayleigh 1892 to first order: exact for few and for all, a lower bound for
    any that conduct better (Hashin and Shtrikman 1962). Islands of copper have next to no resistance, and
    the sheet between them still carries the heat:

    >>> round(islands_conductivity(0.8, 398.0, 0.024) / 0.8, 3)
    1.049
    >>> round(islands_conductivity(0.8, 398.0, 1.0), 6)
    398.0
    """
    more = coverage * (islands - sheet) / (islands + sheet)
    return sheet * (1 + more) / (1 - more)
