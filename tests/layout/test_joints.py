"""Joints of arrays: read back from their Gerber and drill files, phase by phase, and clear of one another."""

import cmath
import math
from itertools import chain

import numpy as np
import pytest
from array_windings import WINDING
from board_reader import read_board
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from coilgen.catalogue import specimens
from coilgen.design.reading import read_tables
from coilgen.errors import DesignError
from coilgen.job import check

APART = 12.0
"""mm, between neighbouring coils."""
SAME = 1e-6
"""m, within which copper ends at one place."""


def joined(count=6, arrangement="ring", winding=None, **array):
    placed = {
        "ring": {"count": count, "radius": APART / (2 * math.sin(math.pi / max(count, 2)))},
        "row": {"count": count, "pitch": APART},
        "grid": {"columns": count // 2, "rows": 2, "pitch": [APART, 2 * APART]},
    }[arrangement]
    tables = {"arrangement": arrangement, "coils": "series", **placed, **array}
    return read_tables({"name": "joined", "winding": {**WINDING, **(winding or {})}, "array": tables})


class Read:
    """Copper of a result's files as a network of resistances, and where the coils' centres lie."""

    def __init__(self, result):
        exports = specimens("coilgen.exports", "EXPORT")
        files = dict(chain.from_iterable(exports[name].files(result).items() for name in ("gerber", "drill")))
        board = read_board(files)
        draws = [(layer, draw) for layer, sheet in board.copper.items() for draw in sheet.image.draws]
        ends = [(layer, at) for layer, draw in draws for at in (draw.start, draw.end)]
        spots = [(layer, flash.at) for layer, sheet in board.copper.items() for flash in sheet.flashes]
        places = [*ends, *spots]
        through = [hole.at for hole in board.holes if hole.plated]
        # A plated hole makes its layers one: they are told apart by a height that is then left out.
        flat = [
            (at.real, at.imag, 0.0 if min(abs(at - hole) for hole in through) < SAME else layer)
            for layer, at in places
        ]
        one, other = cKDTree(np.array(flat)).query_pairs(SAME, output_type="ndarray").T
        near = coo_array((np.ones(len(one)), (one, other)), shape=(len(flat), len(flat)))
        node = connected_components(near, directed=False)[1]
        self.start, self.end = node[0 : len(ends) : 2], node[1 : len(ends) : 2]
        self.draws = [draw for _, draw in draws]
        self.conductance = np.array([draw.width / abs(draw.end - draw.start) for draw in self.draws])
        self.nodes = int(node.max()) + 1
        pins = [flash.pin for sheet in board.copper.values() for flash in sheet.flashes]
        self.pins = {pin[1]: node[len(ends) + k] for k, pin in enumerate(pins) if pin is not None and pin[1]}

    def currents(self, source, sink):
        """Of each draw, for one ampere from a terminal to another."""
        incidence = np.zeros((len(self.draws), self.nodes))
        incidence[np.arange(len(self.draws)), self.start] += 1
        incidence[np.arange(len(self.draws)), self.end] -= 1
        injected = np.zeros(self.nodes)
        injected[self.pins[source]], injected[self.pins[sink]] = 1, -1
        laplacian = incidence.T @ (self.conductance[:, None] * incidence)
        potential = np.linalg.lstsq(laplacian, injected, rcond=1e-12)[0]
        assert np.allclose(laplacian @ potential, injected, atol=1e-6), "no way from terminal to terminal"
        return self.conductance * (incidence @ potential)

    def ampere_areas(self, design, source, sink):
        """Of each coil, area times current about its centre, m2 A, of what lies within its size."""
        found = np.zeros(len(design.windings))
        centres = np.array([each.centre for each in design.windings])
        for draw, current in zip(self.draws, self.currents(source, sink), strict=True):
            middle = (draw.start + draw.end) / 2
            k = int(np.argmin(abs(centres - middle)))
            turn = cmath.exp(-1j * math.radians(design.windings[k].rotation))
            ends = [(end - centres[k]) * turn for end in (draw.start, middle, draw.end)]
            if max(max(abs(at.real), abs(at.imag)) for at in ends) < 4.2e-3:
                start, end = draw.start - centres[k], draw.end - centres[k]
                found[k] += current * (start.conjugate() * end).imag / 2
        return found


def pairs_and_currents(array, design):
    """Pairs of terminals, and what then flows in the coils, odd terminal to even, by ideal joints."""
    count = array.phase_count
    alike = 1.0 if array.coils == "series" else count / len(design.windings)
    if array.connection == "star":
        phases = {("1", "2"): (1, -1, 0), ("2", "3"): (0, 1, -1)}
    elif array.connection == "delta":
        phases = {("1", "2"): (2 / 3, -1 / 3, -1 / 3), ("2", "3"): (-1 / 3, 2 / 3, -1 / 3)}
    else:
        phases = {("1", "2"): (1, 0, 0), ("5", "6"): (0, 0, 1)}
    return {
        pair: np.array([alike * each.sense * shares[each.phase] for each in design.windings])
        for pair, shares in phases.items()
    }


def read_back(design):
    result = check(design)
    assert [finding.says for finding in result.findings] == []
    read = Read(result)
    turn = 3 * 2 * (7e-3) ** 2  # turns of a layer, layers, their middle one's area
    way = 1 if design.windings[0].design.winding.direction == "counterclockwise" else -1
    for (source, sink), wanted in pairs_and_currents(design.array, design).items():
        found = way * read.ampere_areas(design, source, sink) / turn
        uneven = 0.05 if design.array.coils == "series" and design.array.connection != "delta" else 0.75
        assert np.allclose(found, wanted, atol=uneven * np.abs(wanted).max()), (found, wanted)
        assert found @ wanted > 0.8 * wanted @ wanted
    return result


@pytest.mark.parametrize("connection", ["open", "star", "delta"])
@pytest.mark.parametrize("coils", ["series", "parallel"])
def test_nine_coils_of_eight_poles_are_joined_as_told(coils, connection):
    read_back(joined(9, coils=coils, connection=connection, phase_order="AaABbBCcC"))


@settings(max_examples=9, deadline=None, phases=[Phase.reuse, Phase.generate])  # shrinking takes minutes
@given(
    arrangement=st.sampled_from(["ring", "row", "grid"]),
    turned=st.booleans(),
    order=st.permutations("ABCABC") | st.permutations("AaBbCcABCabc"),
    coils=st.sampled_from(["series", "parallel"]),
    connection=st.sampled_from(["open", "star", "delta"]),
    direction=st.sampled_from(["counterclockwise", "clockwise"]),
    width=st.sampled_from([0.8, 1.2]),
)
def test_every_order_is_joined_as_told_and_keeps_its_spacing(
    arrangement, turned, order, coils, connection, direction, width
):
    side = "inside" if arrangement == "ring" else "above"
    more = {"joint_width": width, **({"joints": side} if turned else {})}
    count = len(order)
    if arrangement == "ring" and turned:
        more["radius"] = 40.0
    result = read_back(
        joined(
            count,
            arrangement,
            {"direction": direction},
            phase_order="".join(order),
            coils=coils,
            connection=connection,
            **more,
        )
    )
    lines = {"open": 6, "star": 3, "delta": 3}[connection]
    assert [terminal.number for terminal in result.coil.terminals] == list(range(1, lines + 1))


def test_neighbours_in_series_need_no_further_layer():
    joints = check(joined(6, phases=2, phase_order="AAABBB", connection="open")).joints
    assert {trace.layer for trace in joints} == {1}
    assert {trace.layer for trace in check(joined(6, phase_order="ABCABC")).joints} == {1, 2}


def test_three_rows_of_a_grid_are_joined_by_trunks_in_the_west():
    array = {"columns": 3, "rows": 3, "phase_order": "AbCcABBCa", "connection": "delta"}
    result = read_back(joined(9, "grid", **array))
    west = min(each.centre.real for each in result.design.windings) - 4e-3
    trunks = [trace for trace in result.coil.traces if trace.path.start.real < west > trace.path.end.real]
    assert {trace.layer for trace in trunks} == {1}
    assert {round(trace.path.length * 1e3) for trace in trunks if trace.path.length > 20e-3}


def test_crowded_coils_are_told_with_the_length_that_would_do():
    with pytest.raises(DesignError) as caught:
        check(joined(9, coils="open", radius=10))
    (fault,) = caught.value.faults
    assert fault.key == "array.radius" and "9 coils of 8 mm need a radius of" in fault.says
    least = float(fault.says.split("a radius of ")[1].split(" mm")[0])
    sound = check(joined(9, coils="open", radius=least + 0.02))
    assert sound.art is not None
    with pytest.raises(DesignError):
        check(joined(9, coils="open", radius=least - 0.3))
