"""Touchstone one-port of the coil, version 1: reflection against 50 ohm from 1 kHz to 10 MHz."""

import numpy as np

from coilgen.exports.simulation._circuit import equivalent
from coilgen.physics.circuit.equivalent_circuit import impedance, reflection
from coilgen.result.export import Export
from coilgen.result.result import Result

REFERENCE = 50.0
FREQUENCIES = np.logspace(3, 7, 81)


def files(result: Result) -> dict[str, bytes]:
    """One file, ASCII; none when the figures carry no circuit."""
    circuit = equivalent(result.figures)
    if circuit is None:
        return {}
    lines = [
        f"! {result.design.name}: equivalent circuit of the coil, cold copper, winding capacitance included",
        f"# HZ S RI R {REFERENCE:g}",
    ]
    waves = reflection(impedance(circuit, FREQUENCIES), REFERENCE)
    lines += [
        f"{frequency:.9E} {wave.real:.12E} {wave.imag:.12E}"
        for frequency, wave in zip(FREQUENCIES, waves, strict=True)
    ]
    return {f"{result.design.name}.s1p": ("\n".join(lines) + "\n").encode("ascii")}


EXPORT = Export(
    name="touchstone",
    says="Touchstone one-port of the coil",
    reader="simulator",
    paths=("<name>.s1p",),
    files=files,
)
