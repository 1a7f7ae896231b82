"""The curve of the field on the axis: through the values at the probe heights, falling outwards."""

import numpy as np
import pytest
from designs import Asked, made

from coilgen.job import case_of


def test_the_curve_goes_through_the_values_at_the_probe_heights() -> None:
    found = case_of(*made(Asked(shape="square", layers=2)))
    curve = found.value("axis_flux_density")
    heights = [row["height"] for row in curve]
    for side, column in (("top", "above"), ("bottom", "below")):
        values = [row[column] for row in curve]
        for probe in (row for row in found.value("flux_density") if row["side"] == side):
            read_off = np.interp(probe["height"], heights, values)
            assert read_off == pytest.approx(probe["flux_density"], rel=2e-3)


def test_it_falls_from_the_middle_outwards_and_follows_the_direction() -> None:
    one, other = (
        case_of(*made(Asked(direction=way))).value("axis_flux_density")
        for way in ("counterclockwise", "clockwise")
    )
    above = [row["above"] for row in one]
    assert above == sorted(above, reverse=True)
    assert above[-1] > 0
    assert [row["above"] for row in other] == pytest.approx([-value for value in above], rel=1e-6)
