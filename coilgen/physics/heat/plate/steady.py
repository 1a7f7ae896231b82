"""Steady temperatures of a plate under its windings' drives, and thermal runaway."""

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.balance import Film, exact_film
from coilgen.physics.heat.body import ZERO_CELSIUS
from coilgen.physics.heat.convection import in_range
from coilgen.physics.heat.plate.balance import (
    PlateHeat,
    heat,
    residual,
    scaled,
    winding_resistance,
)
from coilgen.physics.heat.plate.body import Circuit
from coilgen.physics.heat.plate.network import PlateNetwork
from coilgen.physics.heat.plate.solver import Solver
from coilgen.physics.heat.steady import COPPER_MELTS

Floats = NDArray[np.float64]

_LONGEST_STEP = 200.0
"""K; a Newton step is cut to it, or to the largest rise where that is more."""
_LARGEST_GUESS = 800.0
"""K."""
_STEPS, _SHORTER, _LEAST_TARGET = 60, 0.7, 1.0
"""A peak that Newton's method misses is approached from this share of its rise, down to this rise in K."""
_TOLERANCE = 1e-10
"""Of the heat made, left over in all nodes together."""
_ROUNDING = 16 * np.finfo(np.float64).eps
"""Of the heat conducted: what a solution's rounding may leave."""
_BELOW = 0.02
"""Of the largest rise: what the elements may go under the air's temperature between warm and cold cells."""
_ASTRAY = 0.5
"""Of the largest rise, or of the longest step: a search that goes so far under the air's temperature ends."""
_CLIMB, _LEAST_CLIMB = 0.3, 1e-4
"""Share of the drives' squares by which a climb begins, and by which it gives up."""
_STILL_AIR = 15.0
"""W/(m² K), convection and radiation together, for the first guess alone."""
_WEAK = 1e-3
"""Share of drives that hardly warm anything, for the shape of the warmth."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateSteady:
    """A steady state; temperatures in degC.

    rise (n,) K of the nodes over the air. For each winding, (w,): hottest, of its copper; mean, that which
    gives its resistance; resistance ohm, hot; current A and voltage V while on; squared_current A² and power
    W, mean. copper: hottest of all that carries current, tracks beside turns too. x (nx + 1,), y (ny + 1,) m
    and field (layers, ny + 1, nx + 1): the board's temperatures from the top layer down, NaN beside it.
    part_mean by part ("board", bodies and cores by name); convected and radiated W by face; in_range:
    whether every correlation is used where it is good.
    """

    rise: Floats
    hottest: Floats
    copper: float
    mean: Floats
    resistance: Floats
    current: Floats
    voltage: Floats
    squared_current: Floats
    power: Floats
    x: Floats
    y: Floats
    field: Floats
    part_mean: Mapping[str, float]
    convected: Mapping[str, float]
    radiated: Mapping[str, float]
    in_range: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateRunaway:
    """A winding, by its number, would pass the ceiling, degC; so it does from factor times all drives on.

    current (w,) A and voltage (w,) V there, while on.
    """

    ceiling: float
    winding: int
    factor: float
    current: Floats
    voltage: Floats


def plate_steady_state(
    net: PlateNetwork,
    circuits: Sequence[Circuit],
    ceiling: float = COPPER_MELTS,
    *,
    near: PlateSteady | None = None,
    solver: Solver | None = None,
) -> PlateSteady | PlateRunaway:
    """Where a plate settles under drives; PlateRunaway when that is above the ceiling, degC, or nowhere.

    Every winding's duty counts by its mean power (Supply.on_share). Windings that no circuit names carry no
    current; each is named once at most. near: how the same nodes settle where little differs, to begin from;
    solver: what found that, whose factors lead to this too.
    """
    _check(net, circuits)
    film, solver = exact_film(net), solver or Solver()
    top = ceiling + ZERO_CELSIUS - net.ambient
    start = _start(net, circuits, film, top) if near is None else near.rise
    rise = _settled(net, circuits, film, start, solver)
    if rise is None or _hottest(net, rise, circuits)[1] > top:
        rise, squared = _at_peak(net, circuits, film, top, solver)
        if squared <= 1:
            return _runaway(net, rise, scaled(circuits, math.sqrt(squared)), film, ceiling, squared)
        cooler = _settled(net, circuits, film, rise, solver)
        rise = cooler if cooler is not None else _climbed(net, circuits, film, solver)
    return steady_of(net, rise, heat(net, rise, circuits, film), circuits)


def settled_rise(net: PlateNetwork, circuits: Sequence[Circuit], film: Film) -> Floats | None:
    """Rises (n,) K where a plate settles, or None where that is not found under copper's melting point."""
    top, solver = COPPER_MELTS + ZERO_CELSIUS - net.ambient, Solver()
    rise = _settled(net, circuits, film, _start(net, circuits, film, top), solver)
    return rise if rise is not None and _hottest(net, rise, circuits)[1] <= top else None


