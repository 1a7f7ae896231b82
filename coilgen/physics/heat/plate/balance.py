"""Heat that a plate makes and loses at given temperatures, with slopes for Newton's method."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.constants import STEFAN_BOLTZMANN
from coilgen.physics.heat.balance import Film
from coilgen.physics.heat.body import ZERO_CELSIUS
from coilgen.physics.heat.plate.body import Circuit
from coilgen.physics.heat.plate.network import PlateNetwork

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateHeat:
    """made, lost (n,) W; convected, radiated (s,) W; squared_current (w,) A², mean; resistance (w,) ohm.

    slope: of made less lost, by rise.
    """

    made: Floats
    lost: Floats
    convected: Floats
    radiated: Floats
    squared_current: Floats
    resistance: Floats
    slope: "Slope"


@dataclass(frozen=True, kw_only=True, eq=False)
class Slope:
    """A sparse symmetric part (n, n) W/K, less gain (n, k) times look (k, n), sparse, of few columns.

    These are what the mean of a face changes in its film, and a winding's resistance in its current. order:
    of the nodes (n,), as in PlateNetwork.
    """

    near: Any
    gain: Any
    look: Any
    order: Indices

    def times(self, step: Floats) -> Floats:
        """The slope times a step (n,)."""
        found: Floats = self.near @ step - self.gain @ (self.look @ step)
        return found


def winding_resistance(net: PlateNetwork, rise: Floats) -> Floats:
    """Of each winding at rises (n,) K, (w,) ohm."""
    found: Floats = net.resistance_20c @ _growth(net, rise)
    return found


def _growth(net: PlateNetwork, rise: Floats) -> Floats:
    """Copper's resistance over that at 20 degC, (n,)."""
    growth: Floats = 1 + net.temperature_coefficient * (net.ambient + rise - ZERO_CELSIUS - 20)
    return growth


def heat(net: PlateNetwork, rise: Floats, circuits: Sequence[Circuit], film: Film) -> PlateHeat:
    """Heat at rises over the air (n,) K under drives; windings that no circuit names carry no current."""
    from scipy.sparse import csr_array, vstack

    coefficient, steepness = film(net.face_area @ rise / net.shown_area)
    hot = net.ambient + rise
    grey = net.emissivity[:, None] * net.face_area
    # Not as a difference of fourth powers, in which a small rise would drown.
    black = STEFAN_BOLTZMANN * (hot**2 + net.ambient**2) * (hot + net.ambient) * rise
    films, greys = coefficient @ net.film_area, net.emissivity @ net.face_area
    resistance = winding_resistance(net, rise)
    squared, falling = squared_currents(circuits, resistance)
    each = squared @ net.resistance_20c
    near = net.led_away.copy()
    near.data[net.diagonal] += each * net.temperature_coefficient - films
    near.data[net.diagonal] -= 4 * STEFAN_BOLTZMANN * hot**3 * greys
    grown = _by_column(net.resistance_20c, _growth(net, rise)) + net.eddy_heat
    look = net.temperature_coefficient * (csr_array(falling) @ net.resistance_20c)
    seen = _by_row(net.face_area, steepness / net.shown_area)
    return PlateHeat(
        made=each * _growth(net, rise) + squared @ net.eddy_heat,
        lost=films * rise + greys * black,
        convected=coefficient * (net.film_area @ rise),
        radiated=grey @ black,
        squared_current=squared,
        resistance=resistance,
        slope=Slope(
            near=near,
            gain=vstack([_by_column(net.film_area, rise), grown]).T,
            look=vstack([seen, look]),
            order=net.order,
        ),
    )


def _by_column(matrix: Any, factor: Floats) -> Any:
    """A sparse matrix by rows, each column times a factor of its own."""
    found = matrix.copy()
    found.data *= factor[matrix.indices]
    return found


def _by_row(matrix: Any, factor: Floats) -> Any:
    """The same with factors of rows."""
    found = matrix.copy()
    found.data *= np.repeat(factor, np.diff(matrix.indptr))
    return found


def residual(net: PlateNetwork, rise: Floats, balance: PlateHeat) -> Floats:
    """Heat made less conducted away less lost, (n,) W."""
    # Conduction knows differences alone: without their mean a good conductor's rises round off less.
    left: Floats = balance.made - net.conductance @ (rise - rise.mean()) - balance.lost
    return left


def squared_currents(circuits: Sequence[Circuit], resistance: Floats) -> tuple[Floats, Floats]:
    """Mean squares (w,) A², and by how much each falls with every winding's resistance, (w, w) A²/ohm."""
    squared, falling = np.zeros(len(resistance)), np.zeros((len(resistance), len(resistance)))
    for circuit in circuits:
        of, supply = list(circuit.windings), circuit.supply
        total = float(resistance[of].sum())
        squared[of] = supply.on_share * supply.through(total) ** 2
        if not supply.holds_current(total):
            falling[np.ix_(of, of)] = 2 * squared[of[0]] * supply.falling(total)
    return squared, falling


def scaled(circuits: Sequence[Circuit], factor: float) -> tuple[Circuit, ...]:
    """All drives times a factor."""
    return tuple(
        Circuit(supply=circuit.supply.scaled(factor), windings=circuit.windings) for circuit in circuits
    )
