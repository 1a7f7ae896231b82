"""SPICE sub-circuits of the coil, in place and bare: copper that warms, the ladder, the capacitance."""

from collections.abc import Iterator

from coilgen.exports.simulation._circuit import NamedCircuit, circuits
from coilgen.physics.circuit.equivalent_circuit import EquivalentCircuit
from coilgen.result.export import Export
from coilgen.result.result import Result

COPPER = "COPPER"
"""Model of the resistor that warms. What a resistor's line takes differs from simulator to simulator, its
model does not: TC1, 1/K, and TNOM, degC (SPICE3 User's Manual, University of California, Berkeley, 1993)."""
REFERENCE_TEMPERATURE = 20
"""degC, of the resistance told."""


def files(result: Result) -> dict[str, bytes]:
    """One file, ASCII; none when the figures carry no circuit."""
    found = circuits(result)
    if not found:
        return {}
    name = result.design.name
    warmth = result.design.board.stackup.metal.temperature_coefficient
    lines = [
        f"* {name}: equivalent circuits of the coil between terminals 1 and 2, from direct current to 10 MHz",
        *(f"* {_named(name, each)}: {' '.join(each.says)}" for each in found),
        f"* R0: the copper at {REFERENCE_TEMPERATURE} degC, warmed by its model; the ladder: skin and "
        "proximity effect; C0: the winding's capacitance",
        *(line for each in found for line in _subcircuit(name, each, warmth)),
    ]
    return {f"{name}.cir": ("\n".join(lines) + "\n").encode("ascii")}


def subcircuit(name: str) -> str:
    """A name that a netlist takes: begins with a letter, without signs.

    >>> subcircuit("2nd-try")
    'COIL_2ND_TRY'
    """
    return "COIL_" + name.upper().replace("-", "_")


def _named(name: str, each: NamedCircuit) -> str:
    return subcircuit("-".join(filter(None, (name, each.suffix))))


def _subcircuit(name: str, each: NamedCircuit, warmth: float) -> Iterator[str]:
    yield f".SUBCKT {_named(name, each)} 1 2"
    yield from _elements(each.circuit)
    yield f".MODEL {COPPER} R(TC1={warmth:.6G} TNOM={REFERENCE_TEMPERATURE})"
    yield f".ENDS {_named(name, each)}"


def _elements(circuit: EquivalentCircuit) -> Iterator[str]:
    ladder = [
        *([("L0", circuit.inductance)] if circuit.inductance > 0 else []),
        *((f"L{k}", float(value)) for k, value in enumerate(circuit.stage_inductance, start=1)),
    ]
    nodes = [*(f"N{k}" for k in range(1, len(ladder) + 1)), "2"]
    yield f"R0 1 {nodes[0]} {circuit.resistance:.9E} {COPPER}"
    for (name, value), start, end in zip(ladder, nodes[:-1], nodes[1:], strict=True):
        yield f"{name} {start} {end} {value:.9E}"
        stage = int(name[1:])
        if stage:
            yield f"R{stage} {start} {end} {float(circuit.stage_resistance[stage - 1]):.9E}"
    if circuit.capacitance > 0:
        yield f"C0 1 2 {circuit.capacitance:.9E}"


EXPORT = Export(
    name="circuit_netlist",
    says="SPICE sub-circuits of the coil, in place and bare",
    reader="simulator",
    paths=("<name>.cir",),
    files=files,
)
