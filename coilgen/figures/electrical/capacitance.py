"""Winding capacitance and self-resonance."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from coilgen.figures.electrical._capacitance_spread import capacitance_spread, resonance_spread
from coilgen.figures.electrical._dielectrics import dielectrics, sections
from coilgen.figures.electrical._turns import inductances_of_turns
from coilgen.figures.electrical.impedance import frequencies
from coilgen.physics.base.conductor import Floats
from coilgen.physics.circuit.capacitance import WindingCapacitance, voltage_shares, winding_capacitance
from coilgen.physics.circuit.self_resonance import ladder_resonance
from coilgen.physics.eddy.turns import Turns, turns
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.units import readable

Integers = NDArray[np.int64]

BETWEEN_TURNS = "capacitances between turns"
_SAME_LEVEL = 1e-8
"""m."""
_MIDWAY = 1e-3
"""Of a step, by which what lies midway on a grid is beyond it."""
_CELLS = 144
"""Of the grid in a pitch: the capacitance is then within 1e-3 of that of positions as they are, and takes no
longer than on a coarser one."""


def _capacitance(case: Case) -> Answer | None:
    found = capacitances_between_turns(case)
    if found is None:
        return None
    return spread_answer(
        capacitance_spread(case, turns(case.conductor), found),
        "energy of the turns' cross-section in its layered dielectric, at the voltages that they induce",
    )


def capacitances_between_turns(case: Case) -> WindingCapacitance | None:
    """Between each two turns, solved once; None for a single turn."""
    return case.once(BETWEEN_TURNS, lambda: _solved(case))


def _solved(case: Case) -> WindingCapacitance | None:
    winding = turns(case.conductor)
    if len(winding.z) < 2:
        return None
    start, end = voltage_shares(inductances_of_turns(case), _strings(case, winding))
    planes, permittivity = dielectrics(case.design.board.stackup)
    return winding_capacitance(
        height=winding.z,
        position=_positions(case, winding),
        width=winding.width,
        thickness=winding.thickness,
        length=winding.length,
        start=start,
        end=end,
        interfaces=planes,
        permittivity=permittivity,
    )


def _strings(case: Case, winding: Turns) -> Integers:
    """A number (n,) for each turn: alike for turns in series, one for each layer of layers in parallel."""
    if not case.coil.parallel:
        return np.zeros(len(winding.z), dtype=np.int64)
    return np.asarray(case.conductor.layer[winding.piece])


def _positions(case: Case, winding: Turns) -> Floats:
    """Of the turns across the winding, in several sections round it where layers slide over one another."""
    asked, levels = case.design.winding, case.conductor.layer[winding.piece]
    pitch = asked.trace_width + asked.trace_spacing
    layer = 1 + np.searchsorted(np.unique(levels), levels)
    inward = np.where((layer % 2 == 1) | bool(case.coil.parallel), 1.0, -1.0)
    long = not isinstance(asked.outer_size, float) or asked.angle is not None
    position = _evenly(winding, levels, case.wound, -pitch * inward) if long else winding.radius
    count = sections(case)
    if count == 1:
        return _on_grid(_evened(position, winding.z, pitch / 18), pitch / _CELLS)
    angle = (np.arange(count)[:, None] + 0.5) / count
    passed = (angle - (layer - 1) * asked.turns) % 1.0
    return _on_grid(position + inward * pitch * (0.5 - passed), 3 * pitch / (_CELLS * count))


def _evenly(winding: Turns, layer: Integers, wound: Sequence[int], pitch: Floats) -> Floats:
    """Positions of turns that lie a pitch from one another, in a layer's sense; wound layers lie alike.

    Radii of long shapes do not tell it: which sides a part of a turn has makes more of a difference. Layers
    that hold a lead's way round keep theirs.
    """
    turning = np.isin(layer, wound)
    position = np.where(turning, winding.radius[turning].mean(), winding.radius)
    for each in wound:
        (own,) = np.nonzero(layer == each)
        position[own] += pitch[own] * (np.arange(len(own)) - (len(own) - 1) / 2)
    return position


def _evened(position: Floats, height: Floats, least: float) -> Floats:
    """Layers as far over the middle as others are below it at one mean, turn by turn, where they differ by
    less than a length, m: the solver then needs but half of them."""
    levels = np.unique(np.round(height, 9))
    out = position.copy()
    for low, high in zip(levels[: len(levels) // 2], levels[::-1], strict=False):
        one, other = (np.flatnonzero(np.abs(height - level) < _SAME_LEVEL) for level in (low, high))
        one, other = (rows[np.argsort(position[rows])] for rows in (one, other))
        if len(one) == len(other) and np.abs(position[one] - position[other]).max() < least:
            out[one] = out[other] = 0.5 * (position[one] + position[other])
    return out


def _on_grid(positions: Floats, step: float) -> Floats:
    """Positions on a grid: equal distances let the solver reuse its work.

    Counted from the first turn, so that turns that move together stay as they are to one another; layers that
    wind in quarters of a turn lie midway on the grid, where not their last digits must tell up from down.
    """
    first = positions[..., :1]
    return np.asarray(first + np.floor((positions - first) / step + 0.5 + _MIDWAY) * step)


def _resonance(case: Case) -> Answer | None:
    frequency = ladder_frequency(case)
    if frequency is None:
        return None
    return spread_answer(
        resonance_spread(frequency, case.spread("winding_capacitance"), case.spread("inductance")),
        "ladder of the turns' inductances and the capacitances between them, nothing connected; leads and "
        "instruments lower it",
        cautions=_past(case, frequency),
    )


def ladder_frequency(case: Case) -> float | None:
    """Hz, where the ladder of all turns resonates, its inductances brought to the winding's own; None for a
    single turn."""
    return case.kept(_ladder_frequency)


def _ladder_frequency(case: Case) -> float | None:
    own = case.value("inductance")  # first: another process may be at the capacitances
    between = capacitances_between_turns(case)
    if between is None or between.capacitance == 0.0:
        return None
    inductances, strings = inductances_of_turns(case), _strings(case, turns(case.conductor))
    whole = _together(inductances, strings)
    return ladder_resonance(own / whole * inductances, between.branches, strings)


def _past(case: Case, resonance: float) -> tuple[str, ...]:
    """That rows of `impedance` past the resonance tell a quality that is none of the coil's."""
    beyond = [each for each in frequencies(case) if each >= resonance]
    if not beyond:
        return ()
    return (
        f"From {readable(resonance, 'Hz', 2)} on the bare coil is a capacitor: impedance from "
        f"{readable(beyond[0], 'Hz', 2)} on is that of the copper alone, and its quality is none of the "
        "coil's. Below, the quality between the terminals is about that told times "
        "1 - (frequency / self_resonance)^2.",
    )


def _together(inductances: Floats, strings: Integers) -> float:
    """Inductance, H, of the strings of turns side by side."""
    own = strings[:, None] == np.unique(strings)
    return float(1 / np.linalg.inv(own.T @ inductances @ own).sum())


FIGURES = (
    Quantity(
        name="winding_capacitance",
        unit="F",
        says="capacitance of the winding between its terminals",
        group="electrical",
        compute=_capacitance,
        of="each",
    ),
    Quantity(
        name="self_resonance",
        unit="Hz",
        says="lowest frequency at which the coil resonates by itself",
        group="electrical",
        compute=_resonance,
        of="each",
    ),
)
