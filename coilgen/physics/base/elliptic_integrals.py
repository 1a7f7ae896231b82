"""Complete elliptic integrals by the arithmetic-geometric mean, on arrays."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_SMALL = 1e-3
"""Of k^2: up to there the power series below are exact to 1e-15."""
_FIRST = (1.0, 1.0 / 4.0, 9.0 / 64.0, 25.0 / 256.0, 1225.0 / 16384.0)
"""K over pi / 2, in powers of k^2 (NIST DLMF 19.5.1)."""
_BRACKET = (0.0, 1.0 / 8.0, 3.0 / 32.0, 75.0 / 1024.0, 245.0 / 4096.0)
"""(1 - k^2 / 2) K - E over pi / 4 k^2, in powers of k^2 (NIST DLMF 19.5.1, 19.5.2)."""
_LEAST_RATIO = 1e-100
_LIKE = 1e-7
"""Of one another: two means so alike are equal after one more step, which squares the difference."""
_NEAR = 0.03
"""Of (b / a)^2: up to there the series about the logarithm is shorter than the means."""


def complete_integrals(complement: Floats | float) -> tuple[Floats, Floats]:
    """Complete elliptic integrals of the first and second kind, K and E, of complements 1 - k^2 in (0, 1].

    By the arithmetic-geometric mean (NIST DLMF 19.8.5, 19.8.6), within 1e-14. The modular angle of 45
    degrees (M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 1964, table 17.1; value from
    memory):

    >>> first, second = complete_integrals(0.5)
    >>> round(float(first), 9), round(float(second), 9)
    (1.854074677, 1.350643881)
    """
    rest = np.asarray(complement, dtype=np.float64)
    first, bracket = mean_integrals(np.ones_like(rest), np.sqrt(rest))
    return first, np.asarray(0.5 * (1.0 + rest) * first - bracket)


def mean_integrals(larger: Floats, smaller: Floats) -> tuple[Floats, Floats]:
    """K / a and a [(1 - k^2 / 2) K - E] of k^2 = 1 - (b / a)^2, for 0 < b <= a, arrays of one shape.

    With a' = (a + b) / 2, b' = sqrt(a b), c' = (a - b) / 2 the bracket is K times the sum of 2^(n - 1) c_n^2
    over n from 1 on (NIST DLMF 19.8): positive terms, where the integrals themselves cancel. As many steps
    as the smallest ratio asks for, then the integrals' power series. Both are infinite for b = 0.
    """
    a, b = np.atleast_1d(larger, smaller)
    least = float(np.min(b / a, initial=1.0))
    mean, spread, last, square = _means(a, b, _steps(max(least, _LEAST_RATIO)))
    series = _polynomial(_FIRST, square)
    bracket = np.multiply(spread, series, out=spread)
    bracket += np.multiply(last, _polynomial(_BRACKET, square), out=last)
    reciprocal = np.divide(0.5 * np.pi, mean, out=mean)
    bracket *= reciprocal
    first = np.multiply(series, reciprocal, out=series)
    if least <= 0.0:
        first[b <= 0.0] = bracket[b <= 0.0] = np.inf
    return first.reshape(np.shape(larger)), bracket.reshape(np.shape(larger))


def bracket_integral(larger: Floats, smaller: Floats) -> Floats:
    """The second of the two integrals above alone, to 1e-13 of itself; cheaper where all ratios are small."""
    a, b = np.atleast_1d(larger, smaller)
    square = b / a
    square *= square
    most = float(np.max(square, initial=0.0))
    if most > _NEAR:
        return mean_integrals(larger, smaller)[1]
    plain, logged = _logarithmic(2 + int(36.0 / -np.log(max(most, 1e-12))))
    with np.errstate(divide="ignore"):
        value = np.log(square)
    value *= _polynomial(logged, square)
    value += _polynomial(plain, square)
    value *= a
    return value.reshape(np.shape(larger))


@cache
def _logarithmic(count: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """The bracket over a in powers of x = (b / a)^2: the plain series, and the one times ln x.

    K is the sum of q_m x^m (d_m - ln x / 2) and E - 1 that of q_m (2 m + 1) / (2 m + 2) x^(m + 1) (d_m - 1 /
    ((2 m + 1) (2 m + 2)) - ln x / 2), q_m the squares of the binomial coefficients over 4^m and d_m falling
    from 2 ln 2 by 2 / ((2 m + 1) (2 m + 2)) (NIST DLMF 19.12.1, 19.12.2).
    """
    plain, logged = np.zeros(count + 1), np.zeros(count + 1)
    plain[0], q, d = -1.0, 1.0, 2.0 * np.log(2.0)
    for m in range(count):
        step = 1.0 / ((2 * m + 1) * (2 * m + 2))
        second = q * (2 * m + 1) / (2 * m + 2)
        plain[m : m + 2] += 0.5 * q * d
        plain[m + 1] -= second * (d - step)
        logged[m : m + 2] -= 0.25 * q
        logged[m + 1] += 0.5 * second
        q, d = q * ((2 * m + 1) / (2 * m + 2)) ** 2, d - 2.0 * step
    return tuple(plain[:count].tolist()), tuple(logged[:count].tolist())


def _means(a: Floats, b: Floats, steps: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Last a, the sum of 2^(n - 1) c^2, its last term, and the last (c / a)^2.

    In place: the time goes into passing memory.
    """
    mean, difference, product = 0.5 * (a + b), a - b, a * b
    term = np.square(difference)
    term *= 0.25
    spread = term.copy()
    for step in range(1, steps):
        root = np.sqrt(product, out=product)
        np.subtract(mean, root, out=difference)
        product = mean * root if step < steps - 1 else product
        mean += root
        mean *= 0.5
        term = np.square(difference)
        term *= 2.0 ** (step - 2)
        spread += term
    square = np.divide(difference, mean, out=product)
    square *= square
    square *= 0.25
    return mean, spread, term, square


