"""A plate's heat in few modes: shapes of warming from the shortest time asked for to the settled state.

The shapes are the answers of the linearised plate to the heat of each winding at complex frequencies spaced
over all time constants that matter (rational Krylov subspaces; Ruhe, Linear Algebra and its Applications 58,
1984), with the heat itself for the first moment and the settled state for the last. The plate is projected
on them (Galerkin); its radiation, films and resistances stay nonlinear.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.constants import STEFAN_BOLTZMANN
from coilgen.physics.heat.balance import Film
from coilgen.physics.heat.body import ZERO_CELSIUS
from coilgen.physics.heat.plate.balance import squared_currents
from coilgen.physics.heat.plate.body import Circuit
from coilgen.physics.heat.plate.network import PlateNetwork
from coilgen.physics.heat.plate.solver import factors

Floats = NDArray[np.float64]

_SPACING = 5.0
"""Of one frequency over the next."""
_ALIKE = 1e-7
"""Of the strongest shape: what is left of a shape that the others tell already."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Modes:
    """shape (n, r): columns whose heat capacities are 1 J/K and that share none; all by mode below.

    conductance (r, r) W/K; film (s, r, r) m² and face_mean (s, r); heat_cold (w, r) and heat_grown (w, r, r):
    of a unit of mean squared current, without a rise and for it; resistance_cold (w,), resistance_grown
    (w, r); mean_rise (w, r): of each winding; radiating (m, r): rises of the nodes that radiate, radiance
    (m,) W/K⁴; turns: for each winding the rises of its copper, (k, r).
    """

    shape: Floats
    capacity: Floats
    conductance: Floats
    film: Floats
    face_mean: Floats
    heat_cold: Floats
    heat_grown: Floats
    resistance_cold: Floats
    resistance_grown: Floats
    mean_rise: Floats
    radiating: Floats
    radiance: Floats
    turns: tuple[Floats, ...]
    ambient: float

    def of(self, rise: Floats) -> Floats:
        """What the modes hold of rises (n,) K, (r,)."""
        return self.shape.T @ (self.capacity * rise)

    def resistance(self, state: Floats) -> Floats:
        """Of each winding at states (…, r), (…, w) ohm."""
        found: Floats = self.resistance_cold + state @ self.resistance_grown.T
        return found

    def hottest(self, state: Floats) -> Floats:
        """Largest rise of each winding's copper at states (…, r), (…, w) K."""
        return np.stack([(state @ turns.T).max(axis=-1) for turns in self.turns], axis=-1)


def modes(
    net: PlateNetwork, film: Film, about: Floats, shortest: float, longest: float, *more: Floats
) -> Modes:
    """Modes of a plate for times from the shortest to the longest, s.

    about (n,) K: the settled rises, or others about which it is linearised; more: further rises (n,) K that
    the modes shall hold exactly.
    """
    from scipy.sparse import diags_array

    hot, shown = net.ambient + about, net.face_area.sum(axis=1)
    coefficient, _ = film(net.face_area @ about / shown)
    greys = net.emissivity @ net.face_area
    lost = coefficient @ net.film_area + 4 * STEFAN_BOLTZMANN * hot**3 * greys
    conduction = net.conductance + diags_array(lost)
    heats = net.resistance_20c.toarray().T
    shapes = [heats / net.capacity[:, None], *(rise[:, None] for rise in (about, *more) if rise.any())]
    for rate in np.geomspace(1 / longest, 1 / shortest, _count(longest / shortest)):
        solved = factors(conduction + rate * diags_array(net.capacity), net.order)
        shapes.append(solved(heats))
    return _projected(net, _independent(np.column_stack(shapes), net.capacity), greys)


def _count(span: float) -> int:
    return 1 + max(1, int(np.ceil(np.log(span) / np.log(_SPACING))))


def _independent(shapes: Floats, capacity: Floats) -> Floats:
    """Shapes that share no heat, out of all: those that the others tell fall away."""
    weighted = np.sqrt(capacity)[:, None] * shapes
    left, strength, _ = np.linalg.svd(weighted / np.linalg.norm(weighted, axis=0), full_matrices=False)
    independent: Floats = left[:, strength > _ALIKE * strength[0]] / np.sqrt(capacity)[:, None]
    return independent


def _projected(net: PlateNetwork, shape: Floats, greys: Floats) -> Modes:
    at = net.ambient - ZERO_CELSIUS - 20
    cold = 1 + net.temperature_coefficient * at
    ohms = net.resistance_20c
    radiates = greys > 0
    return Modes(
        shape=shape,
        capacity=net.capacity,
        conductance=shape.T @ (net.conductance @ shape),
        film=_weighted(net.film_area, shape),
        face_mean=(net.face_area @ shape) / net.face_area.sum(axis=1)[:, None],
        heat_cold=cold * (ohms @ shape) + net.eddy_heat @ shape,
        heat_grown=net.temperature_coefficient * _weighted(ohms, shape),
        resistance_cold=cold * ohms.sum(axis=1),
        resistance_grown=net.temperature_coefficient * (ohms @ shape),
        mean_rise=(ohms @ shape) / ohms.sum(axis=1)[:, None],
        radiating=shape[radiates],
        radiance=STEFAN_BOLTZMANN * greys[radiates],
        turns=tuple(shape[nodes] for nodes in net.turns),
        ambient=net.ambient,
    )


def _weighted(weights: Any, shape: Floats) -> Floats:
    """Each row's weights (k, n) between the modes, (k, r, r)."""
    rows = []
    for number in range(weights.shape[0]):
        row = weights[[number]].tocoo()
        part = shape[row.col]
        rows.append(part.T @ (row.data[:, None] * part))
    return np.stack(rows)


def flow(
    model: Modes, state: Floats, circuits: Sequence[Circuit], film: Film, *, sloped: bool = True
) -> tuple[Floats, Floats]:
    """Heat that stays in each mode (r,), W, and its slope (r, r), W/K, or, unless asked for, nothing."""
    resistance = model.resistance(state)
    squared, falling = squared_currents(circuits, resistance)
    coefficient, steepness = film(model.face_mean @ state)
    unit = model.heat_cold + model.heat_grown @ state
    linear = np.tensordot(squared, model.heat_grown, 1) - model.conductance
    linear -= np.tensordot(coefficient, model.film, 1)
    rise = model.radiating @ state
    hot = model.ambient + rise
    black = model.radiance * (hot**2 + model.ambient**2) * (hot + model.ambient) * rise
    flowing = squared @ model.heat_cold + linear @ state - black @ model.radiating
    if not sloped:
        return flowing, np.empty((0, 0))
    slope = linear - unit.T @ (falling @ model.resistance_grown)
    slope -= (model.film @ state).T @ (steepness[:, None] * model.face_mean)
    slope -= model.radiating.T @ ((4 * model.radiance * hot**3)[:, None] * model.radiating)
    return flowing, slope
