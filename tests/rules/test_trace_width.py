"""Narrow traces are found, wide ones pass."""

import pytest
from boards import blank_art, coil_of, mm, read_design, straight

from coilgen.rules.trace_width import RULE


def check(*traces):
    return list(RULE.check(read_design(), coil_of(traces), blank_art(traces=traces)))


def test_a_trace_at_the_limit_passes():
    assert check(straight(0, 5, width=0.15)) == []


def test_the_narrowest_trace_of_each_layer_is_found():
    found = check(straight(0, 5, width=0.14), straight(0, 4, width=0.1, layer=2), straight(9, 12, layer=2))
    assert [(finding.layer, finding.value, finding.at) for finding in found] == [
        (2, pytest.approx(0.1 * mm), 2 * mm),
        (1, pytest.approx(0.14 * mm), 2.5 * mm),
    ]
    assert "0.1 mm wide, under 0.15 mm" in found[0].says
