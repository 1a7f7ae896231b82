"""Several vias at each layer change: resistance and area by the nodal equations of the files' strokes."""

from itertools import pairwise

import figure_laws
import numpy as np
import pytest
from made import made

from coilgen.job import case_of
from coilgen.layout.via_rows import passed_once, via_rows

WINDING = {
    "shape": "round",
    "layers": 4,
    "turns": 2,
    "trace_width": 1,
    "trace_spacing": 0.3,
    "inner_size": 20,
}


def board(count, **more):
    return made({"name": "vias", "winding": {**WINDING, **more}, "via": {"count": count}}, whole=False)


@pytest.mark.parametrize("shape", ["round", "square", "racetrack", "heptagonal"])
@pytest.mark.parametrize(("layers", "count"), [(1, 2), (2, 1), (2, 3), (4, 4)])
def test_resistance_and_area_are_those_of_the_strokes(shape, layers, count):
    more = {"inner_size": [20, 12]} if shape == "racetrack" else {}
    found = board(count, shape=shape, layers=layers, **more)
    assert list(figure_laws.figures_agree(found)) == []


@pytest.mark.parametrize("count", [1, 2, 4])
def test_the_current_passes_a_row_once_and_without_a_leap(count):
    coil = board(count).result.coil
    rows = via_rows(coil)
    assert [len(row.places) for row in rows] == [count] * 3 * (count > 1)
    traces = passed_once(coil).traces
    for before, after in pairwise(traces):
        assert abs(before.path.end - after.path.start) < 1e-9
    row = sum(piece.length for found in rows for piece in found.row)
    left_out = sum(trace.path.length for trace in coil.traces) - sum(trace.path.length for trace in traces)
    assert left_out == pytest.approx(row)


def test_layers_side_by_side_let_their_shares_into_a_barrel_one_after_another():
    """Of few turns in thick copper the barrel is a tenth of the resistance."""
    winding = {"shape": "oval", "layers": 3, "turns": 1, "trace_width": 0.55, "connection": "parallel"}
    tables = {
        "name": "vias",
        "winding": {**winding, "trace_spacing": 0.15, "outer_size": [17, 8]},
        "board": {"stackup": "heavy-4-layer-1.6mm"},
        "via": {"drill": 0.38, "pad": 0.7},
        "rules": {"shop": "flex-standard"},
    }
    assert list(figure_laws.figures_agree(made(tables, whole=False))) == []


def test_inductance_counts_a_row_once():
    """More vias at a layer change lengthen rows, not turns: to 1 % the inductance stays."""
    one, four = (board(count).result for count in (1, 4))
    found = [_inductance(result) for result in (one, four)]
    assert found[1] == pytest.approx(found[0], rel=0.01)


def test_coils_beside_one_another_pass_rows_once():
    """Mutual inductance by Neumann's integral over the traces as the current passes them."""
    winding = {**WINDING, "layers": 2, "turns": 1, "inner_size": 10}
    row = {"arrangement": "row", "count": 2, "pitch": "26 mm"}
    sine = {"waveform": "sine", "frequency": "10 kHz", "current": 0.1}
    tables = {"name": "vias", "winding": winding, "via": {"count": 4}, "array": row, "drive": sine}
    result = made(tables, whole=False).result
    case = case_of(result.design, result.coil, result.art)
    places, steps = zip(*(_steps(each.coil, result.design) for each in case.windings), strict=True)
    apart = np.linalg.norm(places[0][:, None] - places[1], axis=2)
    neumann = 1e-7 * float(np.sum(steps[0] @ steps[1].T / apart))
    assert case.value("inductance_matrix")[0][1] == pytest.approx(neumann, rel=2e-3)
    assert case.value("temperature") > 25.0


def _steps(coil, design):
    """Middles and lengths of short steps along the current, from terminal to terminal and back, m."""
    corners = np.array(
        [
            (*_flat(piece.at(k / 50)), design.board.stackup.height(trace.layer))
            for trace in passed_once(coil).traces
            for piece in trace.path.segments
            for k in range(51)
        ]
    )
    back = corners[-1] + np.linspace(0, 1, 50)[:, None] * (corners[0] - corners[-1])
    corners = np.concatenate([corners, back])
    return (corners[1:] + corners[:-1]) / 2, np.diff(corners, axis=0)


def _flat(point):
    return point.real, point.imag


def _inductance(result):
    return case_of(result.design, result.coil, result.art).value("inductance")


@pytest.mark.parametrize(("turns", "told"), [(1.25, True), (5, False)])
def test_leads_of_layers_in_parallel_that_go_round_are_told(turns, told):
    """A quarter turn more lets one layer's lead, with all current, go round for three quarters."""
    more = {"connection": "parallel", "turns": turns, "layers": 5, "trace_width": 0.2}
    tables = {"name": "x", "winding": {**WINDING, **more}, "board": {"stackup": "rigid-8-layer-1.6mm"}}
    found = made(tables, whole=False).result.figures["resistance_20c"].cautions
    assert bool(found) == told
    assert all(says.startswith("Leads that carry the current of 5 layers in parallel") for says in found)
