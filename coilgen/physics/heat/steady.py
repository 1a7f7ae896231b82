"""Steady temperatures of an assembly under a supply, the supply for a temperature, and thermal runaway."""

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.bracketed_root import root_between
from coilgen.physics.heat.balance import (
    Film,
    Heat,
    exact_film,
    heat,
    heat_left,
    heating_resistance,
    node_resistance,
    residual,
)
from coilgen.physics.heat.body import ZERO_CELSIUS, Supply
from coilgen.physics.heat.convection import in_range
from coilgen.physics.heat.lumped import rise_at_constant_current, rise_at_constant_voltage
from coilgen.physics.heat.network import Network

Floats = NDArray[np.float64]

COPPER_MELTS = 1084.62
"""degC (International Temperature Scale of 1990; Preston-Thomas, Metrologia 27, 1990)."""

_LONGEST_STEP = 200.0
"""K; a Newton step is cut to it, or to the largest rise where that is more."""
_LARGEST_GUESS = 800.0
"""K."""
_LEAST_TARGET, _SHORTER = 1.0, 0.7
"""A peak that Newton's method misses is approached from this share of its rise, down to this rise in K."""
_STEPS = 60
_TOLERANCE = 1e-11
"""Of the heat made, left over in all nodes together."""
_BESIDE = 1e-8
"""Of the heat made in nodes beside held ones, left over in all."""
_ROUNDING = 16 * np.finfo(np.float64).eps
"""Of the heat conducted: what a solution's rounding may leave, as in a thick plate of copper."""
_STILL_AIR = 15.0
"""W/(m² K), convection and radiation together, for the first guess alone."""


@dataclass(frozen=True, kw_only=True)
class Steady:
    """A steady state; temperatures in degC.

    rise (n,) K of the nodes over the air; coil_mean: that which gives the resistance; coil_peak: of the
    hottest turn; part_mean by part ("board", "top", "bottom", "core"); resistance ohm, of the hot winding;
    current A while on, voltage V across that resistance; power W, mean, eddy currents' included; convected
    and radiated W by face; imbalance: heat made less lost, over heat made; in_range: whether every
    correlation is used where it is good.
    """

    rise: Floats
    coil_mean: float
    coil_peak: float
    part_mean: Mapping[str, float]
    resistance: float
    current: float
    voltage: float
    power: float
    convected: Mapping[str, float]
    radiated: Mapping[str, float]
    imbalance: float
    in_range: bool


@dataclass(frozen=True, kw_only=True)
class NoSteadyState:
    """The coil would pass the ceiling, degC; from these on: current A, voltage V while on."""

    ceiling: float
    current: float
    voltage: float


def steady_state(net: Network, supply: Supply, ceiling: float = COPPER_MELTS) -> Steady | NoSteadyState:
    """Where the coil settles under a supply; NoSteadyState when that is above the ceiling, degC, or nowhere.

    At constant voltage a coil of copper always settles; at constant current its growing resistance feeds the
    heat, and what the air takes must grow faster.
    """
    film = exact_film(net)
    top = ceiling + ZERO_CELSIUS - net.ambient
    found = _settled(net, supply, film, np.full(len(net.capacity), _guess(net, supply, top)))
    if found is None or found[0][net.coil].max() > top:
        begins = state_at_peak(net, ceiling, supply.on_share)
        if begins.current <= supply.through(begins.resistance):
            return NoSteadyState(ceiling=ceiling, current=begins.current, voltage=begins.voltage)
        found = _sought(net, supply, film, top)
    return _steady(net, *found, supply.on_share)


def state_at_peak(net: Network, peak: float, on_share: float = 1.0) -> Steady:
    """The steady state whose hottest turn is at a temperature, degC, with the current and voltage it takes.

    Its current is the largest that a limit allows. ValueError when the air is not colder than the peak.
    """
    target = peak + ZERO_CELSIUS - net.ambient
    if not target > 0:
        raise ValueError(f"the air is no colder than {peak} degC")
    film = exact_film(net)
    rise, squared = _at_peak(net, film, target)
    return _steady(net, rise, heat(net, rise, squared, film), on_share)


