"""SPICE sub-circuits of the coil, in place and bare: copper that warms, the ladder, the capacitance."""

import math
from collections.abc import Iterator
from itertools import combinations

from coilgen.exports.simulation._circuit import NamedCircuit, circuits, highest
from coilgen.exports.simulation._coupled import Coupled, coupled
from coilgen.frozen import dataclass
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
    if result.windings:
        return _of_several(result)
    found = circuits(result)
    if not found:
        return {}
    name = result.design.name
    warmth = result.design.board.stackup.metal.temperature_coefficient
    lines = [
        f"* {name}: equivalent circuits of the coil between terminals 1 and 2, {_range(result)}",
        *(f"* {_named(name, each)}: {'; '.join(each.says)}" for each in found),
        f"* R0: the copper at {REFERENCE_TEMPERATURE} degC, warmed by its model; the ladder: skin and "
        "proximity effect; C0: the winding's capacitance, without its dielectric's loss",
        *(line for each in found for line in _subcircuit(name, each, warmth)),
    ]
    return {f"{name}.cir": ("\n".join(lines) + "\n").encode("ascii")}


def _of_several(result: Result) -> dict[str, bytes]:
    """One sub-circuit with two pins for each winding."""
    found = coupled(result)
    if found is None:
        return {}
    name, warmth = result.design.name, result.design.board.stackup.metal.temperature_coefficient
    count = found.terminals
    lines = [
        f"* {name}: {len(found.names)} {_what(found)}, {_range(result)}, {found.near}",
        *(
            f"* {each}: pins {first} and {second}"
            for each, (first, second) in zip(found.names, found.nodes, strict=True)
        ),
        f"* R: the copper at {REFERENCE_TEMPERATURE} degC, warmed by its model; K: mutual inductances; "
        "C: capacitances, those between two windings halved to both ends",
        *_left_out(result, found),
        f".SUBCKT {subcircuit(name)} {' '.join(str(pin) for pin in range(1, count + 1))}",
        *_coupled_elements(found),
        f".MODEL {COPPER} R(TC1={warmth:.6G} TNOM={REFERENCE_TEMPERATURE})",
        f".ENDS {subcircuit(name)}",
    ]
    return {f"{name}.cir": ("\n".join(lines) + "\n").encode("ascii")}


def _range(result: Result) -> str:
    return f"from direct current to {highest(result) / 1e6:g} MHz"


def _what(found: Coupled) -> str:
    return "windings" if found.by_winding else "phases, joined at their ends"


def _left_out(result: Result, found: Coupled) -> Iterator[str]:
    if result.design.array is not None and result.design.array.joined:
        yield "* Skin and proximity effect are left out: each phase is the copper of several coils"
    elif found.simple:
        yield "* Skin and proximity effect are left out: the windings are coupled too closely"


def _coupled_elements(found: Coupled) -> Iterator[str]:
    for number, (circuit, ends) in enumerate(zip(found.own, found.nodes, strict=True), start=1):
        yield from _elements(circuit, Pins(ends=ends, winding=f"{number}_"))
    for one, other in combinations(range(len(found.own)), 2):
        factor = found.mutual[one, other] / math.sqrt(found.own[one].inductance * found.own[other].inductance)
        if factor:
            yield f"K{one + 1}_{other + 1} L{one + 1}_0 L{other + 1}_0 {factor:.9E}"
    for (one, other), value in found.between.items():
        for end in (1, 2):
            pins = f"{2 * one + end} {2 * other + end}"
            yield f"C{one + 1}_{other + 1}_{end} {pins} {value / 2:.9E}"


@dataclass(frozen=True, kw_only=True)
class Pins:
    """The two pins of a winding, and what the names of its elements and nodes begin with."""

    ends: tuple[str, str] = ("1", "2")
    winding: str = ""


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
    yield from _elements(each.circuit, Pins())
    yield f".MODEL {COPPER} R(TC1={warmth:.6G} TNOM={REFERENCE_TEMPERATURE})"
    yield f".ENDS {_named(name, each)}"


def _elements(circuit: EquivalentCircuit, pins: Pins) -> Iterator[str]:
    own, (first, second) = pins.winding, pins.ends
    ladder = [
        *([(0, circuit.inductance)] if circuit.inductance > 0 else []),
        *((stage, float(value)) for stage, value in enumerate(circuit.stage_inductance, start=1)),
    ]
    nodes = [*(f"N{own}{k}" for k in range(1, len(ladder) + 1)), second]
    yield f"R{own}0 {first} {nodes[0]} {circuit.resistance:.9E} {COPPER}"
    for (stage, value), start, end in zip(ladder, nodes[:-1], nodes[1:], strict=True):
        yield f"L{own}{stage} {start} {end} {value:.9E}"
        if stage:
            yield f"R{own}{stage} {start} {end} {float(circuit.stage_resistance[stage - 1]):.9E}"
    if circuit.capacitance > 0:
        yield f"C{own}0 {first} {second} {circuit.capacitance:.9E}"


EXPORT = Export(
    name="circuit_netlist",
    says="SPICE sub-circuits of the coil, in place and bare",
    reader="simulator",
    paths=("<name>.cir",),
    files=files,
)
