"""Current after switching on."""

from collections.abc import Mapping

from coilgen.design.design import Design
from coilgen.exports.page._plot import curves
from coilgen.exports.page._scale import Axis


def _settled(design: Design) -> Mapping[str, str]:
    """A sine's are root mean squares, which the curve passes twice a period and settles at neither."""
    if design.drive.waveform == "sine":
        return {}
    return {"current": "current, cold", "hot_current": "hot_current, settled"}


PLOT = curves(
    figure="current_against_time",
    title="Current after switching on",
    says="The hot coil's current against time from switching on.",
    across=Axis(says="time", unit="s"),
    up=Axis(says="current", unit="A", from_zero=True),
    columns={"current": "hot coil"},
    values=_settled,
)
