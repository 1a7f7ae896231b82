"""Netlists run by ngspice: impedance between the pins of a sub-circuit."""

import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

CURRENT = 1.0
"""A, driven into pin 1, so that volts are ohms."""
STEPS = 2000
"""Of the time in which a current rises."""


def impedances(
    netlist: Path, name: str, frequencies: Sequence[float], *, temperature: float = 20.0
) -> NDArray[np.complex128]:
    """Of the sub-circuit, ohm, at frequencies in Hz, 0 allowed, with its parts at a temperature in degC."""
    sweeps = [f"ac lin 1 {f:.12g} {f:.12g}" if f > 0 else "op" for f in frequencies]
    steps = [line for sweep in sweeps for line in (sweep, "print v(1)", "destroy all")]
    source = f"I1 0 1 DC {CURRENT:g} AC {CURRENT:g}"
    told = _told(netlist, name, f"temp={temperature:g}", source, steps)
    found = [_number(line.partition("=")[2]) for line in told.splitlines() if line.startswith("v(1) =")]
    assert len(found) == len(frequencies), told
    return np.array(found)


def step_currents(
    netlist: Path, name: str, times: Sequence[float], *, temperature: float = 20.0
) -> NDArray[np.float64]:
    """Current into the sub-circuit, A, at times, s, rising, after one volt has been switched on.

    Each time is the end of a run of its own, in even steps that resolve it.
    """
    steps = [
        line
        for time in times
        for line in (
            f"tran {time / STEPS:.12g} {time:.12g} 0 {time / STEPS:.12g} uic",
            f"meas tran amperes find i(V1) at={time * (1 - 1e-9):.12g}",
            "destroy all",
        )
    ]
    options = f"temp={temperature:g} method=gear reltol=1e-6 abstol=1e-15 vntol=1e-12"
    told = _told(netlist, name, options, "V1 1 0 DC 1", steps)
    found = [-_first(line) for line in told.splitlines() if line.startswith("amperes")]
    assert len(found) == len(times), told
    return np.array(found)


def _first(line: str) -> float:
    return float(line.partition("=")[2].split()[0])


def _told(netlist: Path, name: str, options: str, source: str, steps: Sequence[str]) -> str:
    """What ngspice prints at steps of a source between pin 1 of a sub-circuit and its pin 2, the ground."""
    deck = [
        f"* {name} between pin 1 and ground",
        f".include {netlist}",
        f".options {options}",
        source,
        f"X1 1 0 {name}",
        ".control",
        "set numdgt=12",
        *steps,
        "quit 0",
        ".endc",
        ".end",
    ]
    return _run(deck, netlist.parent)


def _run(deck: Sequence[str], folder: Path) -> str:
    program = shutil.which("ngspice")
    assert program, "install ngspice"
    (folder / "deck.cir").write_text("\n".join(deck) + "\n", encoding="ascii")
    ran = subprocess.run(
        [program, "-b", "deck.cir"], cwd=folder, capture_output=True, text=True, timeout=120, check=False
    )
    told = ran.stdout + ran.stderr
    faults = [line for line in told.lower().splitlines() if "error" in line or "unknown" in line]
    assert ran.returncode == 0 and not faults, told
    return told


def _number(text: str) -> complex:
    """A real number, or real and imaginary part with a comma between."""
    real, _, imaginary = text.partition(",")
    return complex(float(real), float(imaginary or 0))
