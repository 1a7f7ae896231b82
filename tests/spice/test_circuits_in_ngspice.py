"""The delivered circuit file of every template, run by ngspice, behaves as the figures say."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from ngspice import impedances, step_currents
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.special import sici

from coilgen.catalogue import templates
from coilgen.exports.simulation.circuit_netlist import subcircuit
from coilgen.result.result import Result

pytestmark = pytest.mark.spice

FREQUENCIES = np.logspace(0, 9, 91)
"""Hz, far beyond what the ladder is fitted to."""


ONE_WINDING = sorted(
    name for name, text in templates().items() if "[[winding]]" not in text and "[array]" not in text
)


@pytest.fixture(scope="module", params=ONE_WINDING)
def result(request: pytest.FixtureRequest, whole: Callable[[str], Result]) -> Result:
    return whole(request.param)


@pytest.fixture
def delivered(result: Result, tmp_path: Path) -> Path:
    path = tmp_path / f"{result.design.name}.cir"
    path.write_bytes(result.files[path.name])
    return path


@pytest.fixture(params=["", "_BARE"])
def name(result: Result, request: pytest.FixtureRequest) -> str:
    return subcircuit(result.design.name) + request.param


def test_direct_current_and_its_rise_with_temperature(result: Result, delivered: Path, name: str) -> None:
    cold, warm = (impedances(delivered, name, [0.0], temperature=t)[0] for t in (20.0, 100.0))
    assert cold.real == pytest.approx(result.figures["resistance_20c"].value, rel=1e-6)
    copper = result.design.board.stackup.metal.temperature_coefficient
    assert warm.real / cold.real == pytest.approx(1 + 80 * copper, rel=1e-6)


def test_impedance_is_the_tables_with_the_capacitance_across(
    result: Result, delivered: Path, name: str
) -> None:
    """In place, where something stands at the coil, it is the table with eddy currents in it."""
    table = "impedance" if name.endswith("_BARE") else "impedance_in_place"
    rows = result.figures.get(table, result.figures["impedance"]).value
    omega = 2 * np.pi * np.array([row["frequency"] for row in rows])
    series = np.array(
        [row["resistance"] + 1j * w * row["inductance"] for row, w in zip(rows, omega, strict=True)]
    )
    expected = 1 / (1 / series + 1j * omega * result.figures["winding_capacitance"].value)
    found = impedances(delivered, name, omega / (2 * np.pi))
    assert np.abs(found) == pytest.approx(np.abs(expected), rel=1e-2)


def risen(rows: list[dict[str, float]], direct: float, time: NDArray[np.float64]) -> NDArray[np.float64]:
    """Current, A, at times (n,) s after one volt is switched on, straight from a table of the impedance.

    The Laplace transform's inverse as an integral over real frequencies, i = 2/pi of Re Y sin(w t) / w: the
    admittance is interpolated between the table's rows, and each short span of it integrated exactly. Below
    the table its resistance falls to that of direct current, above it grows as that of thin skins.
    """
    known = np.log([row["frequency"] for row in rows])
    resistance, inductance = (
        PchipInterpolator(known, [row[name] for row in rows]) for name in ("resistance", "inductance")
    )
    frequency = np.geomspace(1e-3, 1e4, 1400) * float(np.exp(known[-1])) / 1e4
    inside = np.clip(np.log(frequency), known[0], known[-1])
    beyond = np.sqrt(np.maximum(frequency / np.exp(known[-1]), 1.0))
    ohm = np.where(frequency < np.exp(known[0]), direct, resistance(inside) * beyond)
    omega = 2 * np.pi * frequency
    conductance = (1 / (ohm + 1j * omega * inductance(inside))).real
    grid, values = np.append(0.0, omega), np.append(1 / direct, conductance)
    slope = np.diff(values) / np.diff(grid)
    level = values[:-1] - slope * grid[:-1]
    sine, cosine = (sici(np.outer(time, grid))[0], np.cos(np.outer(time, grid)))
    parts = level * np.diff(sine) - slope * np.diff(cosine) / time[:, None]
    return np.asarray(2 / np.pi * parts.sum(axis=1))


def test_a_step_of_voltage_is_the_tables_inverse(result: Result, delivered: Path, name: str) -> None:
    table = "impedance" if name.endswith("_BARE") else "impedance_in_place"
    rows = result.figures.get(table, result.figures["impedance"]).value
    direct = result.figures["resistance_20c"].value
    slowest = rows[0]["inductance"] / direct
    time = np.geomspace(max(1e-3 * slowest, 3 / rows[-1]["frequency"]), 4 * slowest, 7)
    found = step_currents(delivered, name, time.tolist())
    assert found == pytest.approx(risen(rows, direct, time), rel=1e-2)


def test_real_part_is_positive_at_every_frequency(delivered: Path, name: str) -> None:
    assert np.all(impedances(delivered, name, FREQUENCIES).real > 0)


def test_cores_raise_the_inductance(result: Result, delivered: Path) -> None:
    """As the tables tell at 1 kHz, where there are cores."""
    name, frequency = subcircuit(result.design.name), 1e3
    whole, bare = (impedances(delivered, each, [frequency])[0] for each in (name, name + "_BARE"))
    alone = result.figures["impedance"].value
    told = result.figures.get("impedance_in_place", result.figures["impedance"]).value
    there, without = (
        next(row["inductance"] for row in rows if row["frequency"] == frequency) for rows in (told, alone)
    )
    assert whole.imag / bare.imag == pytest.approx(there / without, rel=1e-2)
