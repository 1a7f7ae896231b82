"""Magnetisation curves of soft materials: straight, saturating, or from a table of B against H."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.monotone_cubic import MonotoneCubic
from coilgen.physics.field.filaments import Indices

SATURATED_SHARE = 0.1
"""Saturated: where the differential permeability's excess over 1 has fallen under this share of its greatest.

Iron starts with less than that in weak fields: only magnetisations past the steepest place count.
"""
_BEYOND = 1e3
"""dH / dM beyond a table, where B goes on with slope mu0: to a thousandth, so that H stays finite."""


@dataclass(frozen=True, kw_only=True)
class Curve:
    """Anhysteretic curve: field H (k,) A/m against magnetisation M (k,) A/m, both from 0 and rising.

    Between the points a monotone cubic; beyond the last the curve goes on with slope dH / dM `beyond`, left
    out with its last one. Raises ValueError for fewer than two points or values that do not rise.
    """

    magnetisation: Floats
    field: Floats
    beyond: float | None = None

    def __post_init__(self) -> None:
        m, h = self.magnetisation, self.field
        if len(m) < 2 or len(m) != len(h) or m[0] != 0.0 or h[0] != 0.0:
            raise ValueError("a magnetisation curve needs two points or more, the first at 0, 0")
        if np.any(np.diff(m) <= 0.0) or np.any(np.diff(h) <= 0.0):
            raise ValueError("a magnetisation curve must rise from point to point, in H and in B - mu0 H")

    @property
    def straight(self) -> bool:
        """Whether H is proportional to M."""
        return len(self.field) == 2 and self.beyond is None

    @property
    def permeability(self) -> float:
        """Relative, in weak fields."""
        return 1.0 + 1.0 / float(self.reluctivity(np.zeros(1))[0])

    @cached_property
    def _cubic(self) -> MonotoneCubic:
        """H over M."""
        return MonotoneCubic(x=self.magnetisation, y=self.field)

    def scaled(self, permeability: float, saturation: float) -> "Curve":
        """With its relative permeability, less that of air, and its saturation times factors."""
        return replace(
            self,
            magnetisation=saturation * self.magnetisation,
            field=saturation / permeability * self.field,
        )

    def softer(self, steepest: float) -> "Curve":
        """Beyond the table with a slope dH / dM of no more than that."""
        return self if self.straight or self._last_slope <= steepest else replace(self, beyond=steepest)

    def reluctivity(self, m: Floats) -> Floats:
        """H / M at magnetisations m >= 0, dimensionless; its limit at 0."""
        if self.straight:
            return np.full_like(m, self.field[1] / self.magnetisation[1])
        floor = 1e-9 * self.magnetisation[1]
        return np.asarray(self.applied(np.maximum(m, floor)) / np.maximum(m, floor))

    def applied(self, m: Floats) -> Floats:
        """H, A/m, at magnetisations m >= 0."""
        if self.straight:
            return np.asarray(m * (self.field[1] / self.magnetisation[1]))
        last = self.magnetisation[-1]
        beyond = np.maximum(m - last, 0.0)
        return np.asarray(self._cubic.value(np.minimum(m, last)) + self._last_slope * beyond)

    def slope(self, m: Floats) -> Floats:
        """dH / dM at magnetisations m >= 0."""
        if self.straight:
            return np.full_like(m, self.field[1] / self.magnetisation[1])
        inside = m < self.magnetisation[-1]
        return np.where(inside, self._cubic.slope(np.minimum(m, self.magnetisation[-1])), self._last_slope)

    def energy(self, m: Floats) -> Floats:
        """Integral of H over M, A2/m2."""
        if self.straight:
            return np.asarray(0.5 * m**2 * (self.field[1] / self.magnetisation[1]))
        last = self.magnetisation[-1]
        beyond = np.maximum(m - last, 0.0)
        inside = self._cubic.integral(np.minimum(m, last)) + self.field[-1] * beyond
        return np.asarray(inside + 0.5 * self._last_slope * beyond**2)

    @property
    def _last_slope(self) -> float:
        if self.beyond is not None:
            return self.beyond
        return float((self.field[-1] - self.field[-2]) / (self.magnetisation[-1] - self.magnetisation[-2]))

    def saturated(self, m: Floats) -> Any:
        """Whether each magnetisation is on the curve's flat part."""
        if self.straight:
            return np.zeros(np.shape(m), dtype=bool)
        along = np.linspace(0.0, self.magnetisation[-1], 400)
        slopes = self.slope(along)
        steepest = int(np.argmin(slopes))
        return (m > along[steepest]) & (slopes[steepest] < SATURATED_SHARE * self.slope(m))


def straight_curve(permeability: float) -> Curve:
    """Constant relative permeability > 1.

    >>> float(straight_curve(101.0).reluctivity(np.array([5.0]))[0])
    0.01
    """
    if not permeability > 1.0:
        raise ValueError(f"a soft core's relative permeability must be over 1, not {permeability}")
    return Curve(magnetisation=np.array([0.0, permeability - 1.0]), field=np.array([0.0, 1.0]))


def saturating_curve(permeability: float, saturation: float) -> Curve:
    """Constant permeability at first, levelling at the saturation polarisation (T).

    M = chi H / sqrt(1 + (chi H / Ms)^2): a rounded knee for materials known by two numbers only.
    """
    chi, top = straight_curve(permeability).magnetisation[1], saturation / MU0
    m = top * np.concatenate([np.linspace(0.0, 0.9, 46), 1.0 - np.geomspace(0.09, 1e-4, 30)])
    return Curve(magnetisation=m, field=m / (chi * np.sqrt(1.0 - (m / top) ** 2)))


def curve_from_table(field: Floats | Sequence[float], flux_density: Floats | Sequence[float]) -> Curve:
    """Curve from points of H (A/m) and B (T), the origin added where it is missing.

    Beyond the last point B goes on with slope mu0: the table's last polarisation is the greatest.
    """
    h, b = np.asarray(field, dtype=np.float64), np.asarray(flux_density, dtype=np.float64)
    m = b / MU0 - h
    if len(h) and h[0] != 0.0:
        h, m = np.append(0.0, h), np.append(0.0, m)
    return Curve(magnetisation=m, field=h, beyond=_BEYOND)


def stretched_curve(
    field: Floats | Sequence[float],
    flux_density: Floats | Sequence[float],
    permeability: float,
    saturation: float,
) -> Curve:
    """A table's curve, from 0, with another relative permeability in weak fields and saturation (T).

    The table's permeability in weak fields is that of its first chord, on which half way to the first point
    another is laid, so that the curve starts with it. Its polarisations are stretched to the saturation, the
    fields to the permeability.
    """
    table = curve_from_table(field, flux_density)
    m, h = (np.insert(each, 1, 0.5 * each[1]) for each in (table.magnetisation, table.field))
    taller = saturation / MU0 / m[-1]
    wider = taller * m[1] / h[1] / straight_curve(permeability).magnetisation[1]
    return Curve(magnetisation=taller * m, field=wider * h, beyond=table.beyond)


def by_body(
    curves: Sequence[Curve], body: Indices, quantity: Callable[[Curve, Floats], Floats], m: Floats
) -> Floats:
    """A quantity of each cell's own curve at magnetisation m, of any shape; 0 in cells of no body.

    body: the number of its curve in each cell.
    """
    out = np.zeros_like(m)
    for number, curve in enumerate(curves):
        mine = body == number
        out[mine] = quantity(curve, m[mine])
    return out
