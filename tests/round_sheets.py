"""Round thin sheets that lose heat from their faces: annular fin, disc heated in its middle, closed forms."""

import numpy as np
from scipy.special import iv, ive, kv, kve


def annular_fin_conductance(inner, outer, sheet, coefficient):
    """Heat per kelvin at the inner edge of an annular sheet, W/K, no loss from the outer edge.

    inner, outer radius m; sheet: conductivity times thickness, W/K; coefficient: of both faces together,
    W/(m² K). Modified Bessel functions (Harper and Brown, NACA Report 158, 1922). A sheet that conducts well
    loses the coefficient times its area:

    >>> round(annular_fin_conductance(1e-2, 2e-2, 1e6, 20.0) / (20.0 * np.pi * 3e-4), 6)
    1.0
    """
    m = np.sqrt(coefficient / sheet)
    a, b = m * inner, m * outer
    # Scaled functions: exp(-2 (b - a)) is all that is left of their growth.
    fade = np.exp(-2 * (b - a))
    top = ive(1, b) * kve(1, a) - fade * ive(1, a) * kve(1, b)
    bottom = ive(1, b) * kve(0, a) + fade * ive(0, a) * kve(1, b)
    return float(2 * np.pi * inner * sheet * m * top / bottom)


def heated_disc_rise(radius, source, rim, flux, sheet, coefficient):
    """Rise over the air, K, at radii of a round sheet heated evenly out to a source radius.

    radius (n,) m, 0 to rim; source: radius of the heated part, up to rim, m; flux W/m² of sheet; sheet:
    conductivity times thickness, W/K; coefficient: both faces together, W/(m² K); no loss from the rim.
    Closed form in modified Bessel functions (method of Carslaw and Jaeger, Conduction of Heat in Solids,
    1959, ch. 5): the even rise flux/coefficient less what the cool rim draws.
    For rim sqrt(coefficient/sheet) below 600.
    """
    r = np.asarray(radius, dtype=np.float64)
    m = np.sqrt(coefficient / sheet)
    even, a, b = flux / coefficient, m * source, m * rim
    # Inside even + p I0; outside q (I0 K1(b) + K0 I1(b)); equal value and slope at the source's edge.
    share = kv(1, b) / iv(1, b)
    p = -even * a * (kv(1, a) - share * iv(1, a))
    q = even * a * iv(1, a)
    inside = even + p * iv(0, m * r)
    outside = q * (kv(0, np.maximum(m * r, 1e-300)) + share * iv(0, m * r))
    return np.where(r < source, inside, outside)
