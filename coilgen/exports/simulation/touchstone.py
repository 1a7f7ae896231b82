"""Touchstone one-ports, version 1, of the coil in place and bare: reflection, 50 ohm, 1 kHz to 10 MHz."""

from collections.abc import Iterator

import numpy as np

from coilgen.exports.simulation._circuit import NamedCircuit, circuits
from coilgen.physics.circuit.equivalent_circuit import EquivalentCircuit, impedance, reflection
from coilgen.result.export import Export
from coilgen.result.result import Result

REFERENCE = 50.0
FREQUENCIES = np.logspace(3, 7, 81)


def files(result: Result) -> dict[str, bytes]:
    """A file for each circuit, ASCII; none when the figures carry no circuit."""
    return dict(_file(result.design.name, each) for each in circuits(result))


def _file(name: str, each: NamedCircuit) -> tuple[str, bytes]:
    lines = [
        f"! {name}: equivalent circuit of the coil, cold copper, winding capacitance included",
        *(f"! {line}" for line in each.says),
        f"# HZ S RI R {REFERENCE:g}",
        *_rows(each.circuit),
    ]
    path = "-".join(filter(None, (name, each.suffix)))
    return f"{path}.s1p", ("\n".join(lines) + "\n").encode("ascii")


def _rows(circuit: EquivalentCircuit) -> Iterator[str]:
    waves = reflection(impedance(circuit, FREQUENCIES), REFERENCE)
    for frequency, wave in zip(FREQUENCIES, waves, strict=True):
        yield f"{frequency:.9E} {wave.real:.12E} {wave.imag:.12E}"


EXPORT = Export(
    name="touchstone",
    says="Touchstone one-ports of the coil, in place and bare",
    reader="simulator",
    paths=("<name>.s1p", "<name>-bare.s1p"),
    files=files,
)
