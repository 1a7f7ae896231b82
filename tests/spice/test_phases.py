"""The delivered circuit of an array joined in star, run by ngspice between two of its pins at a time."""

import numpy as np
import pytest
from ngspice import impedances

pytestmark = pytest.mark.spice
NAMES = ("fan-stator", "focus-stage")
PAIRS = ("1 2", "1 3", "2 3")
"""Of terminals, in the order of the figures."""


@pytest.fixture(scope="module", params=NAMES)
def result(request, whole):
    return whole(request.param)


@pytest.mark.parametrize("line", range(3))
def test_two_terminals_read_line_resistance_and_inductance(result, line, tmp_path):
    """The third terminal is left open, but for what ngspice needs to know its voltage."""
    name = result.design.name
    (tmp_path / "whole.cir").write_bytes(result.files[f"{name}.cir"])
    one, other = PAIRS[line].split()
    (open_pin,) = {"1", "2", "3"} - {one, other}
    ports = {one: "A", other: "B", open_pin: "C"}
    wrapped = tmp_path / "wrapped.cir"
    wrapped.write_text(
        f".include whole.cir\n.SUBCKT LINE A B\nX1 {ports['1']} {ports['2']} {ports['3']} "
        f"COIL_{name.upper().replace('-', '_')}\nROPEN C B 1E9\n.ENDS LINE\n"
    )
    direct, low = impedances(wrapped, "LINE", [0.0, 1e4])
    assert direct.real == pytest.approx(result.figures["line_resistance"].value[line], rel=1e-6)
    inductance = low.imag / (2 * np.pi * 1e4)
    assert inductance == pytest.approx(result.figures["line_inductance"].value[line], rel=1e-3)
