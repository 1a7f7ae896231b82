"""Rules about drilled holes."""

import pytest
from boards import blank_art, coil_of, hole, mm, pad, read_design

from coilgen.rules import annular_ring, drill_aspect_ratio, drill_diameter, hole_to_hole


def check(module, more="", **fields):
    return list(module.RULE.check(read_design(more), coil_of(()), blank_art(**fields)))


def both(at, diameter):
    return tuple(pad(at, diameter, layer=layer) for layer in (1, 2))


def test_a_ring_at_the_limit_passes():
    assert check(annular_ring, holes=(hole(1),), pads=both(1, 0.6)) == []


def test_a_narrow_ring_is_found_on_its_layer():
    (found,) = check(annular_ring, holes=(hole(1),), pads=(pad(1, 0.6), pad(1, 0.5, layer=2)))
    assert (found.layer, found.at) == (2, 1 * mm)
    assert found.value == pytest.approx(0.1 * mm)
    assert "via.pad" in found.says


def test_a_pad_beside_its_hole_has_a_narrower_ring():
    (found,) = check(annular_ring, holes=(hole(0),), pads=(pad(0.1, 0.6),))
    assert found.value == pytest.approx(0.05 * mm)


def test_a_plated_hole_without_a_pad_is_found_and_an_unplated_one_needs_none():
    (found,) = check(annular_ring, holes=(hole(0, terminal=1),), pads=both(5, 0.6))
    assert (found.value, found.layer) == (0.0, None)
    assert "no pad" in found.says and "terminals.pad" in found.says
    assert check(annular_ring, holes=(hole(0, plated=False),)) == []


def test_small_drills_are_found():
    assert check(drill_diameter, holes=(hole(0, 0.3), hole(3, 1.0))) == []
    (found,) = check(drill_diameter, holes=(hole(0, 0.3), hole(3, 0.25)))
    assert (found.value, found.at) == (pytest.approx(0.25 * mm), 3 * mm)


def test_deep_narrow_holes_are_found_once_for_each_size():
    assert check(drill_aspect_ratio, holes=(hole(0, 0.3),)) == []
    found = check(drill_aspect_ratio, holes=(hole(0, 0.15), hole(1, 0.15), hole(2, 0.1), hole(3, 1)))
    thickness = read_design().board.stackup.thickness
    assert [finding.value for finding in found] == [pytest.approx(thickness / d / mm) for d in (0.1, 0.15)]
    assert found[0].unit == "1"


def test_unplated_holes_may_be_deep():
    assert check(drill_aspect_ratio, holes=(hole(0, 0.1, plated=False),)) == []


def test_near_holes_are_found_between_them():
    assert check(hole_to_hole, holes=(hole(0), hole(0.8), hole(3j))) == []
    (found,) = check(hole_to_hole, holes=(hole(0), hole(0.7), hole(3j)))
    assert (found.value, found.at, found.layer) == (pytest.approx(0.4 * mm), pytest.approx(0.35 * mm), None)


def test_holes_into_each_other_are_found():
    (found,) = check(hole_to_hole, holes=(hole(0), hole(0.2)))
    assert found.value == pytest.approx(-0.1 * mm)
    assert "into each other" in found.says


def test_one_hole_or_none_has_no_neighbour():
    assert check(hole_to_hole) == []
    assert check(hole_to_hole, holes=(hole(0),)) == []
