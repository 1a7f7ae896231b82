"""The rule for lone traces, on outer and inner layers, and its warning."""

import pytest
from drive_cases import driven, figure

from coilgen.physics.heat.trace_current import single_trace_current

WINDING = {
    "shape": "round",
    "turns": 3,
    "trace_width": 0.3,
    "trace_spacing": 0.3,
    "outer_size": 16,
}


def of(board=None, **winding):
    return driven({"winding": {**WINDING, **winding}, "board": board or {}})


def test_outer_layers():
    found = figure(of(layers=2), "single_trace_current")
    assert found.value == pytest.approx(single_trace_current(0.3e-3, 35e-6, 20.0))
    assert "does not hold for windings" in found.model


def test_an_inner_layer_is_the_weakest():
    case = of(layers=4)
    copper = case.design.board.stackup.copper[1]
    found = figure(case, "single_trace_current")
    assert found.value == pytest.approx(single_trace_current(0.3e-3, copper, 20.0, "inner"))
    assert "layer 2 (inner)" in found.model


def test_layers_in_parallel_share():
    """Layer 2 is the weakest: thin, inner; the lead that carries all of the current is thick."""
    thick_lead = {"copper": [0.02, 0.02, 0.105, 0.105], "dielectric": [0.2, 1, 0.2]}
    case = of({"stackup": thick_lead}, layers=2, connection="parallel")
    alone = single_trace_current(0.3e-3, 20e-6, 20.0, "inner")
    assert case.shares[1] == pytest.approx(0.5, rel=0.05)
    assert case.value("single_trace_current") == pytest.approx(alone / case.shares[1])


def test_the_lead_of_layers_in_parallel_carries_all():
    found = figure(of(layers=2, connection="parallel"), "single_trace_current")
    assert found.value == pytest.approx(single_trace_current(0.3e-3, 15e-6, 20.0, "inner"))
    assert "layer 3" in found.model
