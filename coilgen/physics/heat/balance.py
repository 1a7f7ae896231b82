"""Heat that a network makes and loses at given temperatures, with slopes for Newton's method."""

from collections.abc import Callable
from dataclasses import fields
from functools import lru_cache
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.body import ZERO_CELSIUS, Supply
from coilgen.physics.heat.convection import Shown, film_coefficient
from coilgen.physics.heat.network import Network
from coilgen.physics.heat.radiation import STEFAN_BOLTZMANN

Floats = NDArray[np.float64]
Film = Callable[[Floats], tuple[Floats, Floats]]
"""Mean rise of each face over the air (s,) K -> coefficients of convection (s,) W/(m² K) and slopes (s,)."""

_STEP = 1e-2
"""K, of the slope's difference quotient."""
_TABLE_ROOT = 7.0
"""Fourth root of the largest rise in a table, K**0.25."""
_TABLE_CELLS = 1000


class Aired(Protocol):
    """What convection asks of a network of any kind."""

    @property
    def ambient(self) -> float:
        """K."""

    @property
    def shown(self) -> Shown:
        """What its faces offer to the air."""

    @property
    def convection_factor(self) -> float:
        """Scale of every coefficient."""

    @property
    def forced_coefficient(self) -> float | None:
        """W/(m² K) instead of natural convection."""


@dataclass(frozen=True, kw_only=True)
class Heat:
    """made (n,) W; convected and radiated (s, n) W; squared_current A², mean; resistance ohm, of the winding.

    slope (n, n) W/K: of made less lost, by rise; conduction between nodes included.
    """

    made: Floats
    convected: Floats
    radiated: Floats
    squared_current: float
    resistance: float
    slope: Floats


def resistance(net: Network, rise: Floats) -> float:
    """Of the whole winding, ohm, at rises over the air (n,) K."""
    return float(np.sum(node_resistance(net, rise)))


def node_resistance(net: Network, rise: Floats) -> Floats:
    """Of the turns in each node, (n,) ohm: R20 (1 + alpha (T - 20 degC))."""
    above_20c = net.ambient + rise - ZERO_CELSIUS - 20
    hot: Floats = net.resistance_20c * (1 + net.temperature_coefficient * above_20c)
    return hot


def heating_resistance(net: Network, rise: Floats) -> Floats:
    """What each node makes heat with, (n,) ohm: turns, and metal with eddy currents in it."""
    return np.asarray(node_resistance(net, rise) + net.eddy_resistance)


def exact_film(net: Aired) -> Film:
    """Coefficients straight from the correlations, W/(m² K), with their slopes, W/(m² K²)."""
    forced = _forced_coefficient(net)
    if forced is not None:
        return _forced(net, forced)

    def film(rise: Floats) -> tuple[Floats, Floats]:
        near = net.ambient + rise + np.array([[-_STEP], [0.0], [_STEP]])
        each = net.convection_factor * film_coefficient(net.shown, near, net.ambient)
        return each[1], (each[2] - each[0]) / (2 * _STEP)

    return film


def tabulated_film(net: Aired) -> Film:
    """The same from a table over the rise's fourth root, on which they are nearly straight; within 1e-5.

    For many thousands of looks; rises to 2,400 K.
    """
    forced = _forced_coefficient(net)
    if forced is not None:
        return _forced(net, forced)
    table = net.convection_factor * _still_table(_told(net.shown), net.ambient)
    step, column = _TABLE_ROOT / _TABLE_CELLS, np.arange(len(net.shown.free))
    climb = np.diff(table, axis=0) / step

    def film(rise: Floats) -> tuple[Floats, Floats]:
        at = np.sqrt(np.sqrt(np.abs(rise)))
        cell = np.minimum((at / step).astype(np.int64), _TABLE_CELLS - 1)
        slope = climb[cell, column]
        steepness = np.sign(rise) / (4 * np.maximum(at, step) ** 3)
        return table[cell, column] + slope * (at - cell * step), slope * steepness

    return film


Told = tuple[tuple[float, ...], ...]
"""Columns of what the faces offer to the air, by which tables are kept."""


def _told(shown: Shown) -> Told:
    return tuple(tuple(getattr(shown, each.name).tolist()) for each in fields(shown))


