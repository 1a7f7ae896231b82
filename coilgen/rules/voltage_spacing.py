"""Spacing by the voltage between conductors, IPC-2221 table 6-1: inner layers, outer ones bare or covered.

Along a coil the voltage falls with the length of its conductor, so neighbouring turns see a small share of
it, and pads that pass through other layers a large one. A dielectric between layers counts as inner spacing;
the least spacing of the table, which is there for etching's sake, does not apply to it.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from coilgen.artwork.art import Art
from coilgen.artwork.copper_pieces import COINCIDENT, Copper, conductor_shares, copper
from coilgen.artwork.gaps import unjoined_gaps
from coilgen.design.arrays import Array
from coilgen.design.design import Design
from coilgen.design.stackup import Stackup
from coilgen.frozen import dataclass
from coilgen.geometry.clearance import Gaps
from coilgen.geometry.containment import contains
from coilgen.geometry.distance import Index, Mask, Reals
from coilgen.layout.board import alone
from coilgen.layout.coil import NET, Coil, conductor, layer_shares, trace_shares
from coilgen.result.rule import Finding, Rule
from coilgen.rules._by_voltage import highest_voltage, least_spacing, spacings
from coilgen.rules._places import TOLERANCE
from coilgen.units import in_mm, measured_mm

TABLE = "voltage_spacing"
COLUMNS = ("inner", "outer-bare", "outer-covered")


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Gaps, then dielectrics, that are small for their voltage; a voltage beyond the table."""
    driven = _driven(design, coil)
    highest = highest_voltage(TABLE, "inner")
    worst = _highest(driven)
    if worst > highest:
        yield _beyond(worst, highest, several=len(driven) > 1)
    board = copper(art)
    seen = _Seen(board=board, shares=conductor_shares(board), driven=driven, highest=highest)
    yield from _gaps(seen, art)
    yield from _dielectrics(design.board.stackup, seen)


@dataclass(frozen=True, kw_only=True)
class _Driven:
    """A net's highest voltage from end to end, V, and the share of it that one turn takes.

    coil: share of the net's copper that is one coil of an array; it takes `drop` of the voltage. Between two
    coils there may be all of it.
    """

    voltage: float
    turn: float
    coil: float = 1.0
    drop: float = 1.0


def _driven(design: Design, coil: Coil) -> dict[str, _Driven]:
    """Of every net; copper that is joined to nothing has none."""
    if design.array is not None and design.array.joined:
        return _of_joined(design, design.array, coil)
    if not design.windings:
        return {NET: _Driven(voltage=peak_voltage(design, coil), turn=1 / coil.turns)}
    found = {}
    for each in design.windings:
        winding = each.design.winding
        passed = 1 if winding.connection == "parallel" else winding.layers
        voltage = peak_voltage(each.design, _of_net(coil, each.name))
        found[each.name] = _Driven(voltage=voltage, turn=1 / (winding.turns * passed))
    return found


def _of_net(coil: Coil, net: str) -> Coil:
    """The part of a board's copper that is one winding."""
    own = [number for number, trace in enumerate(coil.traces) if trace.net == net]
    parallel = (place for place, number in enumerate(own) if number in coil.parallel)
    return replace(coil, traces=tuple(coil.traces[number] for number in own), parallel=tuple(parallel))


def _of_joined(design: Design, array: Array, coil: Coil) -> dict[str, _Driven]:
    """Of the nets of an array whose coils are joined: each net has its coils' traces first, coil by coil."""
    placed = design.windings[0]
    winding, first = placed.design.winding, alone(placed.design)
    voltage = array.in_series * peak_voltage(placed.design, first)
    passed = 1 if winding.connection == "parallel" else winding.layers
    own = sum(trace.path.length for trace in first.traces)
    found = {}
    for net in dict.fromkeys(trace.net for trace in coil.traces):
        whole = sum(trace.path.length for trace in coil.traces if trace.net == net)
        turn = 1 / (winding.turns * passed * array.in_series)
        found[net] = _Driven(voltage=voltage, turn=turn, coil=own / whole, drop=1 / array.in_series)
    return found


def _highest(driven: Mapping[str, _Driven]) -> float:
    """V, between any two places: each winding's ends, or the far ends of two that touch nowhere."""
    each = sorted((one.voltage for one in driven.values()), reverse=True)
    return sum(each[:2])