def _check(net: PlateNetwork, circuits: Sequence[Circuit]) -> None:
    named = [number for circuit in circuits for number in circuit.windings]
    if not named or len(set(named)) < len(named):
        raise ValueError("circuits drive windings, each in one circuit at most")
    if min(named) < 0 or max(named) >= net.resistance_20c.shape[0]:
        raise ValueError("circuits name windings by their numbers")


def _settled(
    net: PlateNetwork, circuits: Sequence[Circuit], film: Film, start: Floats, solver: Solver
) -> Floats | None:
    """Rises (n,) K by Newton's method, or None when it finds none over the air's temperature."""
    rise = np.array(start)
    for _ in range(_STEPS):
        balance = heat(net, rise, circuits, film)
        left = residual(net, rise, balance)
        if rise.min() < -_ASTRAY * max(rise.max(), _LONGEST_STEP):
            return None
        if _done(net, rise, left, balance):
            return rise if rise.min() > -_BELOW * max(rise.max(), 1e-4) else None
        try:
            rise = rise + _cut(solver.solution(balance.slope, -left), rise)
        except np.linalg.LinAlgError:
            return None
    return None


def _climbed(net: PlateNetwork, circuits: Sequence[Circuit], film: Film, solver: Solver) -> Floats:
    """Rises where Newton's method went astray from its first guess: the drives grow step by step."""
    rise, reached, step = np.zeros(len(net.capacity)), 0.0, _CLIMB
    while reached < 1:
        squared = min(1.0, reached + step)
        found = _settled(net, scaled(circuits, math.sqrt(squared)), film, rise, solver)
        if found is not None:
            rise, reached, step = found, squared, 1.5 * step
        elif step > _LEAST_CLIMB:
            step = step / 2
        else:
            raise ArithmeticError("no steady state found")
    return rise


def _at_peak(
    net: PlateNetwork, circuits: Sequence[Circuit], film: Film, target: float, solver: Solver
) -> tuple[Floats, float]:
    """Rises (n,) K and the drives' factor squared that bring the hottest copper to a rise, K."""
    shape = _shape(net, circuits, film, solver)
    share = target / _hottest(net, shape, circuits)[1]
    found = _peaked(net, circuits, film, target, (share * shape, share), solver)
    if found is None and target > _LEAST_TARGET:
        rise, squared = _at_peak(net, circuits, film, target * _SHORTER, solver)
        found = _peaked(net, circuits, film, target, (rise / _SHORTER, squared / _SHORTER), solver)
    if found is None:
        raise ArithmeticError(f"no steady state found with the hottest copper {target} K over the air")
    return found


def _peaked(
    net: PlateNetwork,
    circuits: Sequence[Circuit],
    film: Film,
    target: float,
    start: tuple[Floats, float],
    solver: Solver,
) -> tuple[Floats, float] | None:
    """The same by Newton's method from a start, or None when it does not get there."""
    rise, squared = start
    for _ in range(_STEPS):
        balance = heat(net, rise, scaled(circuits, math.sqrt(squared)), film)
        left = residual(net, rise, balance)
        hottest, highest = _hottest(net, rise, circuits)
        short = target - highest
        if _done(net, rise, left, balance) and abs(short) < 1e-9 * target:
            return (rise, squared) if rise.min() > -_BELOW * target else None
        try:
            still = solver.solution(balance.slope, -left)
            driven = solver.solution(balance.slope, -balance.made / squared)
        except np.linalg.LinAlgError:
            return None
        more = (short - still[hottest]) / driven[hottest]
        rise = rise + _cut(still + more * driven, rise)
        squared = max(squared + more, squared / 10)
    return None