@lru_cache(maxsize=32)
def _still_table(told: Told, ambient: float) -> Floats:
    """Coefficients of convection, (cells + 1, faces): many networks of one coil share them."""
    shown = Shown(**{each.name: np.array(column) for each, column in zip(fields(Shown), told, strict=True)})
    root = np.linspace(0, _TABLE_ROOT, _TABLE_CELLS + 1)
    rise = np.repeat(root[:, None] ** 4, len(told[0]), axis=1)
    return film_coefficient(shown, ambient + rise, ambient)


def _forced_coefficient(net: Aired) -> float | None:
    """W/(m² K); what shows no face to the air needs no correlation."""
    return net.forced_coefficient if len(net.shown.free) else 0.0


def _forced(net: Aired, coefficient: float) -> Film:
    each = np.full(len(net.shown.free), coefficient * net.convection_factor)
    flat = np.zeros(len(net.shown.free))
    return lambda rise: (each, flat)


def heat(net: Network, rise: Floats, supply: Supply | float, film: Film) -> Heat:
    """Heat at rises over the air (n,) K, under a supply or a given mean square of the current, A²."""
    coefficient, steepness = film(net.share_of_face @ rise)
    hot = net.ambient + rise
    radiating = net.emissivity[:, None] * STEFAN_BOLTZMANN * net.face_area
    made, squared, total = _made(net, rise, supply)
    slope = (net.film_area * rise).T @ (-steepness[:, None] * net.share_of_face)
    slope -= net.conductance
    _add_made_slope(slope, net, rise, supply, squared, total)
    slope.flat[:: len(rise) + 1] -= (
        coefficient @ net.film_area + 4 * hot**3 * STEFAN_BOLTZMANN * net.radiating
    )
    return Heat(
        made=made,
        convected=coefficient[:, None] * net.film_area * rise,
        radiated=radiating * _radiance(net, rise),
        squared_current=squared,
        resistance=total,
        slope=slope,
    )


def residual(net: Network, rise: Floats, balance: Heat) -> Floats:
    """Heat made less conducted away less lost, (n,) W."""
    return _left(net, rise, balance.made, balance.convected.sum(axis=0) + balance.radiated.sum(axis=0))


def heat_left(net: Network, rise: Floats, supply: Supply | float, film: Film) -> Floats:
    """As `residual` of `heat`, (n,) W, without the slopes that take most of its time."""
    coefficient, _ = film(net.share_of_face @ rise)
    lost = coefficient @ net.film_area * rise + STEFAN_BOLTZMANN * net.radiating * _radiance(net, rise)
    return _left(net, rise, _made(net, rise, supply)[0], lost)


def _radiance(net: Network, rise: Floats) -> Floats:
    """T^4 - Ta^4, (n,) K^4: not as a difference of fourth powers, in which a small rise would drown."""
    hot = net.ambient + rise
    return np.asarray((hot**2 + net.ambient**2) * (hot + net.ambient) * rise)


def _left(net: Network, rise: Floats, made: Floats, lost: Floats) -> Floats:
    """Conduction knows differences alone: without their mean a good conductor's rises round off less."""
    left: Floats = made - net.conductance @ (rise - rise.mean()) - lost
    return left


def _made(net: Network, rise: Floats, supply: Supply | float) -> tuple[Floats, float, float]:
    """Heat made (n,) W, mean squared current, resistance."""
    turns = node_resistance(net, rise)
    total = float(np.sum(turns))
    squared = _squared_current(supply, total)
    return squared * (turns + net.eddy_resistance), squared, total


def _add_made_slope(
    slope: Floats, net: Network, rise: Floats, supply: Supply | float, squared: float, total: float
) -> None:
    """Adds that of the heat made, by rise, to a slope (n, n) W/K."""
    grow = net.resistance_20c * net.temperature_coefficient
    slope.flat[:: len(rise) + 1] += squared * grow
    if isinstance(supply, Supply) and not supply.holds_current(total):
        slope -= np.outer(heating_resistance(net, rise), 2 * squared * supply.falling(total) * grow)


def _squared_current(supply: Supply | float, total: float) -> float:
    return supply.on_share * supply.through(total) ** 2 if isinstance(supply, Supply) else supply
