"""The rule for a lone trace: values of its published curves, growth."""

import pytest

from coilgen.physics.heat.trace_current import MIL, single_trace_current


# IPC-2221, curves for outer layers, 1.378 mil copper; values from memory.
@pytest.mark.parametrize(
    ("width", "rise", "current"),
    [(10, 10, 0.886), (10, 20, 1.201), (10, 40, 1.630), (100, 10, 4.701), (100, 20, 6.377), (100, 40, 8.652)],
)
def test_outer_traces(width, rise, current):
    assert single_trace_current(width * MIL, 1.378 * MIL, rise) == pytest.approx(current, abs=1e-3)
    assert single_trace_current(width * MIL, 1.378 * MIL, rise, "inner") == pytest.approx(
        current / 2, abs=1e-3
    )


def test_nonsense_is_refused():
    with pytest.raises(ValueError, match="positive"):
        single_trace_current(0.0, 35e-6, 10.0)
