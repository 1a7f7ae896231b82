"""Touchstone one-ports, version 1, of the coil in place and bare: reflection, 50 ohm, from 1 kHz."""

from collections.abc import Iterator

import numpy as np

from coilgen.exports.simulation._circuit import NamedCircuit, circuits, highest
from coilgen.exports.simulation._coupled import Coupled, Floats, coupled, impedance_matrix
from coilgen.physics.circuit.equivalent_circuit import EquivalentCircuit, impedance, reflection
from coilgen.result.export import Export
from coilgen.result.result import Result

REFERENCE = 50.0
_LOWEST, _A_DECADE = 3.0, 20
"""Decade of Hz, and frequencies in each."""


def files(result: Result) -> dict[str, bytes]:
    """A file for each circuit, ASCII; none when the figures carry no circuit."""
    if result.windings:
        return _of_several(result)
    return dict(_file(result, each) for each in circuits(result))


def _frequencies(result: Result) -> Floats:
    """To 10 MHz, or to that of a faster sine, Hz."""
    last = np.log10(highest(result))
    return np.logspace(_LOWEST, last, round(_A_DECADE * (last - _LOWEST)) + 1)


def _file(result: Result, each: NamedCircuit) -> tuple[str, bytes]:
    name = result.design.name
    lines = [
        f"! {name}: equivalent circuit of the coil, cold copper, winding capacitance without loss included",
        *(f"! {line}" for line in each.says),
        f"# HZ S RI R {REFERENCE:g}",
        *_rows(each.circuit, _frequencies(result)),
    ]
    path = "-".join(filter(None, (name, each.suffix)))
    return f"{path}.s1p", ("\n".join(lines) + "\n").encode("ascii")


def _of_several(result: Result) -> dict[str, bytes]:
    """One file of as many ports as there are windings."""
    found = coupled(result)
    if found is None:
        return {}
    name, count = result.design.name, len(found.names) if found.by_winding else found.terminals - 1
    what = "windings" if found.by_winding else "phases"
    lines = [
        f"! {name}: {len(found.names)} {what}, cold copper, {found.near}",
        "! capacitance between windings is left out",
        *_ports(found),
        f"# HZ S RI R {REFERENCE:g}",
        *(line for frequency in _frequencies(result) for line in _matrix_rows(found, float(frequency))),
    ]
    return {f"{name}.s{count}p": ("\n".join(lines) + "\n").encode("ascii")}


def _ports(found: Coupled) -> Iterator[str]:
    if found.by_winding:
        for number, (each, (first, second)) in enumerate(zip(found.names, found.nodes, strict=True), start=1):
            yield f"! port {number}: {each}, from terminal {first} to terminal {second}"
        return
    for number in range(1, found.terminals):
        yield f"! port {number}: from terminal {number} to terminal {found.terminals}"


def _matrix_rows(found: Coupled, frequency: float) -> Iterator[str]:
    """Rows of a matrix on lines of their own, of at most four pairs; two ports on one, by columns.

    Touchstone File Format Specification, version 1.1, EIA/IBIS Open Forum, 2002.
    """
    z = impedance_matrix(found, frequency)
    one = np.eye(len(z))
    waves = np.linalg.solve((z / REFERENCE + one).T, (z / REFERENCE - one).T).T
    rows = [waves.T.ravel()] if len(waves) < 3 else list(waves)
    lines = [row[start : start + 4] for row in rows for start in range(0, len(row), 4)]
    for number, line in enumerate(lines):
        told = " ".join(f"{wave.real:.12E} {wave.imag:.12E}" for wave in line)
        yield f"{frequency:.9E} {told}" if number == 0 else told


def _rows(circuit: EquivalentCircuit, frequencies: Floats) -> Iterator[str]:
    waves = reflection(impedance(circuit, frequencies), REFERENCE)
    for frequency, wave in zip(frequencies, waves, strict=True):
        yield f"{frequency:.9E} {wave.real:.12E} {wave.imag:.12E}"


EXPORT = Export(
    name="touchstone",
    says="Touchstone networks of the coil, in place and bare, or of several windings",
    reader="simulator",
    paths=("<name>.s1p", "<name>-bare.s1p", "<name>.s<ports>p"),
    files=files,
)
