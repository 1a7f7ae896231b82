"""Heat that a network makes and loses at given temperatures, with slopes for Newton's method.

A stack of networks (network.together) takes rises (e, n) and a drive for each; its arrays have that axis too.
"""

from collections.abc import Callable, Sequence
from dataclasses import fields
from functools import lru_cache
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.constants import STEFAN_BOLTZMANN
from coilgen.physics.heat.body import ZERO_CELSIUS, Supply
from coilgen.physics.heat.convection import Shown, film_coefficient
from coilgen.physics.heat.network import Each, Network

Floats = NDArray[np.float64]
Film = Callable[[Floats], tuple[Floats, Floats]]
"""Mean rise of each face over the air (s,) K -> coefficients of convection (s,) W/(m² K) and slopes (s,)."""
Drive = Supply | float | Sequence[Supply | float]
"""A supply or a given mean square of the current, A²; one for each network of a stack."""

_STEP = 1e-2
"""K, of the slope's difference quotient."""
_TABLE_ROOT = 7.0
"""Fourth root of the largest rise in a table, K**0.25."""
_TABLE_CELLS = 1000


class Aired(Protocol):
    """What convection asks of a network of any kind."""

    @property
    def ambient(self) -> Each:
        """K."""

    @property
    def shown(self) -> Shown:
        """What its faces offer to the air."""

    @property
    def convection_factor(self) -> Each:
        """Scale of every coefficient."""

    @property
    def forced_coefficient(self) -> float | None:
        """W/(m² K) instead of natural convection."""


@dataclass(frozen=True, kw_only=True)
class Heat:
    """made and lost (n,) W; squared_current () A², mean; resistance () ohm, of the winding.

    slope (n, n) W/K: of made less lost, by rise; conduction between nodes included.
    """

    made: Floats
    lost: Floats
    squared_current: Floats
    resistance: Floats
    slope: Floats


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
        near = net.ambient + np.array([rise - _STEP, rise, rise + _STEP])
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
    air, factor = np.atleast_2d(net.ambient), np.asarray(net.convection_factor)
    tables = factor[..., None] * np.array(
        [_still_table(_told(net.shown), each) for each in air.ravel().tolist()]
    )
    step, number, column = (
        _TABLE_ROOT / _TABLE_CELLS,
        np.arange(len(air))[:, None],
        np.arange(len(net.shown.free)),
    )
    climb = np.diff(tables, axis=1) / step

    def film(rise: Floats) -> tuple[Floats, Floats]:
        at = np.sqrt(np.sqrt(np.abs(rise)))
        cell = np.minimum((at / step).astype(np.int64), _TABLE_CELLS - 1)
        slope = climb[number, cell, column].reshape(rise.shape)
        steepness = np.sign(rise) / (4 * np.maximum(at, step) ** 3)
        begin = tables[number, cell, column].reshape(rise.shape)
        return begin + slope * (at - cell * step), slope * steepness

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
    each = coefficient * net.convection_factor
    return lambda rise: (np.full(rise.shape, each), np.zeros(rise.shape))


def heat(net: Network, rise: Floats, drive: Drive, film: Film) -> Heat:
    """Heat at rises over the air (n,) K under a drive."""
    coefficient, steepness = film(rise @ net.share_of_face.T)
    films, turns = coefficient @ net.film_area, node_resistance(net, rise)
    total = turns.sum(axis=-1)
    squared, falling = _squared_current(drive, total)
    by_square, grow = turns + net.eddy_resistance, net.resistance_20c * net.temperature_coefficient
    # A rise moves the film of its whole face, and the current of all turns.
    moved = np.append(net.film_area * rise[..., None, :], by_square[..., None, :], axis=-2)
    by = np.append(
        steepness[..., None] * net.share_of_face, (falling[..., None] * grow)[..., None, :], axis=-2
    )
    slope = np.swapaxes(moved, -1, -2) @ -by
    slope -= net.conductance
    diagonal = np.einsum("...ii->...i", slope)
    diagonal += squared[..., None] * grow - films
    diagonal -= 4 * STEFAN_BOLTZMANN * (net.ambient + rise) ** 3 * net.radiating
    return Heat(
        made=squared[..., None] * by_square,
        lost=_lost(net, rise, films),
        squared_current=squared,
        resistance=total,
        slope=slope,
    )


def lost_by_face(net: Network, rise: Floats, film: Film) -> tuple[Floats, Floats]:
    """Convected and radiated heat of each face, (s,) W, at rises (n,) K."""
    coefficient, _ = film(rise @ net.share_of_face.T)
    grey = net.emissivity[:, None] * net.face_area
    return coefficient * (rise @ net.film_area.T), STEFAN_BOLTZMANN * (_radiance(net, rise) @ grey.T)


def residual(net: Network, rise: Floats, balance: Heat) -> Floats:
    """Heat made less conducted away less lost, (n,) W."""
    return _left(net, rise, balance.made, balance.lost)


def heat_left(net: Network, rise: Floats, drive: Drive, film: Film) -> Floats:
    """As `residual` of `heat`, (n,) W, without the slopes that take most of its time."""
    coefficient, _ = film(rise @ net.share_of_face.T)
    return _left(net, rise, heat_made(net, rise, drive)[2], _lost(net, rise, coefficient @ net.film_area))


def heat_made(net: Network, rise: Floats, drive: Drive) -> tuple[Floats, Floats, Floats]:
    """Mean squared current () A², winding's resistance () ohm, heat made (n,) W, at rises (n,) K."""
    turns = node_resistance(net, rise)
    total = turns.sum(axis=-1)
    squared, _ = _squared_current(drive, total)
    return squared, total, squared[..., None] * (turns + net.eddy_resistance)


def _lost(net: Network, rise: Floats, films: Floats) -> Floats:
    """To the air and by radiation, (n,) W; films: convection's coefficient times area, (n,) W/K."""
    return films * rise + STEFAN_BOLTZMANN * net.radiating * _radiance(net, rise)


def _radiance(net: Network, rise: Floats) -> Floats:
    """T^4 - Ta^4, (n,) K^4: not as a difference of fourth powers, in which a small rise would drown."""
    hot = net.ambient + rise
    return np.asarray((hot**2 + net.ambient**2) * (hot + net.ambient) * rise)


def _left(net: Network, rise: Floats, made: Floats, lost: Floats) -> Floats:
    """Conduction knows differences alone: without their mean a good conductor's rises round off less."""
    apart = rise - rise.mean(axis=-1, keepdims=True)
    left: Floats = made - (net.conductance @ apart[..., None])[..., 0] - lost
    return left


def _squared_current(drive: Drive, total: Floats) -> tuple[Floats, Floats]:
    """Mean squares () A², and by how much each falls with the winding's resistance, () A²/ohm."""
    if isinstance(drive, Sequence):
        each = [_squared_current(*one) for one in zip(drive, total, strict=True)]
        return np.array([squared for squared, _ in each]), np.array([falling for _, falling in each])
    if not isinstance(drive, Supply):
        return np.asarray(drive), np.zeros(())
    squared = drive.on_share * drive.through(float(total)) ** 2
    return np.asarray(squared), np.asarray(2 * squared * drive.falling(float(total)))