def beside_held(net: Network, held: Floats, squared: float) -> Floats | None:
    """Rises of all nodes (n,) K at a mean squared current, A², where the first ones are held at rises (k,) K.

    None where the rest settles nowhere under copper's melting point. Heat grows as a straight line with the
    rise, what the air takes more steeply: a state there is is met from above, where from the cold, whose air
    takes less than the growing resistance adds, steps lead away from it.
    """
    film = exact_film(net)
    top = COPPER_MELTS + ZERO_CELSIUS - net.ambient
    for start in (float(held.mean()), top):
        found = _beside(net, held, squared, film, start)
        if found is not None:
            return found if found.max() <= top else None
    return None


def _beside(net: Network, held: Floats, squared: float, film: Film, start: float) -> Floats | None:
    """The same by Newton's method from a rise, K, of all that is not held; None where it goes astray."""
    free = slice(len(held), None)
    rise = np.concatenate([held, np.full(len(net.capacity) - len(held), start)])
    for _ in range(_STEPS):
        balance = heat(net, rise, squared, film)
        left = residual(net, rise, balance)[free]
        if np.abs(left).sum() <= _BESIDE * (float(balance.made.sum()) + 1e-12):
            return rise if rise.min() > -1e-6 else None
        rise[free] += _cut(_solution(balance.slope[free, free], -left), rise[free])
    return None


def alone(net: Network, power: float) -> float:
    """Rise over the air, K, of a body by itself (network.free_body) that makes a heat, W."""
    film = exact_film(net)

    def excess(rise: float) -> float:
        each = np.array([rise])
        return -float(heat_left(net, each, power, film).sum())

    most = _LONGEST_STEP
    while excess(most) < 0.0:
        most *= 2.0
    return root_between(excess, 0.0, most, within=1e-9 * most) if power > 0.0 else 0.0


def snapshot(net: Network, rise: Floats, supply: Supply | None) -> Steady:
    """What holds at rises (n,) K under a supply that is on, or off (None), wherever it leads from there.

    Its imbalance is what still warms or cools.
    """
    drive = supply if supply is not None else 0.0
    return _steady(net, rise, heat(net, rise, drive, exact_film(net)), 1.0)


def _settled(net: Network, supply: Supply, film: Film, start: Floats) -> tuple[Floats, Heat] | None:
    """Rises (n,) K and the heat there by Newton's method, or None when none is found over the air's own."""
    rise = np.array(start)
    for _ in range(_STEPS):
        balance = heat(net, rise, supply, film)
        left = residual(net, rise, balance)
        if _done(net, rise, left, balance):
            return (rise, balance) if rise.min() > -1e-6 else None
        rise += _cut(_solution(balance.slope, -left), rise)
    return None


def _sought(net: Network, supply: Supply, film: Film, top: float) -> tuple[Floats, Heat]:
    """Rises and heat where Newton's method went astray: the drive grows with the peak, which is sought."""

    def excess(target: float) -> float:
        rise, squared = _at_peak(net, film, target)
        state = _steady(net, rise, heat(net, rise, squared, film), supply.on_share)
        return math.log(state.current / supply.through(state.resistance))

    target = root_between(excess, 1e-6 * top, top, within=1e-9 * top)
    found = _settled(net, supply, film, _at_peak(net, film, target)[0])
    if found is None:
        raise ArithmeticError("no steady state found")
    return found


def _at_peak(net: Network, film: Film, target: float) -> tuple[Floats, float]:
    """Rises (n,) K and mean squared current A² that bring the hottest turn to a rise, K."""
    even = np.full(len(net.capacity), target)
    lost = -float(heat_left(net, even, 0.0, film).sum())
    found = _peaked(net, film, target, even, lost / float(heating_resistance(net, even).sum()))
    if found is None and target > _LEAST_TARGET:
        rise, squared = _at_peak(net, film, target * _SHORTER)
        found = _peaked(net, film, target, rise / _SHORTER, squared / _SHORTER)
    if found is None:
        raise ArithmeticError(f"no steady state found with the hottest turn {target} K over the air")
    return found


