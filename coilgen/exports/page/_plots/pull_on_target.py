"""Pull on the target against its gap."""

from coilgen.design.design import Design
from coilgen.exports.page._chart import Mark
from coilgen.exports.page._plot import as_designed, curves
from coilgen.exports.page._scale import Axis
from coilgen.units import in_mm


def _gap(design: Design) -> Mark | None:
    target = design.target
    return None if target is None else as_designed(target.gap, in_mm(target.gap))


PLOT = curves(
    figure="pull_against_gap",
    title="Pull on the target against its gap",
    says="Pull on the steel target against its gap to the coil.",
    across=Axis(says="gap", unit="m"),
    up=Axis(says="pull", unit="N", from_zero=True),
    columns={"pull": "with the core", "without_core": "without"},
    mark=_gap,
)
