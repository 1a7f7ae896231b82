"""The current at which soft cores begin to saturate, and where it lies when they differ a little."""

import math

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.on_grid import SetUp, inside
from coilgen.physics.core.soft_core import Core, Magnetised, magnetised, strength, tangent_response

FALLEN = 0.9
"""Of the inductance's greatest slope, at which cores count as saturating."""
_ALONE, _SEVERAL = 0.15, 0.3
"""Relative errors of the onset on a core's coarser grid: 1 to 13 %, of several bodies to 27 % were seen."""
_PRECISION = 0.02
_ROUGHLY = 1e-3
"""Residual of states on the way to saturation."""
_GROWTH, _FALLING = 0.4, 0.99
"""Of the current, its steps toward saturation, smaller once the inductance has fallen to the second. Half as
long ones moved the onset by 0.3 % at most, in five designs."""
_LARGEST_CURRENT = 1e6
_FARTHEST = 3.0
"""Factor by which a small difference may move the onset."""
_LEAST_FALL = 0.01
"""Of the slope for a relative change of the current, beyond which the onset is not sought farther off."""
_CLOSE = 2e-3
"""Relative step of the current after which another one tells nothing."""
_SECANTS = 6


@dataclass(frozen=True, kw_only=True)
class Point:
    """A core's state at a current (A) and without, its response to one ampere more, its inductance (H).

    leading: the state whose system led to this one.
    """

    current: float
    state: Magnetised
    rest: Magnetised
    response: Floats
    load: Floats
    leading: Magnetised

    @property
    def slope(self) -> float:
        """H."""
        return MU0 * float(self.load @ self.response)


@dataclass(frozen=True, kw_only=True)
class Onset:
    """current: A. low, high: states about it; strongest: that of the greatest slope before."""

    current: float
    low: Point
    high: Point
    strongest: Point

    def at(self, setup: SetUp, rest: Magnetised) -> float:
        """Onset (A) of bodies that differ a little; sought anew where the grid is another or it is far off.

        First from how the slope at the same current differs from its greatest, and how fast it falls there;
        then by secants, with the greatest slope taken at a current that has moved by the same factor. Within
        1 % of a search anew, 0.1 % as a rule, over eleven designs. rest: their state without current.
        """
        if len(setup.load) != len(self.high.load):
            return self._sought_anew(setup)
        now, greatest = (_anew(setup, rest, point) for point in (self.high, self.strongest))
        fall = (self.low.slope - self.high.slope) / self.strongest.slope
        steep = max(fall / math.log(self.high.current / self.low.current), _LEAST_FALL)
        change = now.slope / greatest.slope - self.high.slope / self.strongest.slope
        before, moved = (math.log(now.current / self.current), now.slope / greatest.slope), change / steep
        for _ in range(_SECANTS):
            if abs(moved) > _GROWTH:
                break
            if abs(moved - before[0]) < _CLOSE or abs(moved) < _CLOSE:
                return self.current * math.exp(moved)
            there = _next(now, self.current * math.exp(moved))
            most = _next(greatest, self.strongest.current * math.exp(moved))
            here = moved, there.slope / most.slope
            falling = (before[1] - here[1]) / (here[0] - before[0])
            before, moved = here, moved + (here[1] - FALLEN) / (falling if falling > _LEAST_FALL else steep)
        return self._sought_anew(setup)

    def _sought_anew(self, setup: SetUp) -> float:
        return min(saturation_current(setup), _FARTHEST * self.current)


