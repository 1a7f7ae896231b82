"""SPICE sub-circuit of the coil: copper that warms, the ladder, the winding's capacitance."""

from collections.abc import Iterator

from coilgen.exports.simulation._circuit import equivalent
from coilgen.physics.circuit.equivalent_circuit import EquivalentCircuit
from coilgen.result.export import Export
from coilgen.result.result import Result

WARMTH = "TC1"
"""Linear temperature coefficient of a resistor, 1/K, as SPICE names it; its values hold at 20 degC."""


def files(result: Result) -> dict[str, bytes]:
    """One file, ASCII; none when the figures carry no circuit."""
    circuit = equivalent(result.figures)
    if circuit is None:
        return {}
    name = result.design.name
    lines = [
        f"* {name}: equivalent circuit of the coil between terminals 1 and 2, from direct current to 10 MHz",
        "* R0: the copper at 20 degC; the ladder: skin and proximity effect; C0: the winding's capacitance",
        f".SUBCKT {subcircuit(name)} 1 2",
        *_elements(circuit, result.design.board.stackup.metal.temperature_coefficient),
        f".ENDS {subcircuit(name)}",
    ]
    return {f"{name}.cir": ("\n".join(lines) + "\n").encode("ascii")}


def subcircuit(name: str) -> str:
    """A name that a netlist takes: begins with a letter, without signs.

    >>> subcircuit("2nd-try")
    'COIL_2ND_TRY'
    """
    return "COIL_" + name.upper().replace("-", "_")


def _elements(circuit: EquivalentCircuit, warmth: float) -> Iterator[str]:
    ladder = [
        *([("L0", circuit.inductance)] if circuit.inductance > 0 else []),
        *((f"L{k}", float(value)) for k, value in enumerate(circuit.stage_inductance, start=1)),
    ]
    nodes = [*(f"N{k}" for k in range(1, len(ladder) + 1)), "2"]
    yield f"R0 1 {nodes[0]} {circuit.resistance:.9E} {WARMTH}={warmth:.6G} TNOM=20"
    for (name, value), start, end in zip(ladder, nodes[:-1], nodes[1:], strict=True):
        yield f"{name} {start} {end} {value:.9E}"
        stage = int(name[1:])
        if stage:
            yield f"R{stage} {start} {end} {float(circuit.stage_resistance[stage - 1]):.9E}"
    if circuit.capacitance > 0:
        yield f"C0 1 2 {circuit.capacitance:.9E}"


EXPORT = Export(
    name="circuit_netlist",
    says="SPICE sub-circuit of the coil",
    reader="simulator",
    paths=("<name>.cir",),
    files=files,
)