@dataclass(frozen=True, kw_only=True)
class _Seen:
    """The copper with what it takes to tell the voltage between two of its strokes.

    Windings that nothing joins may stand at any voltage to one another that their drives allow: between
    them stands the sum of both, as if the far ends of two drives of opposite sense shared a ground.
    """

    board: Copper
    shares: Reals
    driven: Mapping[str, _Driven]
    highest: float

    @cached_property
    def _by_net(self) -> tuple[Reals, Reals]:
        none = _Driven(voltage=0.0, turn=1.0)
        found = [self.driven.get(net, none) for net in self.board.nets]
        return np.array([each.voltage for each in found]), np.array([each.turn for each in found])

    def between(self, first: Index, second: Index) -> Reals:
        """V, at most what the table tells, (n,) for pairs of strokes."""
        voltage, turn = self._by_net
        net, other = self.board.net[first], self.board.net[second]
        apart = self._apart(first, second)
        within = voltage[net] * np.minimum(np.maximum(apart, turn[net]), 1.0)
        seen: Reals = np.minimum(np.where(net == other, within, voltage[net] + voltage[other]), self.highest)
        return seen

    def _apart(self, first: Index, second: Index) -> Reals:
        """Share of their net's voltage between strokes of a net, (n,): by length along a coil, else all."""
        none = _Driven(voltage=0.0, turn=1.0)
        driven = [self.driven.get(net, none) for net in self.board.nets]
        coil = np.array([each.coil for each in driven])[self.board.net[first]]
        drop = np.array([each.drop for each in driven])[self.board.net[first]]
        one, other = self.shares[first] / coil, self.shares[second] / coil
        same = (coil == 1.0) | (np.floor(one) == np.floor(other))
        return np.nan_to_num(np.where(same, np.abs(one - other) * drop, 1.0), nan=1.0)

    def of(self, net: int) -> float:
        """V from end to end of a net, at most what the table tells."""
        return float(min(self._by_net[0][net], self.highest))

    @property
    def most(self) -> float:
        """V, at most what the table tells, between any two strokes."""
        return min(_highest(self.driven), self.highest)


def peak_voltage(design: Design, coil: Coil) -> float:
    """The highest voltage across the coil, V: as given, or what the given current needs at 20 degC.

    A sine's peak is the square root of two times its root mean square; its current meets the inductance of
    the bare coil too. What cores add to that is not counted.
    """
    drive, stackup = design.drive, design.board.stackup
    voltage = drive.voltage
    if voltage is None:
        level, shares = drive.current or 0.0, trace_shares(coil, stackup)
        voltage = level * math.hypot(_resistance(coil, shares, stackup), _reactance(design, coil, shares))
    return voltage * math.sqrt(2) if drive.waveform == "sine" else voltage


def spacing(column: str, voltages: Reals) -> Reals:
    """Least spacing by the table, m, for voltages (n,) within it.

    >>> spacing("outer-bare", np.array([15.0, 48.0])).tolist()
    [0.0001, 0.0006]
    """
    return least_spacing(TABLE, column, voltages)


def inner_spacing(voltage: float) -> float | None:
    """Least spacing inside the board by the table, m; None for a voltage beyond it."""
    beyond = voltage > highest_voltage(TABLE, "inner")
    return None if beyond else float(spacing("inner", np.array([voltage]))[0])


def _resistance(coil: Coil, shares: Sequence[float], stackup: Stackup) -> float:
    """By the heat of each trace's share of the current, ohm."""
    squares = [
        share**2 * trace.path.length / trace.width / stackup.copper[trace.layer - 1]
        for share, trace in zip(shares, coil.traces, strict=True)
        if trace.layer <= stackup.layers
    ]
    return stackup.metal.resistivity * sum(squares)


def _reactance(design: Design, coil: Coil, shares: Sequence[float]) -> float:
    """What a sine's current meets besides, ohm: of the bare coil, leads included."""
    from coilgen.physics.inductance.winding import layer_inductances

    drive = design.drive
    if drive.waveform != "sine" or drive.frequency is None or drive.idle:
        return 0.0
    found = layer_inductances(conductor(coil, design.board.stackup))
    return math.tau * drive.frequency * found.shared(layer_shares(coil, shares))


def _gaps(voltages: _Seen, art: Art) -> Iterable[Finding]:
    """The worst gap of each layer: the one that lacks most."""
    board = voltages.board
    column = _columns(board, art)
    inner, bare, covered = (float(spacing(name, np.array([voltages.most]))[0]) for name in COLUMNS)
    # Bare copper, which needs by far the most, is little: it is searched apart, and told twice at no harm.
    near = _both(unjoined_gaps(board, max(inner, covered)), unjoined_gaps(board, bare, column == 1))
    seen = voltages.between(near.first, near.second)
    # A bare pad bares the gap to whatever is beside it.
    place = np.where(column[near.second] == 1, 1, column[near.first])
    needed = np.choose(place, [spacing(name, seen) for name in COLUMNS])
    # Copper that overlaps is a short, which the spacing rule tells.
    short = np.flatnonzero((near.value >= TOLERANCE) & (near.value < needed - TOLERANCE))
    for layer in sorted({*board.strokes.sheet[near.first[short]].tolist()}):
        here = short[board.strokes.sheet[near.first[short]] == layer]
        k = int(here[np.argmin(near.value[here] - needed[here])])
        yield _narrow(near, k, float(needed[k]), float(seen[k]), int(layer), len(here))


