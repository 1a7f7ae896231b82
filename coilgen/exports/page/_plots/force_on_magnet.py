"""Force on the magnet against its gap."""

from coilgen.design.design import Design
from coilgen.exports.page._chart import Mark
from coilgen.exports.page._plot import as_designed, curves
from coilgen.exports.page._scale import Axis
from coilgen.units import in_mm


def _gap(design: Design) -> Mark | None:
    magnet = design.magnet
    return None if magnet is None else as_designed(magnet.gap, in_mm(magnet.gap))


PLOT = curves(
    figure="force_against_gap",
    title="Force on the magnet against its gap",
    says="Force on the magnet along the axis, positive up, against its gap to the coil.",
    across=Axis(says="gap", unit="m"),
    up=Axis(says="force, positive up", unit="N", from_zero=True),
    columns={"force": "at the drive's current", "at_rest": "without current"},
    mark=_gap,
)
