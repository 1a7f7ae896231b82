"""Circuit files: the netlist, solved by an own nodal solver, and the one-port behave like the figures."""

import re

import numpy as np
import pytest

from coilgen.design.reading import read_text
from coilgen.exports.simulation import circuit_netlist, touchstone
from coilgen.job import predict
from coilgen.result.result import Result

DESIGN = """
name = "2nd-try"
[winding]
shape = "{shape}"
connection = "{connection}"
layers = 2
turns = 8
trace_width = 0.3
trace_spacing = 0.2
outer_size = 20
"""


@pytest.fixture(scope="module", params=[("round", "series"), ("square", "series"), ("round", "parallel")])
def result(request: pytest.FixtureRequest) -> Result:
    shape, connection = request.param
    return predict(read_text(DESIGN.format(shape=shape, connection=connection)))


def elements(text: str) -> list[tuple[str, str, str, float]]:
    """Name, two nodes and value of each element of a netlist with one sub-circuit."""
    lines = [line for line in text.splitlines() if not line.startswith("*")]
    assert re.fullmatch(r"\.SUBCKT [A-Z]\w* 1 2", lines[0])
    assert lines[-1] == ".ENDS " + lines[0].split()[1]
    return [(*line.split()[:3], float(line.split()[3])) for line in lines[1:-1]]


def nodal_impedance(parts: list[tuple[str, str, str, float]], frequency: float) -> complex:
    """Between nodes 1 and 2 by nodal analysis, node 2 at zero."""
    omega = 2 * np.pi * frequency
    nodes = sorted({node for part in parts for node in part[1:3]} - {"2"})
    matrix = np.zeros((len(nodes), len(nodes)), complex)
    for name, start, end, value in parts:
        admittance = {"R": 1 / value, "L": 1 / (1j * omega * value), "C": 1j * omega * value}[name[0]]
        at = [nodes.index(node) for node in (start, end) if node != "2"]
        for i in at:
            for j in at:
                matrix[i, j] += admittance if i == j else -admittance
    drive = np.zeros(len(nodes), complex)
    drive[nodes.index("1")] = 1.0
    return complex(np.linalg.solve(matrix, drive)[nodes.index("1")])


def test_netlist_without_its_capacitor_has_the_figures_impedance(result: Result) -> None:
    (text,) = circuit_netlist.files(result).values()
    parts = [part for part in elements(text.decode()) if part[0] != "C0"]
    for row in result.figures["impedance"].value:
        found = nodal_impedance(parts, row["frequency"])
        assert found.real == pytest.approx(row["resistance"], rel=0.03)
        assert found.imag / (2 * np.pi * row["frequency"]) == pytest.approx(row["inductance"], rel=0.01)


def test_netlist_resonates_where_the_figure_says(result: Result) -> None:
    (text,) = circuit_netlist.files(result).values()
    parts = elements(text.decode())
    resonance = result.figures["self_resonance"].value
    frequencies = resonance * np.linspace(0.8, 1.3, 251)
    highest = frequencies[np.argmax([abs(nodal_impedance(parts, f)) for f in frequencies])]
    assert highest == pytest.approx(resonance, rel=0.1)


def test_copper_warms_by_its_coefficient(result: Result) -> None:
    (text,) = circuit_netlist.files(result).values()
    assert re.search(r"^R0 1 \S+ \S+ TC1=0\.00393 TNOM=20$", text.decode(), re.MULTILINE)


def test_one_port_reflects_as_the_netlist_does(result: Result) -> None:
    (text,) = touchstone.files(result).values()
    (netlist,) = circuit_netlist.files(result).values()
    parts = elements(netlist.decode())
    lines = [line for line in text.decode("ascii").splitlines() if not line.startswith("!")]
    assert lines[0] == "# HZ S RI R 50"
    rows = np.array([[float(number) for number in line.split()] for line in lines[1:]])
    assert np.all(np.diff(rows[:, 0]) > 0)
    for frequency, real, imaginary in rows[::8]:
        impedance = nodal_impedance(parts, frequency)
        assert complex(real, imaginary) == pytest.approx((impedance - 50) / (impedance + 50), abs=1e-6)
        assert abs(complex(real, imaginary)) < 1


def test_parallel_layers_share_the_current_by_their_copper() -> None:
    """Side by side: resistance by the copper of both, inductance between one layer's own and the mutual."""
    both = predict(read_text(DESIGN.format(shape="round", connection="parallel")))
    text = DESIGN.format(shape="round", connection="series").replace("layers = 2", "layers = 1")
    alone = predict(read_text(text)).figures["resistance_20c"].value
    copper = both.design.board.stackup.copper
    pair = both.figures
    expected = alone * copper[0] / (copper[0] + copper[1])
    assert pair["resistance_20c"].value == pytest.approx(expected, rel=0.15)
    matrix = np.array(pair["layer_inductances"].value)
    assert matrix[0, 1] < pair["inductance"].value < matrix[0, 0] * 1.02
    assert pair["impedance"].value[-1]["inductance"] <= pair["inductance"].value
