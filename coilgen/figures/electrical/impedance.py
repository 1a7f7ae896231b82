"""Resistance, inductance and quality against frequency, and the circuit that behaves like the coil."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.figures.electrical._eddy_spread import bands
from coilgen.layout.coil import trace_of_pieces
from coilgen.physics.base.conductor import Floats
from coilgen.physics.circuit.equivalent_circuit import EquivalentCircuit, equivalent_circuit
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.units import per_cent

FREQUENCIES = (*(mantissa * 10.0**decade for decade in range(3, 7) for mantissa in (1, 2, 5)), 1e7)
"""Hz, from 1 kHz to 10 MHz."""
HIGHEST = 1e8
"""Hz, to which the table follows a sine that is faster: far over it no strip is thin against its wave."""
_BEYOND = (2e7, 5e7)
_APART = 1.02
Complexes = NDArray[np.complex128]


def frequencies(case: Case) -> tuple[float, ...]:
    """Hz, rising: where the impedance is told; at a sine's own too, so that nothing is read between rows."""
    drive = case.design.drive
    own = min(drive.frequency or 0.0, HIGHEST) if drive.waveform == "sine" else 0.0
    told = {*FREQUENCIES, *(each for each in _BEYOND if _APART * each < own)}
    return tuple(sorted(told | {own} if own > FREQUENCIES[0] else told))


def _impedance(case: Case) -> Answer:
    """Eddy currents add to the exact direct-current values; layers in parallel divide the current anew."""
    from coilgen.physics.eddy.current import METHOD, error

    frequency = np.array(frequencies(case))
    change = case.kept(eddy_impedance)
    resistance, inductance = (_side_by_side if case.coil.parallel else _in_series)(case, frequency, change)
    less = error(case.conductor)
    ohm, henry = bands(case, frequency, resistance, inductance, less)
    columns = {
        "frequency": frequency,
        "resistance": resistance,
        "inductance": inductance,
        "quality": 2 * np.pi * frequency * inductance / resistance,
        "resistance_low": ohm[0],
        "resistance_high": ohm[1],
        "inductance_low": henry[0],
        "inductance_high": henry[1],
    }
    return Answer(
        value=[
            {name: float(value) for name, value in zip(columns, row, strict=True)}
            for row in zip(*columns.values(), strict=True)
        ],
        model=f"{METHOD}; cold copper, without the winding's capacitance, so between the "
        "terminals far below self_resonance alone; bands: width, thickness, "
        f"dielectric and copper, and the rise over direct current within {per_cent(less)}",
    )


def eddy_impedance(case: Case) -> Complexes:
    """What eddy currents in the copper add at `frequencies` to the impedances, ohm, of layers side by side,
    (n, layers, layers), or of all in series, (n, 1, 1)."""
    from coilgen.physics.eddy.current import impedance_changes

    resistivity = case.design.board.stackup.metal.resistivity
    return impedance_changes(case.conductor, resistivity, np.array(frequencies(case)), _carried(case))


def _in_series(case: Case, frequency: Floats, change: Complexes) -> tuple[Floats, Floats]:
    added = change[:, 0, 0]
    inductance = case.value("inductance") + added.imag / (2 * np.pi * frequency)
    return case.value("resistance_20c") + added.real, inductance


def _side_by_side(case: Case, frequency: Floats, change: Complexes) -> tuple[Floats, Floats]:
    """Of layers in parallel: their currents follow from the layers' impedance matrix at each frequency."""
    parts = len(case.coil.parallel)
    inductances = np.array(case.value("layer_inductances"))[:parts, :parts]
    conductance = np.array([case.shares[index] for index in case.coil.parallel])
    omega = 2 * np.pi * frequency
    whole = np.diag(case.value("resistance_20c") / conductance) + 1j * omega[:, None, None] * inductances
    together = 1 / np.linalg.inv(whole + change).sum(axis=(1, 2))
    direct = float(conductance @ inductances @ conductance)
    return together.real, together.imag / omega + case.value("inductance") - direct


def _carried(case: Case) -> Floats:
    """Current in each of the conductor's pieces for an ampere in each layer side by side, (layers, pieces),
    or in all in series, (1, pieces)."""
    traces = trace_of_pieces(case.passed)
    if not case.coil.parallel:
        return np.ones((1, len(traces)))
    own = np.array(case.coil.parallel)[:, None] == traces
    return np.where(np.isin(traces, case.coil.parallel), own, 1.0)


def circuit(case: Case) -> EquivalentCircuit:
    """The ladder fitted to the impedance, with the winding's capacitance across it."""
    capacitance = case.figure("winding_capacitance")
    return replace(ladder(case), capacitance=0.0 if capacitance is None else capacitance.value)


def ladder(case: Case) -> EquivalentCircuit:
    """Fitted to the impedance, with no capacitance."""
    rows = case.value("impedance")
    return case.once(
        "equivalent circuit",
        lambda: equivalent_circuit(
            [row["frequency"] for row in rows],
            [row["resistance"] for row in rows],
            [row["inductance"] for row in rows],
            dc_resistance=case.value("resistance_20c"),
        ),
    )


def elements(found: EquivalentCircuit) -> list[dict[str, object]]:
    """Rows of a circuit's table: R0 and L0, those of each stage, C."""
    rows = [("R0", found.resistance, "ohm"), ("L0", found.inductance, "H")]
    for k, (r, x) in enumerate(zip(found.stage_resistance, found.stage_inductance, strict=True), start=1):
        rows += [(f"R{k}", float(r), "ohm"), (f"L{k}", float(x), "H")]
    rows.append(("C", found.capacitance, "F"))
    return [{"element": name, "value": value, "unit": unit} for name, value, unit in rows]


def _circuit(case: Case) -> Answer:
    found = circuit(case)
    return Answer(
        value=elements(found),
        model="R0 and L0 in series with stages of R parallel to L, and C across all; fitted to the impedance "
        f"within {per_cent(found.resistance_error, 2)} of R and {per_cent(found.inductance_error, 2)} of L",
    )


FIGURES = (
    Quantity(
        name="impedance",
        unit="table(frequency Hz, resistance ohm, inductance H, quality 1, resistance_low ohm, "
        "resistance_high ohm, inductance_low H, inductance_high H)",
        says="resistance, inductance and quality against frequency",
        group="electrical",
        compute=_impedance,
        of="each",
    ),
    Quantity(
        name="equivalent_circuit",
        unit="table(element, value, unit)",
        says="elements of a circuit that behaves like the coil",
        group="electrical",
        compute=_circuit,
        of="each",
    ),
)
