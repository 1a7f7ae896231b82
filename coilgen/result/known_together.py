"""Which causes a design's calibration knows together, for the bands of its figures."""

import math

from coilgen.design.as_made import applied, share, soft_bodies
from coilgen.design.calibration import Cause
from coilgen.design.design import Design
from coilgen.result.spread import Together


def known_together(design: Design) -> Together | None:
    """Of a design as made, whose tolerances are what its calibration left open; None without correlations."""
    calibration = design.calibration
    if calibration is None or not calibration.correlation:
        return None
    sizes = [_size(design, each.cause) for each in calibration.learnt]
    rows = zip(sizes, calibration.correlation, strict=True)
    covariance = tuple(
        tuple(one * other * entry for other, entry in zip(sizes, row, strict=True)) for one, row in rows
    )
    return Together(tuple(each.cause for each in calibration.learnt), covariance)


def _size(design: Design, cause: Cause) -> float:
    """Of what is left open of a cause, over the limit that its figures count with."""
    if cause not in ("conductivity", "metal's conductivity"):
        return 1.0
    limit = conductivity_limit(design, cause)
    return math.log1p(share(applied(design)[cause])) / math.log1p(limit) if limit else 0.0


def conductivity_limit(design: Design, cause: str) -> float:
    """Tolerance that figures count with: no design tells that of copper apart from that of other metal."""
    if cause == "conductivity":
        return design.tolerance.conductivity_of("copper")
    plate = design.mounting.base_plate
    names = [body.material.name for body in soft_bodies(design)]
    names += [plate.material] if plate is not None else []
    names += ["custom"] if design.magnet is not None else []
    return max((design.tolerance.conductivity_of(name) for name in names), default=0.0)
