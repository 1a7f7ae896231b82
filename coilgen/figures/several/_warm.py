"""States of heat of a board of several windings: as it settles, and at its hottest under slow drives."""

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.heat._eddies import mean_square_share
from coilgen.figures.heat._warmth import ceiling
from coilgen.figures.several._drives import circuits, longest_period, slow, switched
from coilgen.figures.several._eddies import eddies
from coilgen.figures.several._leads import hottest_lead, leads_of_several, resistances_apart
from coilgen.figures.several._made import EXPECTED, Made
from coilgen.figures.several._plate import plate
from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.plate.network import PlateNetwork
    from coilgen.physics.heat.plate.steady import PlateRunaway, PlateSteady
    from coilgen.physics.heat.plate.transient import PlatePeriodic

_MANY_NODES = 10_000
"""From which on cells twice as large still resolve every winding: changes differ by one per cent."""
_NEAR = 1e-3
"""Of a resistance of leads: how near it is sought."""
_HALVINGS = 8
"""After which leads' resistance is known to 2 %."""
_NEARLY = 0.9
"""Of a resistance of leads, those found with it that agree with it."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Warm:
    """The settled board, for each winding (w,).

    hottest: copper over a period, degC, and its resistance, ohm, and current, A, there; mean: hottest copper
    under the mean power, degC; power: mean, W. in_range: whether formulas of convection hold where used.
    board: under the mean power. leads: hottest copper of those down a tail, degC, minus infinity without one.
    """

    hottest: Floats
    mean: Floats
    resistance: Floats
    current: Floats
    power: Floats
    in_range: bool
    board: "PlateSteady"
    leads: float = -math.inf

    @property
    def peak(self) -> float:
        """Hottest copper of all, degC."""
        return max(float(self.hottest.max()), self.leads, self.board.copper)


@dataclass(frozen=True, kw_only=True)
class Melts:
    """Copper of a winding, by its number, that melts while a slow drive is on, within one period, s."""

    winding: int
    period: float


@dataclass(frozen=True, kw_only=True)
class LeadsMelt:
    """Leads that melt under the current that their windings draw, though warm leads hold it back."""


if TYPE_CHECKING:
    Unsettled = PlateRunaway | Melts | LeadsMelt


def state(case: Case, made: Made = EXPECTED) -> "Warm | Unsettled":
    """The settled board, or where it runs away, as expected or as made and mounted otherwise."""
    return case.once(f"heat of several {made}", lambda: _with_leads(case, _state(case, made), made))


def _with_leads(case: Case, found: "Warm | Unsettled", made: Made) -> "Warm | Unsettled":
    """With what leads add: their temperature, their resistance and power.

    Under slow drives they are taken as warm as the current that is on makes them, as thin ones nearly are.
    """
    if not isinstance(found, Warm) or not leads_of_several(case):
        return found
    hottest, grown = _leads(case, found, made)
    if made.tail == 1.0 and any(each.case.design.drive.voltage is not None for each in case.windings):
        held = _grown(case, made, grown) if math.isfinite(hottest) else _grown_unmolten(case, made)
        if held != 1.0:
            hot = replace(made, tail=held)
            return _with_leads(case, _state(case, hot), hot)
    if not math.isfinite(hottest):
        return LeadsMelt()
    mean = found.board.squared_current
    tails = grown * np.array(made.copper_of(case)) * np.array(resistances_apart(case))
    resistance, power = found.resistance + tails, found.power + mean * tails
    return replace(found, leads=hottest, resistance=resistance, power=power)


def _grown(case: Case, made: Made, cold: float) -> float:
    """Resistance of leads over that at 20 degC with which a voltage drives what warms them to it.

    cold: that to which it would warm them if they held back as little as cold ones. Of slow drives, whose
    periods take long to tell, what comes of that.
    """
    from coilgen.physics.base.bracketed_root import root_between

    def over(tail: float) -> float:
        return _grown_at(case, made, tail) - tail

    return cold if slow(case) or over(cold) >= 0 else root_between(over, 1.0, cold, within=_NEAR)


def _grown_at(case: Case, made: Made, tail: float) -> float:
    """To which leads of such a resistance over that at 20 degC are warmed; infinite where they melt."""
    led = replace(made, tail=tail)
    found = _state(case, led)
    hottest, grown = _leads(case, found, led) if isinstance(found, Warm) else (math.inf, 1.0)
    return grown if math.isfinite(hottest) else math.inf


def _leads(case: Case, found: Warm, made: Made) -> tuple[float, float]:
    """Hottest copper of leads, degC, infinite where one melts, and their resistance over that at 20 degC."""
    swinging = np.array([each in slow(case) for each in case.windings])
    air = replace(plate(case, air=made.air).surroundings, ambient=case.design.drive.ambient + made.warmer)
    squared = np.where(swinging, found.current**2, found.board.squared_current)
    board, swing = _beneath_leads(case, found, made), found.hottest - found.mean
    return hottest_lead(case, board, board.hottest + swing, squared, air, made.copper_of(case))


def _grown_unmolten(case: Case, made: Made) -> float:
    """Resistance of leads over that at 20 degC with which a voltage leaves them unmolten; 1 if there is none.

    They would melt from what it drives through them as long as they are cold; warm they hold it back.
    """
    from coilgen.physics.heat.steady import COPPER_MELTS

    low, high = 1.0, 1.0 + case.design.board.stackup.metal.temperature_coefficient * (COPPER_MELTS - 20.0)
    if _grown_at(case, made, high) > high:
        return 1.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _grown_at(case, made, middle) > middle else (low, middle)
    return high if _grown_at(case, made, high) > _NEARLY * high else 1.0


def _beneath_leads(case: Case, found: Warm, made: Made) -> "PlateSteady":
    """The board that leads of an array lie on: their own rise over it is told by themselves, so that the heat
    of those up to the tail counts in the coils."""
    from coilgen.physics.heat.plate.steady import PlateSteady

    if case.design.array is None or not case.design.array.joined:
        return found.board
    even = _steady(case, replace(made, evenly=True))
    return even if isinstance(even, PlateSteady) else found.board


def coarse_enough(case: Case) -> bool:
    """Whether changes of temperatures may be told from cells twice as large."""
    return len(_network(case, EXPECTED).capacity) > _MANY_NODES


def _state(case: Case, made: Made) -> "Warm | Unsettled":
    from coilgen.physics.heat.plate.steady import PlateSteady

    if slow(case) and replace(made, tail=1.0) == EXPECTED:
        return _swinging(case, made)
    found = _steady(case, made)
    if not isinstance(found, PlateSteady):
        return found
    return _lifted(case, _settled(found)) if slow(case) else _settled(found)


def _steady(case: Case, made: Made) -> "PlateSteady | PlateRunaway":
    """Settled under the mean power; what is made otherwise begins from the expected state on its grid."""
    from coilgen.physics.heat.plate.steady import PlateSteady

    usual = Made(coarse=made.coarse, evenly=made.evenly, cold=made.cold)
    if made == usual:
        return case.once(f"plate as expected {usual}", lambda: _found(case, made, None))
    expected = _steady(case, usual)
    return _found(case, made, expected if isinstance(expected, PlateSteady) else None)


def _found(case: Case, made: Made, near: "PlateSteady | None") -> "PlateSteady | PlateRunaway":
    from coilgen.physics.heat.plate.solver import Solver
    from coilgen.physics.heat.plate.steady import plate_steady_state

    net, driven = _network(case, made), circuits(case, made)
    solver = case.once(f"plate solver {made.coarse} {made.evenly}", Solver)
    return plate_steady_state(net, driven, ceiling(), near=near, solver=solver)


def _lifted(case: Case, mean: Warm) -> "Warm | Unsettled":
    """A board that is made otherwise at its peaks: as far over its mean as the expected one, by its power.

    The swing within a period hangs on what heats and on what takes up heat, hardly on what carries it away.
    """
    expected = state(case)
    if not isinstance(expected, Warm):
        return expected
    rise = np.full_like(mean.power, mean.power.sum() / expected.power.sum())  # of what others alone heat
    np.divide(mean.power, expected.power, out=rise, where=expected.power > 0.0)
    swing = (expected.hottest - expected.mean) * rise
    return replace(mean, hottest=mean.hottest + swing)


def _network(case: Case, made: Made) -> "PlateNetwork":
    key = f"plate network {made.joints} {made.coarse} {made.evenly}"
    usual = case.once(key, lambda: _meshed(case, made))
    air = plate(case, air=made.air).surroundings.convection_factor
    net = replace(usual, ambient=usual.ambient + made.warmer, convection_factor=air)
    net = replace(net, eddy_resistance=_eddy_resistance(case, made))
    if made.copper:
        from scipy.sparse import diags_array

        net = replace(net, resistance_20c=(diags_array(made.copper) @ net.resistance_20c).tocsr())
    return net


def _eddy_resistance(case: Case, made: Made) -> Floats:
    """Of PlateNetwork, with hot resistances where they tell how a switched current rises."""
    cold = tuple(float(each.case.value("resistance_20c")) for each in case.windings)
    found = eddies(case, cold if made.cold else _hot(case, cold))
    step = made.step if case.design.array is None else 1.0
    counted = [(each.case.design.drive.duty or 1.0) / mean_square_share(each.case) for each in case.windings]
    return np.asarray(made.eddies * (found.alone + step * found.in_step) * np.array(counted))


def _hot(case: Case, cold: tuple[float, ...]) -> tuple[float, ...]:
    """Resistances of the windings as they settle, ohm; cold ones where none is switched or none settles."""
    from coilgen.physics.heat.plate.steady import PlateSteady

    drives = [each.case.design.drive for each in case.windings]
    if not any(each.waveform == "square" and each.voltage is not None and each.duty != 1 for each in drives):
        return cold
    found = _steady(case, Made(cold=True))
    return tuple(found.resistance.tolist()) if isinstance(found, PlateSteady) else cold


def _meshed(case: Case, made: Made) -> "PlateNetwork":
    from coilgen.physics.heat.plate.grid import usual_cell
    from coilgen.physics.heat.plate.network import plate_network

    board = plate(case, made.joints, evenly=made.evenly)
    return plate_network(board, 2 * usual_cell(board) if made.coarse else None)


def _settled(found: "PlateSteady") -> Warm:
    return Warm(
        hottest=found.hottest,
        mean=found.hottest,
        resistance=found.resistance,
        current=found.current,
        power=found.power,
        in_range=found.in_range,
        board=found,
    )


def _swinging(case: Case, made: Made) -> "Warm | PlateRunaway | Melts":
    """At the peaks of a period that repeats."""
    from coilgen.physics.heat.plate.steady import PlateRunaway
    from coilgen.physics.heat.plate.transient import melts_at_once, plate_periodic_state

    period, net = longest_period(case), _network(case, EXPECTED)
    drives = switched(case, made)
    try:
        found = plate_periodic_state(net, drives, 1 / period, ceiling())
    except ArithmeticError:
        at_once = melts_at_once(net, drives, 1 / period, ceiling())
        if at_once is None:
            raise
        return Melts(winding=at_once, period=period)
    if isinstance(found, PlateRunaway):
        return found
    if found.peak.max() >= ceiling():
        return Melts(winding=int(found.peak.argmax()), period=period)
    return _at_peaks(found)


def _at_peaks(found: "PlatePeriodic") -> Warm:
    hottest, resistance, current = (
        np.concatenate([getattr(each, name) for each in found.histories])
        for name in ("hottest", "resistance", "current")
    )
    row, winding = hottest.argmax(axis=0), np.arange(hottest.shape[1])
    return Warm(
        hottest=found.peak,
        mean=found.steady.hottest,
        resistance=resistance[row, winding],
        current=np.where(current[row, winding] > 0, current[row, winding], found.steady.current),
        power=found.steady.power,
        in_range=found.steady.in_range,
        board=found.steady,
    )