def _both(one: Gaps, other: Gaps) -> Gaps:
    return Gaps(
        first=np.concatenate([one.first, other.first]),
        second=np.concatenate([one.second, other.second]),
        value=np.concatenate([one.value, other.value]),
        at=np.concatenate([one.at, other.at]),
    )


def _columns(board: Copper, art: Art) -> Index:
    """The column of the table, as a place in COLUMNS, each stroke falls under."""
    layer = board.strokes.sheet
    outer = (layer == 1) | (layer == art.copper_layers)
    return np.where(outer, np.where(_bare(board, art), 1, 2), 0)


def _bare(board: Copper, art: Art) -> Mask:
    centres, layer = board.strokes.pieces.start, board.strokes.sheet
    bare = np.zeros(len(layer), bool)
    for opening in art.openings:
        side = 1 if opening.side == "top" else art.copper_layers
        here = (
            np.abs(centres - opening.at) <= COINCIDENT
            if opening.window is None
            else contains(opening.window, board.strokes.pieces.end)
        )
        bare |= (layer == side) & board.disc & here
    return bare


def _narrow(near: Gaps, k: int, needed: float, seen: float, layer: int, count: int) -> Finding:
    more = f" The worst of {count} places." if count > 1 else ""
    return Finding(
        rule="voltage_spacing",
        value=float(near.value[k]),
        limit=needed,
        unit="m",
        layer=layer,
        at=complex(near.at[k]),
        says=(
            f"Copper {measured_mm(float(near.value[k]), needed)} apart sees {seen:.3g} V, for which "
            f"IPC-2221 asks {in_mm(needed)}: raise the spacing there, or lower the drive voltage.{more}"
        ),
    )


def _dielectrics(stackup: Stackup, voltages: _Seen) -> Iterable[Finding]:
    """Dielectrics too thin for the largest voltage between the copper above and below."""
    floor = float(spacings(TABLE, "inner")[1][0])
    for upper in range(1, stackup.layers):
        pairs = [
            _across(voltages, upper, net, other)
            for net in range(len(voltages.board.nets))
            for other in range(len(voltages.board.nets))
        ]
        seen = max(pairs, default=0.0)
        needed = float(spacing("inner", np.array([seen]))[0])
        thickness = stackup.dielectric[upper - 1]
        if needed > floor and thickness < needed - TOLERANCE:
            yield _thin(thickness, needed, seen, upper)


def _across(voltages: _Seen, upper: int, net: int, other: int) -> float:
    """V, largest between a net's traces above a dielectric and a net's below it; 0 where they do not face."""
    board, shares = voltages.board, voltages.shares
    known = ~np.isnan(shares) & ~board.disc
    above, below = (
        np.flatnonzero(known & (board.strokes.sheet == layer) & (board.net == which))
        for layer, which in ((upper, net), (upper + 1, other))
    )
    if not len(above) or not len(below) or (net != other and not _facing(board, above, below)):
        return 0.0
    ends = [(side[np.argmin(shares[side])], side[np.argmax(shares[side])]) for side in (above, below)]
    (low, high), (least, most) = ends
    first, second = np.array([high, most]), np.array([least, low])
    if net != other:
        return float(voltages.between(first, second).max())
    return voltages.of(net) * max(float((shares[first] - shares[second]).max()), 0.0)


def _facing(board: Copper, above: Index, below: Index) -> bool:
    """Whether the rectangles that hold two groups of strokes overlap."""
    ends = [
        np.concatenate([board.strokes.pieces.start[side], board.strokes.pieces.end[side]])
        for side in (above, below)
    ]
    return all(
        min(a.max(), b.max()) > max(a.min(), b.min())
        for a, b in ((ends[0].real, ends[1].real), (ends[0].imag, ends[1].imag))
    )


def _thin(thickness: float, needed: float, seen: float, layer: int) -> Finding:
    return Finding(
        rule="voltage_spacing",
        value=thickness,
        limit=needed,
        unit="m",
        layer=layer,
        at=None,
        says=(
            f"{in_mm(thickness)} of dielectric under layer {layer} sees {seen:.3g} V, for which "
            f"IPC-2221 asks {in_mm(needed)}: choose a thicker dielectric, or lower the drive voltage."
        ),
    )


def _beyond(voltage: float, highest: float, *, several: bool) -> Finding:
    where = "between windings" if several else "across the coil"
    return Finding(
        rule="voltage_spacing",
        value=voltage,
        limit=highest,
        unit="V",
        layer=None,
        at=None,
        says=(
            f"{voltage:.4g} V {where} is beyond the spacing table's {highest:g} V: "
            "have the insulation designed by someone licensed for it, or lower the drive voltage."
        ),
    )


RULE = Rule(
    name="voltage_spacing",
    says="spacing for the voltage between conductors, IPC-2221 table 6-1",
    unit="m",
    check=check,
)
