"""Inner corners of the pocket against the cutter."""

import pytest
from boards import blank_art, coil_of, mm, read_design

from coilgen.geometry.closed import circle, regular_polygon
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.rules.pocket_corner_radius import RULE


def check(pocket):
    return list(RULE.check(read_design(), coil_of(()), blank_art(pockets=(pocket,) if pocket else ())))


@pytest.mark.parametrize("sides", [4, 6])
def test_corners_as_round_as_the_cutter_pass(sides):
    assert check(regular_polygon(sides, 6 * mm, 0.5 * mm)) == []
    assert check(regular_polygon(sides, 6 * mm, 0.5 * mm).reversed()) == []


@pytest.mark.parametrize("sides", [4, 6])
def test_sharper_corners_are_found(sides):
    found = check(regular_polygon(sides, 6 * mm, 0.4 * mm))
    assert len(found) == sides
    assert found[0].value == pytest.approx(0.4 * mm)


@pytest.mark.parametrize("pocket", [regular_polygon(4, 6 * mm), regular_polygon(4, 6 * mm).reversed()])
def test_corners_without_a_radius_are_found(pocket):
    found = check(pocket)
    assert [finding.value for finding in found] == [0.0] * 4
    assert {finding.at for finding in found} == {segment.start for segment in pocket.segments}
    assert "sharp" in found[0].says


def test_round_pockets_pass_unless_smaller_than_the_cutter():
    assert check(circle(1.0 * mm)) == []
    assert check(circle(0.9 * mm))[0].value == pytest.approx(0.45 * mm)
    assert check(None) == []


def test_corners_that_stick_into_the_pocket_need_no_radius():
    points = [0, 6, 6 + 6j, 3 + 3j, 6j]
    sides = zip(points, [*points[1:], points[0]], strict=True)
    found = check(Path(tuple(Line(a * mm + 0j, b * mm + 0j) for a, b in sides)))
    assert len(found) == 4
    assert (3 + 3j) * mm not in [finding.at for finding in found]
