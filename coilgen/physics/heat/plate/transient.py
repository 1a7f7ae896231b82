"""A plate's temperatures against time, and the state that repeats under drives that switch."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.balance import Film, tabulated_film
from coilgen.physics.heat.body import ZERO_CELSIUS
from coilgen.physics.heat.plate.balance import squared_currents
from coilgen.physics.heat.plate.body import Circuit
from coilgen.physics.heat.plate.modes import Modes, flow, modes
from coilgen.physics.heat.plate.network import PlateNetwork
from coilgen.physics.heat.plate.steady import PlateRunaway, PlateSteady, plate_steady_state, settled_rise
from coilgen.physics.heat.rosenbrock import Course, Flowing, integrated
from coilgen.physics.heat.steady import COPPER_MELTS
from coilgen.physics.heat.transient import TOLERANCE

Floats = NDArray[np.float64]

_SHORTER = 100.0
"""Of a time that is asked for over the shortest that the modes tell."""
_LONGEST = 1e4
"""s; over the longest time constants of boards and what they are mounted on."""
_STILL_AIR, _EARLY = 15.0, 0.3
"""W/(m² K), convection and radiation together; of the time constant it makes: earlier, nothing is settled."""
_BETWEEN = 4
"""Rows of a history for each step of the integrator, so that straight lines may join them."""
_ROUNDS = 30
_CLOSE = 5e-4
"""K; a period that ends so near to where it began repeats."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateHistory:
    """time (m,) s; for each winding (m, w): hottest copper and mean, degC, resistance ohm, current A (while
    on). rise (n,) K of the nodes at the end. melted: whether it ends early, where copper melts, or a limit
    is passed.
    """

    time: Floats
    hottest: Floats
    mean: Floats
    resistance: Floats
    current: Floats
    rise: Floats
    melted: bool

    def time_to_reach(self, limit: float) -> Floats:
        """First time each winding's hottest copper reaches a limit, degC, (w,) s; infinite for never."""
        return np.array([_first(self.time, hottest, limit) for hottest in self.hottest.T])


def _first(time: Floats, values: Floats, limit: float) -> float:
    over = np.flatnonzero(values >= limit)
    if len(over) == 0:
        return float("inf")
    ends = slice(max(int(over[0]) - 1, 0), int(over[0]) + 1)
    return float(np.interp(limit, values[ends], time[ends]))


@dataclass(frozen=True, kw_only=True)
class Switched:
    """A circuit that is on for a share of each period, duty over 0 to 1, from another on, begin 0 to 1."""

    circuit: Circuit
    duty: float
    begin: float = 0.0

    def __post_init__(self) -> None:
        if not (0 < self.duty <= 1 and 0 <= self.begin < 1):
            raise ValueError("0 < duty <= 1, 0 <= begin < 1")
        if self.circuit.supply.on_share != 1:
            raise ValueError("a supply that is on all the time by itself")


@dataclass(frozen=True, kw_only=True, eq=False)
class PlatePeriodic:
    """The state that repeats each period: for each winding's hottest copper (w,) its peak, lowest and mean
    over the period, degC; steady: the state under the mean power, about which it swings; histories: those of
    one period, from each switching to the next, none where nothing switches.
    """

    peak: Floats
    lowest: Floats
    mean: Floats
    steady: PlateSteady
    histories: tuple[PlateHistory, ...]


def plate_warming(
    net: PlateNetwork,
    circuits: Sequence[Circuit],
    until: float,
    start: Floats | None = None,
    tolerance: float = TOLERANCE,
    stop_at: float = COPPER_MELTS,
) -> PlateHistory:
    """Temperatures to a time, s, after switching on; no circuits let the plate cool.

    start (n,) K: rises over the air at the beginning, none by default; tolerance K of a step; stop_at degC:
    the hottest copper of any winding ends it there. In modes made for the time asked for: what happens
    within a hundredth of it may be told some hundredths of the rise wrong. In times so short that the heat
    does not leave its cell, the mean of a winding is lower by up to half a cell over its breadth, as cells
    at its edges share their heat with their corners; the hottest copper is not.
    """
    if not until > 0:
        raise ValueError("until must be positive")
    film = tabulated_film(net)
    begin = np.zeros(len(net.capacity)) if start is None else start
    model = modes(
        net, film, _about(net, circuits, until, begin, film), until / _SHORTER, max(until, _LONGEST), begin
    )
    ceiling = stop_at + ZERO_CELSIUS - net.ambient
    course = _course(model, circuits, until, model.of(begin), film, tolerance, ceiling)
    return _history(net, model, circuits, course, stop_at)


def _about(net: PlateNetwork, circuits: Sequence[Circuit], until: float, begin: Floats, film: Film) -> Floats:
    """The settled rises where the time leads there, or those of the beginning."""
    if not circuits or until < _EARLY * net.capacity.sum() / (_STILL_AIR * net.face_area.sum()):
        return begin
    settled = settled_rise(net, circuits, film)
    return begin if settled is None else settled


def _course(
    model: Modes,
    circuits: Sequence[Circuit],
    until: float,
    begin: Floats,
    film: Film,
    tolerance: float,
    ceiling: float,
) -> Course:
    everywhere = np.concatenate(model.turns)
    flowing = Flowing(
        capacity=np.ones(len(begin)),
        flow=lambda state: flow(model, state, circuits, film),
        ahead=lambda state: flow(model, state, circuits, film, sloped=False)[0],
        size=lambda change: float(np.abs(everywhere @ change).max()),
        passed=lambda state: float((everywhere @ state).max()) >= ceiling,
    )
    return integrated(flowing, begin, until, tolerance)


