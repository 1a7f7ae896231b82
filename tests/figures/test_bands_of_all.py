"""Each figure of one value tells a band and its causes, but those that need none for a reason told here."""

from collections.abc import Callable

import pytest

from coilgen.catalogue import templates
from coilgen.design.design import Design
from coilgen.result.figure import Figure
from coilgen.result.result import Result

EXACT = {
    "turns_total": "counted",
    "trace_length": "of the middle lines, which etching does not move",
    "turn_area": "of the middle lines",
    "effective_turns": "of the middle lines",
    "switch_off_voltage": "as the design file gives it",
    "single_trace_current": "what a published rule tells of nominal copper, given for comparison",
}
GIVEN = {
    "voltage": "as the design file gives it, exact unless its tolerance is told",
    "current": "as the design file gives it",
    "hot_current": "as the design file gives it",
    "ampere_turns": "a given current times counted turns",
    "moment": "a given current times the area of the middle lines",
}
BOUNDED = {"duty_limit": 1.0}
"""Values that are the same at all ends of the tolerances: the drive may stay on at each of them."""
QUICK = ("bucking-pair", "float-level-pickup", "optical-shutter")


def _given(design: Design, name: str) -> bool:
    """Whether the drive forces what the figure tells; of several windings the first's is meant."""
    drives = design.windings[0].design if design.windings else design
    forced = drives.drive.voltage is None
    return name in GIVEN and forced == (name != "voltage")


def _bare(design: Design, figure: Figure) -> bool:
    """Whether a figure of one value has no band and no reason for that; a field of 0 has none either."""
    if not isinstance(figure.value, int | float) or figure.value == 0.0:
        return False
    name = figure.name
    excused = name in EXACT or _given(design, name) or BOUNDED.get(name) == figure.value
    return not (excused or (figure.band and figure.contributions))


@pytest.mark.parametrize(
    "name", [each if each in QUICK else pytest.param(each, marks=pytest.mark.slow) for each in templates()]
)
def test_figures_of_one_value_have_bands(name: str, whole: Callable[[str], Result]) -> None:
    made = whole(name)
    assert [each.name for each in made.figures.values() if _bare(made.design, each)] == []
