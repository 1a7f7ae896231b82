"""Spacing by the voltage between conductors, IPC-2221 table 6-1: inner layers, outer ones bare or covered.

Along a coil the voltage falls with the length of its conductor, so neighbouring turns see a small share of
it, and pads that pass through other layers a large one. A dielectric between layers counts as inner spacing;
the least spacing of the table, which is there for etching's sake, does not apply to it.
"""

import math
from collections.abc import Iterable
from functools import cache

import numpy as np

from coilgen.artwork.art import Art
from coilgen.artwork.copper_pieces import COINCIDENT, Copper, conductor_shares, copper
from coilgen.artwork.gaps import unjoined_gaps
from coilgen.catalogue import rows
from coilgen.design.design import Design
from coilgen.design.stackup import Stackup
from coilgen.geometry.clearance import Gaps
from coilgen.geometry.distance import Index, Mask, Reals
from coilgen.layout.coil import Coil, Trace
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import TOLERANCE
from coilgen.units import in_mm, quantity

COLUMNS = ("inner", "outer-bare", "outer-covered")


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Gaps, then dielectrics, that are small for their voltage; a voltage beyond the table."""
    voltage = peak_voltage(design, coil)
    highest = float(_column("inner")[0][-1])
    if voltage > highest:
        yield _beyond(voltage, highest)
        voltage = highest
    board = copper(art)
    shares = conductor_shares(board)
    yield from _gaps(board, art, shares, voltage, 1 / coil.turns)
    yield from _dielectrics(design.board.stackup, board, shares, voltage)


def peak_voltage(design: Design, coil: Coil) -> float:
    """The highest voltage across the coil, V: as given, or what the given current needs at 20 degC.

    A sine's peak is the square root of two times its root mean square.
    """
    drive = design.drive
    voltage = drive.voltage
    if voltage is None:
        voltage = (drive.current or 0.0) * _resistance(coil.traces, design.board.stackup)
    return voltage * math.sqrt(2) if drive.waveform == "sine" else voltage


def spacing(column: str, voltages: Reals) -> Reals:
    """Least spacing by the table, m, for voltages (n,) within it.

    >>> spacing("outer-bare", np.array([15.0, 48.0])).tolist()
    [0.0001, 0.0006]
    """
    up_to, spacings = _column(column)
    least: Reals = spacings[np.searchsorted(up_to, voltages - 1e-9)]
    return least


@cache
def _column(name: str) -> tuple[Reals, Reals]:
    row = rows("voltage_spacing")[name]
    up_to, spacings = row["up_to"], row["spacing"]
    assert isinstance(up_to, list) and isinstance(spacings, list)
    return np.array(up_to, float), np.array([quantity(text, "length") for text in spacings])


def _resistance(traces: tuple[Trace, ...], stackup: Stackup) -> float:
    squares = [
        trace.path.length / trace.width / stackup.copper[trace.layer - 1]
        for trace in traces
        if trace.layer <= stackup.layers
    ]
    return stackup.metal.resistivity * sum(squares)


def _gaps(board: Copper, art: Art, shares: Reals, voltage: float, turn: float) -> Iterable[Finding]:
    """The worst gap of each layer: the one that lacks most."""
    column = _columns(board, art)
    inner, bare, covered = (float(spacing(name, np.array([voltage]))[0]) for name in COLUMNS)
    # Bare copper, which needs by far the most, is little: it is searched apart, and told twice at no harm.
    near = _both(unjoined_gaps(board, max(inner, covered)), unjoined_gaps(board, bare, column == 1))
    apart = np.nan_to_num(np.abs(shares[near.first] - shares[near.second]), nan=1.0)
    seen = voltage * np.minimum(np.maximum(apart, turn), 1.0)
    # A bare pad bares the gap to whatever is beside it.
    place = np.where(column[near.second] == 1, 1, column[near.first])
    needed = np.choose(place, [spacing(name, seen) for name in COLUMNS])
    # Copper that overlaps is a short, which the spacing rule tells.
    short = np.flatnonzero((near.value > 0) & (near.value < needed - TOLERANCE))
    for layer in np.unique(board.strokes.sheet[near.first[short]]):
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
        bare |= (layer == side) & board.disc & (np.abs(centres - opening.at) <= COINCIDENT)
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
            f"Copper {in_mm(float(near.value[k]))} apart sees {seen:.3g} V, for which IPC-2221 asks "
            f"{in_mm(needed)}: raise the spacing there, or lower the drive voltage.{more}"
        ),
    )


def _dielectrics(stackup: Stackup, board: Copper, shares: Reals, voltage: float) -> Iterable[Finding]:
    """Dielectrics too thin for the largest voltage between the copper above and below."""
    floor = float(_column("inner")[1][0])
    layer, known = board.strokes.sheet, ~np.isnan(shares) & ~board.disc
    for upper in range(1, stackup.layers):
        facing = [shares[known & (layer == side)] for side in (upper, upper + 1)]
        if not all(len(side) for side in facing):
            continue
        above, below = facing
        seen = voltage * max(float(above.max() - below.min()), float(below.max() - above.min()))
        needed = float(spacing("inner", np.array([seen]))[0])
        thickness = stackup.dielectric[upper - 1]
        if needed > floor and thickness < needed - TOLERANCE:
            yield _thin(thickness, needed, seen, upper)


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


def _beyond(voltage: float, highest: float) -> Finding:
    return Finding(
        rule="voltage_spacing",
        value=voltage,
        limit=highest,
        unit="V",
        layer=None,
        at=None,
        says=(
            f"{voltage:.4g} V across the coil is beyond the spacing table's {highest:g} V: "
            "have the insulation designed by someone licensed for it, or lower the drive voltage."
        ),
    )


RULE = Rule(
    name="voltage_spacing",
    says="spacing for the voltage between conductors, IPC-2221 table 6-1",
    unit="m",
    check=check,
)