def _hottest(net: PlateNetwork, rise: Floats, circuits: Sequence[Circuit]) -> tuple[int, float]:
    """Node of the hottest driven copper and its rise, K."""
    turns = net.turns
    driven = np.concatenate([turns[number] for circuit in circuits for number in circuit.windings])
    node = int(driven[np.argmax(rise[driven])])
    return node, float(rise[node])


def _start(net: PlateNetwork, circuits: Sequence[Circuit], film: Film, top: float) -> Floats:
    """Rises (n,) K, all alike: those of a body of one temperature that the cold windings' heat warms."""
    made = float(heat(net, np.zeros(len(net.capacity)), circuits, film).made.sum())
    cold = made / (_STILL_AIR * float(net.face_area.sum()))
    even = 2 * cold / (1 + math.sqrt(1 + 4 * net.temperature_coefficient * cold))
    return np.full(len(net.capacity), min(even, top, _LARGEST_GUESS))


def _shape(net: PlateNetwork, circuits: Sequence[Circuit], film: Film, solver: Solver) -> Floats:
    """Rises (n,) K that the heat of cold windings would make with the weak films of a cold plate."""
    balance = heat(net, np.zeros(len(net.capacity)), scaled(circuits, _WEAK), film)
    return solver.solution(balance.slope, -balance.made / _WEAK**2)


def _done(net: PlateNetwork, rise: Floats, left: Floats, balance: PlateHeat) -> bool:
    """Whether what is left over is small against the heat made, or is what the rises' rounding leaves."""
    conducted = float((abs(net.conductance) @ np.abs(rise)).sum())
    allowed = _TOLERANCE * float(balance.made.sum()) + _ROUNDING * conducted
    return bool(np.abs(left).sum() <= allowed)


def _cut(step: Floats, rise: Floats) -> Floats:
    longest = max(_LONGEST_STEP, float(np.abs(rise).max()))
    return step * min(1.0, longest / max(float(np.abs(step).max()), longest))


def _runaway(
    net: PlateNetwork,
    rise: Floats,
    circuits: Sequence[Circuit],
    film: Film,
    ceiling: float,
    squared: float,
) -> PlateRunaway:
    state = steady_of(net, rise, heat(net, rise, circuits, film), circuits)
    driven = [number for circuit in circuits for number in circuit.windings]
    return PlateRunaway(
        ceiling=ceiling,
        winding=max(driven, key=lambda number: float(state.hottest[number])),
        factor=math.sqrt(squared),
        current=state.current,
        voltage=state.voltage,
    )


def steady_of(
    net: PlateNetwork, rise: Floats, balance: PlateHeat, circuits: Sequence[Circuit]
) -> PlateSteady:
    """What holds at rises (n,) K under drives."""
    celsius = net.ambient - ZERO_CELSIUS + rise
    share = np.ones(len(balance.resistance))
    for circuit in circuits:
        share[list(circuit.windings)] = circuit.supply.on_share
    current = np.sqrt(balance.squared_current / share)
    faces = net.face_area @ rise / net.face_area.sum(axis=1) + net.ambient
    return PlateSteady(
        rise=rise,
        hottest=np.array([celsius[at].max() for at in net.turns]),
        copper=float(celsius[net.resistance_20c.indices].max()),
        mean=(net.resistance_20c @ celsius) / net.resistance_20c.sum(axis=1),
        resistance=winding_resistance(net, rise),
        current=current,
        voltage=current * balance.resistance,
        squared_current=balance.squared_current,
        power=balance.squared_current * balance.resistance + net.eddy_resistance @ balance.squared_current,
        x=net.x,
        y=net.y,
        field=np.where(net.field >= 0, celsius[net.field], np.nan),
        part_mean={
            name: float(np.average(celsius[at], weights=net.capacity[at])) for name, at in net.parts.items()
        },
        convected=dict(zip(net.faces, balance.convected.tolist(), strict=True)),
        radiated=dict(zip(net.faces, balance.radiated.tolist(), strict=True)),
        in_range=net.forced_coefficient is not None or in_range(net.shown, faces, net.ambient),
    )
