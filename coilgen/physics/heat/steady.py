"""Steady temperatures of an assembly under a supply, the supply for a temperature, and thermal runaway."""

import math
from collections.abc import Mapping, Sequence

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
    heat_made,
    heating_resistance,
    lost_by_face,
    node_resistance,
    residual,
)
from coilgen.physics.heat.body import ZERO_CELSIUS, Supply
from coilgen.physics.heat.convection import in_range
from coilgen.physics.heat.lumped import rise_at_constant_current, rise_at_constant_voltage
from coilgen.physics.heat.network import Network, together

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
    and radiated W by face; in_range: whether every correlation is used where it is good.
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
    top = ceiling + ZERO_CELSIUS - net.ambient
    even = np.full(net.capacity.shape, _guess(net, supply, top))
    rise = _settled(together([net]), [supply], even[None])[0]
    if rise is None or rise[net.coil].max() > top:
        begins = state_at_peak(net, ceiling, supply.on_share)
        if begins.current <= supply.through(begins.resistance):
            return NoSteadyState(ceiling=ceiling, current=begins.current, voltage=begins.voltage)
        rise = _sought(net, supply, top)
    return _steady(net, rise, supply, supply.on_share)


def steady_states(
    nets: Sequence[Network], supplies: Sequence[Supply], near: Steady, ceiling: float = COPPER_MELTS
) -> list[Steady | NoSteadyState]:
    """The same of networks that stack, each under its supply, sought all at once from a state nearby."""
    begin = np.array([near.rise for _ in nets])
    found: list[Steady | NoSteadyState] = []
    for net, supply, rise in zip(nets, supplies, _settled(together(nets), supplies, begin), strict=True):
        if rise is None or rise[net.coil].max() > ceiling + ZERO_CELSIUS - net.ambient:
            found.append(steady_state(net, supply, ceiling))
        else:
            found.append(_steady(net, rise, supply, supply.on_share))
    return found


def state_at_peak(net: Network, peak: float, on_share: float = 1.0) -> Steady:
    """The steady state whose hottest turn is at a temperature, degC, with the current and voltage it takes.

    Its current is the largest that a limit allows. ValueError when the air is not colder than the peak.
    """
    return _steady(net, *_at_peak(net, _rise_at(net, peak)), on_share)


def states_at_peak(nets: Sequence[Network], peak: float, near: Steady) -> list[Steady]:
    """The same of networks that stack, under supplies that are on for good, sought from a state nearby."""
    targets = np.array([_rise_at(net, peak) for net in nets])
    share = targets / near.rise[nets[0].coil].max()
    found = _peaked(together(nets), targets, share[:, None] * near.rise, share * near.current**2)
    return [
        _steady(net, *each, 1.0) if each is not None else state_at_peak(net, peak)
        for net, each in zip(nets, found, strict=True)
    ]


def _rise_at(net: Network, peak: float) -> float:
    """Over the air, K, at a temperature, degC."""
    rise = float(peak + ZERO_CELSIUS - net.ambient)
    if not rise > 0:
        raise ValueError(f"the air is no colder than {peak} degC")
    return rise


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
    """What holds at rises (n,) K under a supply that is on, or off (None), wherever it leads from there."""
    return _steady(net, rise, supply if supply is not None else 0.0, 1.0)


def _settled(nets: Network, supplies: Sequence[Supply], begin: Floats) -> list[Floats | None]:
    """Rises (n,) K of each of a stack from (e, n) by Newton's method; None for what is not found over the
    air's own."""
    found: list[Floats | None] = [None] * len(begin)
    sought, rise = list(range(len(begin))), begin.copy()
    for _ in range(_STEPS):
        balance = heat(nets, rise, [supplies[number] for number in sought], exact_film(nets))
        left = residual(nets, rise, balance)
        done = _done(nets, rise, left, balance)
        for at in np.flatnonzero(done):
            found[sought[at]] = rise[at] if rise[at].min() > -1e-6 else None
        if done.all():
            break
        rise = rise + _cut(_solution(balance.slope, -left), rise)
        if done.any():
            nets, rise = nets.those(~done), rise[~done]
            sought = [sought[at] for at in np.flatnonzero(~done)]
    return found


def _sought(net: Network, supply: Supply, top: float) -> Floats:
    """Rises where Newton's method went astray: the drive grows with the peak, which is sought."""

    def excess(target: float) -> float:
        state = _steady(net, *_at_peak(net, target), supply.on_share)
        return math.log(state.current / supply.through(state.resistance))

    target = root_between(excess, 1e-6 * top, top, within=1e-9 * top)
    found = _settled(together([net]), [supply], _at_peak(net, target)[0][None])[0]
    if found is None:
        raise ArithmeticError("no steady state found")
    return found