def _steps(ratio: float) -> int:
    """Steps after which k^2 of the means is small."""
    a, b, count, square = 1.0, ratio, 0, 1.0
    while square > _SMALL:
        square = ((a - b) / (a + b)) ** 2
        a, b, count = 0.5 * (a + b), (a * b) ** 0.5, count + 1
    return count


def _polynomial(coefficients: tuple[float, ...], x: Floats) -> Floats:
    value = coefficients[-1] * x
    for coefficient in coefficients[-2:0:-1]:
        value += coefficient
        value *= x
    value += coefficients[0]
    return value


def general_integral(kc: Floats, p: Floats, c: Floats | float, s: Floats | float) -> Floats:
    """Integral of (c cos^2 + s sin^2) / ((cos^2 + p sin^2) sqrt(cos^2 + kc^2 sin^2)) over a quarter turn.

    kc, p: over 0. The complete integral of all three kinds, by Landen's transformation to 1e-12
    (R. Bulirsch, Numerische Mathematik 13, 1969; N. Derby and S. Olbert, American Journal of Physics 78,
    2010). With p = c = s = 1 it is K, with s = kc^2 it is E, here for 1 - k^2 = 0.5:

    >>> root = np.sqrt(np.array([0.5]))
    >>> [round(float(general_integral(root, np.ones(1), 1.0, s)[0]), 9) for s in (1.0, 0.5)]
    [1.854074677, 1.350643881]
    """
    k, kk, mean = kc, kc, np.ones_like(kc)
    pp, cc = np.sqrt(p), c * np.ones_like(kc)
    ss = s / pp
    while True:
        f, g = cc, kk / pp
        cc, ss, pp = cc + ss / pp, 2.0 * (ss + f * g), pp + g
        last, mean = mean, mean + k
        if np.all(np.abs(last - k) <= _LIKE * last):
            return np.asarray(0.5 * np.pi * (ss + cc * mean) / (mean * (mean + pp)))
        k = 2.0 * np.sqrt(kk)
        kk = k * mean
