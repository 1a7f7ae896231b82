"""What the tolerances of the winding's section and of its dielectrics change in capacitance and resonance."""

from collections.abc import Mapping

import numpy as np

from coilgen.design.stackup import Stackup
from coilgen.figures.electrical._dielectrics import dielectrics, faces_less, sections
from coilgen.physics.base.conductor import Floats
from coilgen.physics.circuit.capacitance import WindingCapacitance, turn_capacitances
from coilgen.physics.circuit.turn_section import Integers, checked_section
from coilgen.physics.eddy.turns import Turns
from coilgen.result.figure import Case
from coilgen.result.spread import Shift, Spread, carried

MODEL = 0.02
"""Of the capacitance: 1 % against charges on all surfaces, 1 % against the ladder of turns; thin dielectrics
between layers that do not face everywhere add to it."""
OF_RESONANCE = 0.01
"""Of the self-resonance: against ladders solved node by node."""
_SAME_LEVEL = 1e-9
"""m."""
_LEAST_TURNS, _ALL_TURNS, _DIVISIONS = 4, 12, 2


def capacitance_spread(case: Case, winding: Turns, found: WindingCapacitance) -> Spread:
    """The capacitance, F, with its shifts: each kind of pair in the ratio in which that of few turns changes.

    Kinds are the two layers and how many turns lie between; turns near one another rule.
    """
    wound, layer = _layers(case, winding)
    ranks = _ranks(winding.radius[wound], layer)
    held = 0.5 * _by_kind(found.share[np.ix_(wound, wound)], layer, ranks, _few(case))
    usual = _of_few(case, case.design.board.stackup)

    def shifted(stackup: Stackup, wider: float = 0.0) -> float:
        return float(np.sum(held * (_of_few(case, stackup, wider) / usual - 1)))

    by, stackup = case.design.tolerance.trace_width, case.design.board.stackup
    shifts: dict[str, Shift] = {"trace width": (shifted(stackup, -by), shifted(stackup, by))}
    for source, (low, high) in _stackups(case).items():
        change = shifted(high)
        shifts[source] = (-change if low is None else shifted(low), change)
    more = MODEL * found.capacitance
    less = more + faces_less(case) * found.capacitance
    return Spread(found.capacitance, {**shifts, "model of winding_capacitance": (-less, more)})


def _layers(case: Case, winding: Turns) -> tuple[Integers, Integers]:
    """Turns of the wound layers, without leads that go round on another one; their layers, lowest first."""
    stackup = case.design.board.stackup
    heights = np.array([stackup.height(each) for each in case.wound[::-1]])
    apart = np.abs(winding.z[:, None] - heights)
    wound = np.flatnonzero(apart.min(axis=1) < _SAME_LEVEL)
    return wound, np.argmin(apart[wound], axis=1)


def resonance_spread(frequency: float, capacitance: Spread, inductance: Spread) -> Spread:
    """Self-resonance, Hz, as one over the root of both; the models' errors of both are in its own."""
    c, henry = (
        Spread(each.value, {k: v for k, v in each.shifts.items() if not k.startswith("model")})
        for each in (capacitance, inductance)
    )
    found = carried(lambda a, b: frequency * np.sqrt(c.value * henry.value / (a * b)), c, henry)
    error = OF_RESONANCE * frequency
    return Spread(frequency, {**found.shifts, "model of self_resonance": (-error, error)})


def _stackups(case: Case) -> Mapping[str, tuple[Stackup | None, Stackup]]:
    """The stack-up with each source at its low and at its high limit; None where both change it alike."""
    tolerance, stackup = case.design.tolerance, case.design.board.stackup

    def laminated(factor: float) -> Stackup:
        return stackup.unchecked(dielectric=tuple(each * factor for each in stackup.dielectric))

    thick, more = 1 + tolerance.copper_thickness, 1 + tolerance.permittivity
    return {
        "dielectric thickness": (
            laminated(1 - tolerance.dielectric_thickness),
            laminated(1 + tolerance.dielectric_thickness),
        ),
        "permittivity": (
            None,
            stackup.unchecked(
                permittivity=tuple(each * more for each in stackup.permittivity),
                mask_permittivity=stackup.mask_permittivity * more,
            ),
        ),
        "solder mask": (
            None,
            stackup.unchecked(mask_thickness=stackup.mask_thickness * (1 + tolerance.mask_thickness)),
        ),
        "copper thickness": (
            None,
            stackup.unchecked(copper=tuple(each * thick for each in stackup.copper)),
        ),
    }


def _ranks(radius: Floats, layer: Integers) -> Integers:
    """Of each turn in its layer, from the innermost."""
    ranks = np.zeros_like(layer)
    for each in np.unique(layer):
        ranks[layer == each] = np.argsort(np.argsort(radius[layer == each]))
    return ranks


def _by_kind(pairs: Floats, layer: Integers, rank: Integers, few: tuple[int, int]) -> Floats:
    """Sums of pairs (n, n) by the layers of both and by how far their ranks differ, (l, l, turns)."""
    layers, turns = few
    apart = np.minimum(np.abs(rank[:, None] - rank), turns - 1)
    total = np.zeros((layers, layers, turns))
    np.add.at(total, (layer[:, None], layer[None, :], apart), pairs)
    return total


def _few(case: Case) -> tuple[int, int]:
    """Layers, and turns of each: so many that far pairs, which rule a single layer, are among them."""
    asked = case.design.winding
    return asked.layers, max(2, min(max(_LEAST_TURNS, _ALL_TURNS // asked.layers), round(asked.turns)))


def _of_few(case: Case, stackup: Stackup, wider: float = 0.0) -> Floats:
    """Capacitances between the turns of a winding of few, by kind, F/m; 1 for no turns."""
    winding = case.design.winding
    pitch, (layers, turns) = winding.trace_width + winding.trace_spacing, _few(case)
    wound = case.wound[::-1]
    layer, rank = np.repeat(np.arange(layers), turns), np.tile(np.arange(turns), layers)
    height = np.array([stackup.height(each) for each in wound])[layer]
    thickness = np.array([stackup.copper[each - 1] for each in wound])[layer]
    width = np.full(len(layer), max(winding.trace_width + wider, 0.05 * winding.trace_width))
    planes, permittivity = dielectrics(stackup)
    total = np.zeros((layers, layers, turns))
    for times, position in _positions(case, layer, np.asarray(pitch * rank, dtype=np.float64), pitch):
        section = checked_section(height, position, width, thickness)
        between = -turn_capacitances(section, planes, permittivity, _DIVISIONS)
        np.fill_diagonal(between, 0.0)
        total += times * _by_kind(between, layer, rank, (layers, turns))
    return np.where(total == 0.0, 1.0, total)


def _positions(case: Case, layer: Integers, across: Floats, pitch: float) -> list[tuple[int, Floats]]:
    """Where the turns lie in one section, or in several round the coil where layers slide, and how often.

    Of sections that are as far before half a turn as after it one is the other from behind.
    """
    count = sections(case)
    if count == 1:
        return [(1, across)]
    inward = np.where(layer % 2 == 0, 0.5, -0.5)
    return [
        (1 if 2 * part + 1 == count else 2, across + inward * pitch * (0.5 - (part + 0.5) / count))
        for part in range((count + 1) // 2)
    ]
