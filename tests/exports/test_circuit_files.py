"""Circuit files: the netlist, solved by an own nodal solver, and the one-port behave like the figures."""

import re
from dataclasses import replace

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


ADDED = 7e-6
"""H, what a core adds below."""


def with_core(result: Result) -> Result:
    """The result as if a core stood at the coil."""
    bare = result.figures["inductance"]
    whole = replace(bare, name="inductance_in_place", says="with the core", value=bare.value + ADDED)
    return replace(result, figures={**result.figures, "inductance_in_place": whole})


def netlist(result: Result) -> str:
    (text,) = circuit_netlist.files(result).values()
    return text.decode("ascii")


def elements(text: str, name: str = "COIL_2ND_TRY") -> list[tuple[str, str, str, float]]:
    """Name, two nodes and value of each element of a sub-circuit."""
    begin, end = f".SUBCKT {name} 1 2\n", f".ENDS {name}\n"
    assert text.count(begin) == text.count(end) == 1
    lines = text.split(begin)[1].split(end)[0].splitlines()
    return [(*line.split()[:3], float(line.split()[3])) for line in lines if not line.startswith(".")]


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
    parts = [part for part in elements(netlist(result)) if part[0] != "C0"]
    for row in result.figures["impedance"].value:
        found = nodal_impedance(parts, row["frequency"])
        assert found.real == pytest.approx(row["resistance"], rel=0.03)
        assert found.imag / (2 * np.pi * row["frequency"]) == pytest.approx(row["inductance"], rel=0.01)


def test_netlist_resonates_where_the_figure_says(result: Result) -> None:
    parts = elements(netlist(result))
    resonance = result.figures["self_resonance"].value
    frequencies = resonance * np.linspace(0.8, 1.3, 251)
    highest = frequencies[np.argmax([abs(nodal_impedance(parts, f)) for f in frequencies])]
    assert highest == pytest.approx(resonance, rel=0.1)


def test_copper_warms_by_its_model_and_other_lines_hold_name_nodes_and_value(result: Result) -> None:
    text = netlist(result)
    assert text.count(".MODEL COPPER R(TC1=0.00393 TNOM=20)\n") == 2
    parts = [line for line in text.splitlines() if line[0] not in "*."]
    assert [line.split()[0] for line in parts if len(line.split()) != 4] == ["R0", "R0"]
    assert re.findall(r"^R0 1 N1 \S+ COPPER$", text, re.MULTILINE) == [
        line for line in parts if line.startswith("R0")
    ]


@pytest.mark.parametrize("suffix", ["", "-bare"])
def test_one_port_reflects_as_the_netlist_does(result: Result, suffix: str) -> None:
    cored = with_core(result)
    text = touchstone.files(cored)[f"2nd-try{suffix}.s1p"]
    parts = elements(netlist(cored), "COIL_2ND_TRY" + suffix.upper().replace("-", "_"))
    lines = [line for line in text.decode("ascii").splitlines() if not line.startswith("!")]
    assert lines[0] == "# HZ S RI R 50"
    rows = np.array([[float(number) for number in line.split()] for line in lines[1:]])
    assert np.all(np.diff(rows[:, 0]) > 0)
    for frequency, real, imaginary in rows[::8]:
        impedance = nodal_impedance(parts, frequency)
        assert complex(real, imaginary) == pytest.approx((impedance - 50) / (impedance + 50), abs=1e-6)
        assert abs(complex(real, imaginary)) < 1


def test_in_place_a_core_adds_its_inductance_at_every_frequency(result: Result) -> None:
    text = netlist(with_core(result))
    for frequency in (1e3, 1e5, 1e7):
        bare, in_place = (
            nodal_impedance([part for part in elements(text, name) if part[0] != "C0"], frequency)
            for name in ("COIL_2ND_TRY_BARE", "COIL_2ND_TRY")
        )
        added = 2j * np.pi * frequency * ADDED
        assert in_place == pytest.approx(bare + added, rel=1e-6)


def test_without_bodies_the_coil_in_place_is_the_bare_one(result: Result) -> None:
    assert elements(netlist(result)) == elements(netlist(result), "COIL_2ND_TRY_BARE")
    in_place, bare = (touchstone.files(result)[name].decode() for name in ("2nd-try.s1p", "2nd-try-bare.s1p"))
    assert in_place.partition("#")[2] == bare.partition("#")[2]


def test_heads_say_what_stands_at_the_coil(result: Result) -> None:
    alone, bare = "nothing magnetic stands at it", "bare coil: no core"
    for each, says in ((result, alone), (with_core(result), "with the core, static")):
        files = {**touchstone.files(each), **circuit_netlist.files(each)}
        heads = {name: re.split(rb"^[.#]", text, flags=re.M)[0].decode() for name, text in files.items()}
        assert sorted(heads) == ["2nd-try-bare.s1p", "2nd-try.cir", "2nd-try.s1p"]
        assert says in heads["2nd-try.s1p"] and bare in heads["2nd-try-bare.s1p"]
        assert says in heads["2nd-try.cir"] and f"COIL_2ND_TRY_BARE: {bare}" in heads["2nd-try.cir"]


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