def _history(
    net: PlateNetwork, model: Modes, circuits: Sequence[Circuit], course: Course, stop_at: float
) -> PlateHistory:
    steps = np.interp(
        np.arange(0, len(course.time) - 1 + 1e-9, 1 / _BETWEEN), range(len(course.time)), course.time
    )
    state = course.at(steps)
    air, resistance = net.ambient - ZERO_CELSIUS, model.resistance(state)
    hottest = air + model.hottest(state)
    always = [replace(circuit, supply=replace(circuit.supply, on_share=1.0)) for circuit in circuits]
    return PlateHistory(
        time=steps,
        hottest=hottest,
        mean=air + state @ model.mean_rise.T,
        resistance=resistance,
        current=np.sqrt([squared_currents(always, each)[0] for each in resistance]),
        rise=model.shape @ course.state[-1],
        melted=bool(hottest[-1].max() >= stop_at),
    )


def plate_periodic_state(
    net: PlateNetwork, drives: Sequence[Switched], frequency: float, ceiling: float = COPPER_MELTS
) -> PlatePeriodic | PlateRunaway:
    """The state that repeats under drives that switch at one frequency, Hz, each for its share of a period.

    PlateRunaway when the mean power alone passes the ceiling, degC. A drive of another frequency, fast
    enough not to swing, is one of duty 1 at its root mean square.
    """
    if not frequency > 0:
        raise ValueError("frequency must be positive")
    steady = plate_steady_state(net, [_mean(drive) for drive in drives], ceiling)
    if isinstance(steady, PlateRunaway):
        return steady
    spans = _spans(drives, 1 / frequency)
    if len(spans) == 1:
        level = steady.hottest
        return PlatePeriodic(peak=level, lowest=level, mean=level, steady=steady, histories=())
    return _repeating(net, spans, steady)


def melts_at_once(
    net: PlateNetwork, drives: Sequence[Switched], frequency: float, ceiling: float = COPPER_MELTS
) -> int | None:
    """The winding, by its number, that passes the ceiling, degC, within the first period from cold, if any.

    Where one does, no state repeats.
    """
    start = None
    for circuits, time in _spans(drives, 1 / frequency):
        found = plate_warming(net, circuits, time, start, stop_at=ceiling)
        if found.melted:
            return int(found.hottest[-1].argmax())
        start = found.rise
    return None


def _mean(drive: Switched) -> Circuit:
    return replace(drive.circuit, supply=replace(drive.circuit.supply, on_share=drive.duty))


Spans = list[tuple[list[Circuit], float]]
"""What is on, and for how long, s."""


def _spans(drives: Sequence[Switched], period: float) -> Spans:
    """One period from switching to switching."""
    ends = {0.0, 1.0, *(each for drive in drives for each in _switching(drive))}
    edges = sorted(ends)
    return [
        ([drive.circuit for drive in drives if _on(drive, (low + high) / 2)], (high - low) * period)
        for low, high in pairwise(edges)
    ]


def _switching(drive: Switched) -> tuple[float, ...]:
    return () if drive.duty == 1 else (drive.begin, (drive.begin + drive.duty) % 1)


def _on(drive: Switched, share: float) -> bool:
    return drive.duty == 1 or (share - drive.begin) % 1 < drive.duty


def _repeating(net: PlateNetwork, spans: Spans, steady: PlateSteady) -> PlatePeriodic:
    """The period's end is brought to its beginning by Newton's method, in modes."""
    film = tabulated_film(net)
    shortest = min(time for _, time in spans) / _SHORTER
    model = modes(net, film, steady.rise, shortest, max(_LONGEST, sum(time for _, time in spans)))
    begin = model.of(steady.rise)
    change = _change_left(model, begin, spans, film)
    for _ in range(_ROUNDS):
        histories, end = _one_period(net, model, spans, begin, film)
        step = np.linalg.solve(np.eye(len(begin)) - change, end - begin)
        begin = begin + step
        if float(np.abs(np.concatenate(model.turns) @ step).max()) < _CLOSE:
            return _periodic(histories, steady)
    raise ArithmeticError("no periodic state found")


def _one_period(
    net: PlateNetwork, model: Modes, spans: Spans, begin: Floats, film: Film
) -> tuple[tuple[PlateHistory, ...], Floats]:
    histories = []
    for circuits, time in spans:
        course = _course(model, circuits, time, begin, film, TOLERANCE / 10, np.inf)
        histories.append(_history(net, model, circuits, course, np.inf))
        begin = course.state[-1]
    return tuple(histories), begin


def _change_left(model: Modes, state: Floats, spans: Spans, film: Film) -> Floats:
    """What a period leaves of a small change of the modes, (r, r)."""
    from scipy.linalg import expm

    left = np.eye(len(state))
    for circuits, time in spans:
        left = expm(flow(model, state, circuits, film)[1] * time) @ left
    return left


def _periodic(histories: tuple[PlateHistory, ...], steady: PlateSteady) -> PlatePeriodic:
    whole = np.concatenate([each.hottest for each in histories])
    area = sum(np.trapezoid(each.hottest, each.time, axis=0) for each in histories)
    return PlatePeriodic(
        peak=whole.max(axis=0),
        lowest=whole.min(axis=0),
        mean=area / sum(each.time[-1] for each in histories),
        steady=steady,
        histories=histories,
    )
