"""The air round the board, and how well its convection is known."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from coilgen.catalogue import rows
from coilgen.design.design import Design
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.body import Surroundings


def surroundings(case: Case) -> "Surroundings":
    """As the model of heat takes them, with the band of convection."""
    from coilgen.physics.heat.body import Surroundings

    mounting, (least, typical, most) = case.design.mounting, convection_factor(case)
    return Surroundings(
        ambient=case.design.drive.ambient,
        orientation=mounting.orientation,
        convection_factor=typical,
        convection_band=(least, most),
        forced_coefficient=mounting.forced_convection,
    )


def convection_factor(case: Case) -> tuple[float, float, float]:
    """Least, typical and most of what convection does over its coefficient told: 95 % limits, a factor."""
    return convection_limits(case.design)


def convection_limits(design: Design) -> tuple[float, float, float]:
    """Of a calibration that learnt it, else of tolerance.convection where the design tells it, else of
    data/convection.toml.
    """
    learnt = design.calibration and design.calibration.convection
    if learnt:
        return learnt
    told = design.tolerance.convection
    if told is not None:
        return 1 / (1 + told), 1.0, 1 + told
    kind = "still-air" if design.mounting.forced_convection is None else "forced"
    row: Mapping[str, Any] = rows("convection")[kind]
    least, typical, most = row["factor"]
    return least, typical, most