def saturation_onset(setup: SetUp) -> Onset | None:
    """Where the inductance has fallen to 0.9 of its greatest slope; None for straight curves.

    Raises the current from where the cores are far from saturation, in steps small enough for each state to
    start from the last, then closes in on it to a fiftieth and goes on along lines. None too where all
    that can saturate has, or a million ampere flow, and the inductance still stands.
    """
    if setup.straight:
        return None
    high = _first(setup)
    low, strongest = high, high
    while high.slope >= FALLEN * strongest.slope:
        if high.current > _LARGEST_CURRENT or _spent(high.state):
            return None
        share = high.slope / strongest.slope
        growth = _GROWTH if share > _FALLING else max(share - FALLEN, _PRECISION)
        low, high = high, _next(high, (1.0 + growth) * high.current, again=share > _FALLING)
        strongest = max(strongest, high, key=lambda point: point.slope)
    sought = FALLEN * strongest.slope
    while high.current - low.current > _PRECISION * high.current:
        middle = _next(low, _between(low, high, sought))
        low, high = (middle, high) if middle.slope > sought else (low, middle)
    # A chord over all of the bracket tells the onset 0.2 % too low.
    middle = _next(low, _crossing(low, high, sought))
    ends = (middle, high) if middle.slope > sought else (low, middle)
    return Onset(current=_crossing(*ends, sought), low=low, high=high, strongest=strongest)


def onset_error(bodies: int) -> float:
    """Of the onset for so many bodies on the coarser grid, relative."""
    return _ALONE if bodies == 1 else _SEVERAL


def saturation_current(setup: SetUp) -> float:
    """A, of `saturation_onset`; inf where there is none."""
    onset = saturation_onset(setup)
    return math.inf if onset is None else onset.current


def _first(setup: SetUp) -> Point:
    """At a current at which the cores are far from saturation."""
    rest = setup.rest
    response = tangent_response(rest, setup.load)
    linear = Magnetised(core=setup.core, m=rest.m + response, load=rest.load + setup.load)
    one = Point(current=1.0, state=linear, rest=rest, response=response, load=setup.load, leading=linear)
    return _next(one, _weak_current(setup.core, response))


def _crossing(low: Point, high: Point, slope: float) -> float:
    """A, where a straight line between two points has a slope."""
    share = (low.slope - slope) / (low.slope - high.slope)
    return low.current + share * (high.current - low.current)


def _between(low: Point, high: Point, slope: float) -> float:
    """A, half the precision past the line's crossing: likely the upper end of a bracket narrow enough."""
    guess = _crossing(low, high, slope) + 0.5 * _PRECISION * high.current
    margin = 0.25 * (high.current - low.current)
    return min(max(guess, low.current + margin), high.current - margin)


def _next(near: Point, current: float, *, again: bool = False) -> Point:
    """At another current, found from a state near to it; again: led by what led to that one."""
    start = near.state.m + (current - near.current) * near.response
    return _solved(near.rest, near.load, current, start, near, near.leading if again else near.state)


def _anew(setup: SetUp, rest: Magnetised, near: Point) -> Point:
    """At the same current with bodies that differ a little, on the same grid."""
    start = rest.m + near.state.m - near.rest.m
    return _solved(rest, setup.load, near.current, start, near, near.state)


def _solved(
    rest: Magnetised, load: Floats, current: float, start: Floats, near: Point, leading: Magnetised
) -> Point:
    state = magnetised(rest.core, rest.load + current * load, start, leading, tolerance=_ROUGHLY)
    found = tangent_response(state, load, near.response, leading, accuracy=_ROUGHLY)
    return Point(current=current, state=state, rest=rest, response=found, load=load, leading=leading)


def _spent(state: Magnetised) -> bool:
    """Whether all cores that can saturate are saturated throughout."""
    shares = zip(inside(state)[2], state.core.curves, strict=True)
    return all(curve.straight or share > 0.999 for share, curve in shares)


def _weak_current(one: Core, response: Floats) -> float:
    """A, at which no core is magnetised to over a hundredth of its curve's last point."""
    size = strength(one, response)
    shares = [
        size[one.grid.body == number].max() / curve.magnetisation[-1]
        for number, curve in enumerate(one.curves)
        if not curve.straight
    ]
    return 0.01 / float(np.max(shares))