def _peaked(
    net: Network, film: Film, target: float, rise: Floats, squared: float
) -> tuple[Floats, float] | None:
    """The same by Newton's method from a start, or None when it does not get there."""
    for _ in range(_STEPS):
        balance = heat(net, rise, squared, film)
        left, hottest = residual(net, rise, balance), int(np.argmax(np.where(net.coil, rise, -np.inf)))
        short = target - rise[hottest]
        if _done(net, rise, left, balance) and abs(short) < 1e-9 * target:
            return (rise, squared) if rise.min() > -1e-6 else None
        step = _bordered(balance.slope, heating_resistance(net, rise), hottest, -left, short)
        rise, squared = rise + _cut(step[:-1], rise), max(squared + step[-1], squared / 10)
    return None


def _guess(net: Network, supply: Supply, top: float) -> float:
    """Rise of a body of one temperature, K, held under a largest one."""
    cold = float(node_resistance(net, np.zeros(len(net.capacity))).sum())
    conductance, share = _STILL_AIR * float(net.face_area.sum()), math.sqrt(supply.on_share)
    alpha = net.temperature_coefficient * float(net.resistance_20c.sum()) / cold
    rises = [_LARGEST_GUESS, top]
    if supply.voltage is not None:
        rises.append(rise_at_constant_voltage(supply.voltage * share, cold, conductance, alpha))
    held = [current for current in (supply.current, supply.current_limit) if current is not None]
    rises += [rise_at_constant_current(current * share, cold, conductance, alpha) for current in held]
    return min(rises)


def _done(net: Network, rise: Floats, left: Floats, balance: Heat) -> bool:
    """Whether what is left over is small against the heat made, or is what the rises' rounding leaves."""
    conducted = float((np.abs(net.conductance) @ np.abs(rise)).sum())
    allowed = _TOLERANCE * float(balance.made.sum()) + _ROUNDING * conducted
    return bool(np.abs(left).sum() <= allowed)


def _cut(step: Floats, rise: Floats) -> Floats:
    longest = max(_LONGEST_STEP, float(np.abs(rise).max()))
    return step * min(1.0, longest / max(float(np.abs(step).max()), longest))


def _bordered(slope: Floats, by_squared: Floats, hottest: int, left: Floats, short: float) -> Floats:
    """Newton step of the rises and the squared current that takes the hottest node to its target."""
    count = len(left)
    matrix = np.zeros((count + 1, count + 1))
    matrix[:count, :count], matrix[:count, count], matrix[count, hottest] = slope, by_squared, 1.0
    return _solution(matrix, np.append(left, short))


def _solution(matrix: Floats, right: Floats) -> Floats:
    return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)


def _steady(net: Network, rise: Floats, balance: Heat, on_share: float) -> Steady:
    celsius = net.ambient - ZERO_CELSIUS + rise
    power = float(balance.made.sum())
    lost = float(balance.convected.sum() + balance.radiated.sum())
    current = math.sqrt(balance.squared_current / on_share)
    faces = net.face_area @ rise / net.face_area.sum(axis=1) + net.ambient
    return Steady(
        rise=rise,
        coil_mean=float(np.average(celsius, weights=net.resistance_20c)),
        coil_peak=float(celsius[net.coil].max()),
        part_mean={name: float(_mean(net, celsius, at)) for name, at in net.parts.items()},
        resistance=balance.resistance,
        current=current,
        voltage=current * balance.resistance,
        power=power,
        convected=dict(zip(net.faces, balance.convected.sum(axis=1).tolist(), strict=True)),
        radiated=dict(zip(net.faces, balance.radiated.sum(axis=1).tolist(), strict=True)),
        imbalance=(power - lost) / power if power else 0.0,
        in_range=net.forced_coefficient is not None or in_range(net.shown, faces, net.ambient),
    )


def _mean(net: Network, celsius: Floats, at: NDArray[np.int64]) -> float:
    """Over a part, weighted by heat capacity."""
    return float(np.average(celsius[at], weights=net.capacity[at]))