def _at_peak(net: Network, target: float) -> tuple[Floats, float]:
    """Rises (n,) K and mean squared current A² that bring the hottest turn to a rise, K."""
    even = np.full(len(net.capacity), target)
    lost = -float(heat_left(net, even, 0.0, exact_film(net)).sum())
    squared = lost / float(heating_resistance(net, even).sum())
    nets, targets = together([net]), np.array([target])
    found = _peaked(nets, targets, even[None], np.array([squared]))[0]
    if found is None and target > _LEAST_TARGET:
        rise, squared = _at_peak(net, target * _SHORTER)
        found = _peaked(nets, targets, rise[None] / _SHORTER, np.array([squared]) / _SHORTER)[0]
    if found is None:
        raise ArithmeticError(f"no steady state found with the hottest turn {target} K over the air")
    return found


def _peaked(
    nets: Network, targets: Floats, rise: Floats, squared: Floats
) -> list[tuple[Floats, float] | None]:
    """The same of each of a stack by Newton's method from a start (e, n) K and (e,) A²; None for what does
    not get there."""
    found: list[tuple[Floats, float] | None] = [None] * len(targets)
    sought = np.arange(len(targets))
    for _ in range(_STEPS):
        balance = heat(nets, rise, squared.tolist(), exact_film(nets))
        left, turns = residual(nets, rise, balance), np.where(nets.coil, rise, -np.inf)
        hottest, short = turns.argmax(axis=1), targets - turns.max(axis=1)
        done = _done(nets, rise, left, balance) & (np.abs(short) < 1e-9 * targets)
        for at in np.flatnonzero(done):
            found[sought[at]] = (rise[at], float(squared[at])) if rise[at].min() > -1e-6 else None
        if done.all():
            break
        step = _bordered(balance.slope, heating_resistance(nets, rise), hottest, -left, short)
        rise = rise + _cut(step[:, :-1], rise)
        squared = np.maximum(squared + step[:, -1], squared / 10)
        if done.any():
            rise, squared, targets, sought = (each[~done] for each in (rise, squared, targets, sought))
            nets = nets.those(~done)
    return found


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


def _done(nets: Network, rise: Floats, left: Floats, balance: Heat) -> NDArray[np.bool_]:
    """Of each, whether what is left over is small against the heat made, or is what rounding leaves, (e,)."""
    conducted = 2 * (np.einsum("eii->ei", nets.conductance) * np.abs(rise)).sum(axis=1)
    allowed = _TOLERANCE * balance.made.sum(axis=1) + _ROUNDING * conducted
    return np.asarray(np.abs(left).sum(axis=1) <= allowed)


def _cut(step: Floats, rise: Floats) -> Floats:
    """Steps (…, n) as long as they may be."""
    longest = np.maximum(_LONGEST_STEP, np.abs(rise).max(axis=-1, keepdims=True))
    share: Floats = longest / np.maximum(np.abs(step).max(axis=-1, keepdims=True), longest)
    return step * share


def _bordered(
    slope: Floats, by_squared: Floats, hottest: NDArray[np.int64], left: Floats, short: Floats
) -> Floats:
    """Newton steps (e, n + 1) of rises and squared current that take the hottest nodes to their targets."""
    number, count = left.shape
    matrix = np.zeros((number, count + 1, count + 1))
    matrix[:, :count, :count], matrix[:, :count, count] = slope, by_squared
    matrix[np.arange(number), count, hottest] = 1.0
    return _solution(matrix, np.column_stack([left, short]))


def _solution(matrix: Floats, right: Floats) -> Floats:
    return np.asarray(np.linalg.solve(matrix, right[..., None])[..., 0], dtype=np.float64)


def _steady(net: Network, rise: Floats, drive: Supply | float, on_share: float) -> Steady:
    celsius = net.ambient - ZERO_CELSIUS + rise
    squared, resistance, made = heat_made(net, rise, drive)
    convected, radiated = lost_by_face(net, rise, exact_film(net))
    current = math.sqrt(squared / on_share)
    faces = net.share_of_face @ rise + net.ambient
    return Steady(
        rise=rise,
        coil_mean=float(np.average(celsius, weights=net.resistance_20c)),
        coil_peak=float(celsius[net.coil].max()),
        part_mean={name: float(_mean(net, celsius, at)) for name, at in net.parts.items()},
        resistance=float(resistance),
        current=current,
        voltage=current * float(resistance),
        power=float(made.sum()),
        convected=dict(zip(net.faces, convected.tolist(), strict=True)),
        radiated=dict(zip(net.faces, radiated.tolist(), strict=True)),
        in_range=net.forced_coefficient is not None or in_range(net.shown, faces, net.ambient),
    )


def _mean(net: Network, celsius: Floats, at: NDArray[np.int64]) -> float:
    """Over a part, weighted by heat capacity."""
    return float(np.average(celsius[at], weights=net.capacity[at]))
