"""The delivered circuit of several windings, run by ngspice: a transformer open and short."""

import numpy as np
import pytest
from ngspice import impedances

from coilgen.exports.simulation._coupled import coupled, impedance_matrix

pytestmark = pytest.mark.spice
NAME = "float-drive-and-sense"


@pytest.fixture(scope="module")
def result(whole):
    return whole(NAME)


def seen(result, folder, ends, frequencies):
    """Impedance into winding 1 with winding 2 ended by a resistance, ohm."""
    (folder / "whole.cir").write_bytes(result.files[f"{NAME}.cir"])
    wrapped = folder / "wrapped.cir"
    wrapped.write_text(
        f".include whole.cir\n.SUBCKT ENDED 1 2\nX1 1 2 3 4 COIL_FLOAT_DRIVE_AND_SENSE\n"
        f"R1 3 4 {ends:g}\nR2 4 2 1E9\n.ENDS ENDED\n"
    )
    return impedances(wrapped, "ENDED", frequencies)


def test_open_and_short_as_the_matrix_tells(result, tmp_path):
    """Capacitance between the windings is left out of the ports: up to 100 kHz it does not show."""
    frequencies = [1e3, 1e4, 1e5]
    circuits = coupled(result)
    for ends in (1e7, 1e-3):
        found = seen(result, tmp_path, ends, frequencies)
        for frequency, value in zip(frequencies, found, strict=True):
            z = impedance_matrix(circuits, frequency)
            expected = z[0, 0] - z[0, 1] * z[1, 0] / (z[1, 1] + ends)
            assert abs(value - expected) <= 3e-3 * abs(expected)


def test_the_figures_are_what_ngspice_reads_of_a_transformer(result, tmp_path):
    """Open R1 + jw L1; shorted w^2 M^2 / (R2 + jw L2) besides: textbook, by the figures alone."""
    matrix = np.array(result.figures["inductance_matrix"].value)
    ohms = np.array(result.figures["winding_resistances"].value)
    frequencies = [3e3, 3e4]
    for ends, shorted in ((1e7, 0.0), (1e-6, 1.0)):
        found = seen(result, tmp_path, ends, frequencies)
        for frequency, value in zip(frequencies, found, strict=True):
            omega = 2 * np.pi * frequency
            own, other = ohms + 1j * omega * np.diag(matrix)
            expected = own + shorted * (omega * matrix[0, 1]) ** 2 / other
            assert abs(value - expected) <= 0.01 * abs(expected)


def test_the_open_inductance_and_the_stray_one(result):
    """L1 (1 - k k) is left when the other winding is shorted, where its resistance no longer counts."""
    circuits, matrix = coupled(result), np.array(result.figures["inductance_matrix"].value)
    omega = 2 * np.pi * 1e6
    z = impedance_matrix(circuits, 1e6)
    stray = (z[0, 0] - z[0, 1] ** 2 / z[1, 1]).imag / omega
    k = result.figures["coupling"].value[0][1]
    assert stray == pytest.approx(matrix[0, 0] * (1 - k * k), rel=0.15)
