"""Distances between windings that are to be isolated from one another for a voltage.

On the outer layers the larger of clearance and creepage of IEC 60664-1 (data/isolation.toml says which), as a
way over the surface is one through air too. Inside the board, along a layer and through dielectrics, the
spacing of IPC-2221's inner layers: the standards on safety ask more of insulation that is to protect people.
"""

from collections.abc import Iterable, Iterator
from itertools import combinations

import numpy as np

from coilgen.artwork.art import Art
from coilgen.artwork.copper_pieces import Copper, copper
from coilgen.artwork.gaps import unjoined_gaps
from coilgen.design.design import Design
from coilgen.design.stackup import Stackup
from coilgen.geometry.clearance import Gaps, gaps, near_pairs_between
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule, place_in_mm
from coilgen.rules._between import between_nets, by_nets, named, one_layer, where_told
from coilgen.rules._by_voltage import highest_voltage, least_spacing
from coilgen.rules._places import TOLERANCE, shorted
from coilgen.rules.voltage_spacing import TABLE, inner_spacing
from coilgen.units import in_mm, measured_mm

NAME = "isolation"
_OUTSIDE = ("clearance", "creepage")


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Gaps on outer and inner layers, then dielectrics, that are small for the isolation voltage."""
    voltage = design.rules.isolation_voltage
    if voltage is None or not design.windings:
        return
    outer, inner = surface_distance(voltage), inner_spacing(voltage)
    if outer is None or inner is None:
        yield _beyond(voltage)
        return
    board = copper(art)
    found = unjoined_gaps(board, max(outer, inner) - TOLERANCE)
    near = found.where(between_nets(board, found))
    layer = board.strokes.sheet[near.first]
    faces = (layer == 1) | (layer == art.copper_layers)
    for here, limit, why in ((faces, outer, _SURFACE), (~faces, inner, _INSIDE)):
        yield from _gaps(board, near.where(here), limit, voltage, why)
    yield from _dielectrics(design.board.stackup, board, inner, voltage)


def surface_distance(voltage: float) -> float | None:
    """The larger of clearance and creepage, m; None beyond the tables.

    >>> surface_distance(230.0)
    0.0025
    """
    if voltage > min(highest_voltage(NAME, name) for name in _OUTSIDE):
        return None
    return max(float(least_spacing(NAME, name, np.array([voltage]))[0]) for name in _OUTSIDE)


_SURFACE = "IEC 60664-1 asks {limit} over the surface (basic insulation, pollution degree 2)"
_INSIDE = "IPC-2221 asks {limit} inside the board"


def _gaps(board: Copper, near: Gaps, limit: float, voltage: float, why: str) -> Iterator[Finding]:
    """One for each two windings, at their nearest place."""
    for nets, each in by_nets(board, near.where(near.value < limit - TOLERANCE)):
        value, layers = float(each.value[0]), board.strokes.sheet[each.first]
        yield Finding(
            rule=NAME,
            value=value,
            limit=limit,
            unit="m",
            layer=one_layer(layers),
            at=complex(each.at[0]),
            says=(
                f"{named(nets)} {_how_near(value, limit, each.at[0])}; for {voltage:g} V between them "
                f"{why.format(limit=in_mm(limit))}: move them apart, or lower rules.isolation_voltage."
                f"{where_told(layers)}"
            ),
        )


def _how_near(gap: float, limit: float, at: complex) -> str:
    short = shorted(gap)
    if short is None:
        return f"come within {measured_mm(gap, limit)}"
    return f"{short}, at {place_in_mm(at)} mm"


def _dielectrics(stackup: Stackup, board: Copper, limit: float, voltage: float) -> Iterator[Finding]:
    """Ways through dielectrics from a winding to another that lies over it, or nearly."""
    for upper, lower in combinations(range(1, stackup.layers + 1), 2):
        thickness = sum(stackup.dielectric[upper - 1 : lower - 1])
        if thickness >= limit - TOLERANCE:
            continue
        near = _across(board, upper, lower, limit)
        through = np.hypot(np.maximum(near.value, 0.0), thickness)
        if len(near) and through.min() < limit - TOLERANCE:
            nearest = int(through.argmin())
            yield Finding(
                rule=NAME,
                value=float(through[nearest]),
                limit=limit,
                unit="m",
                layer=upper,
                at=complex(near.at[nearest]),
                says=(
                    f"{in_mm(float(through[nearest]))} of dielectric stand between windings on layers "
                    f"{upper} and {lower}; for {voltage:g} V between them "
                    f"{_INSIDE.format(limit=in_mm(limit))}: "
                    "choose a thicker dielectric, other layers, or windings side by side."
                ),
            )


def _across(board: Copper, upper: int, lower: int, limit: float) -> Gaps:
    """Gaps between copper of two nets on two layers, seen from the top."""
    above, below = (np.flatnonzero(board.strokes.sheet == layer) for layer in (upper, lower))
    over, under = (board.strokes.take(side) for side in (above, below))
    near = gaps(over, under, near_pairs_between(over, under, limit))
    return near.where(board.net[above[near.first]] != board.net[below[near.second]])


def _beyond(voltage: float) -> Finding:
    highest = min(*(highest_voltage(NAME, name) for name in _OUTSIDE), highest_voltage(TABLE, "inner"))
    return Finding(
        rule=NAME,
        value=voltage,
        limit=highest,
        unit="V",
        layer=None,
        at=None,
        says=(
            f"{voltage:.4g} V between windings is beyond the tables of distances: "
            "have the insulation designed by someone licensed for it."
        ),
    )


RULE = Rule(
    name=NAME,
    says="distance between windings for an isolation voltage: IEC 60664-1 outside, IPC-2221 inside the board",
    unit="m",
    check=check,
)
