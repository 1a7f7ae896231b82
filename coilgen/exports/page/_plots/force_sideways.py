"""Force on the magnet moved sideways."""

from coilgen.exports.page._plot import curves
from coilgen.exports.page._scale import Axis

PLOT = curves(
    figure="force_against_offset",
    title="Force on the magnet moved sideways",
    says="Force on the magnet along the axis, positive up, and sideways, positive away from the axis, "
    "against its offset from the axis.",
    across=Axis(says="offset", unit="m"),
    up=Axis(says="force", unit="N", from_zero=True),
    columns={"force": "along, + up", "sideways": "sideways, + outward", "at_rest": "without current"},
)
