"""Rules about openings in solder mask or coverlay."""

import pytest
from boards import blank_art, coil_of, mm, pad, read_design, straight

from coilgen.artwork.art import Opening
from coilgen.geometry.closed import rectangle
from coilgen.rules import mask_opening, mask_web


def opening(at, diameter=1.9, side="top"):
    return Opening(side=side, at=complex(at) * mm, diameter=diameter * mm)


def check(module, **fields):
    art = blank_art(**fields)
    return list(module.RULE.check(read_design(), coil_of(art.traces), art))


def test_openings_apart_pass_and_those_of_two_sides_do_not_meet():
    assert check(mask_web, openings=(opening(0), opening(2), opening(0.1, side="bottom"))) == []


def test_a_narrow_web_is_found():
    (found,) = check(mask_web, openings=(opening(0, side="bottom"), opening(1.95, side="bottom")))
    assert (found.value, found.layer) == (pytest.approx(0.05 * mm), 2)
    assert "0.05 mm of mask" in found.says


def test_merged_openings_are_found():
    (found,) = check(mask_web, openings=(opening(0), opening(1.8)))
    assert found.value == pytest.approx(-0.1 * mm)


@pytest.mark.parametrize(("at", "web"), [(3.0, 1.05), (1.0, -0.95), (0.5, -1.45)])
def test_the_web_beside_a_window_ends_at_its_edge(at, web):
    """A disc of 1.9 mm beside a window of 2 x 4 mm, over its edge, and inside it."""
    window = Opening(side="top", at=0j, diameter=0.0, window=rectangle(2 * mm, 4 * mm))
    found = check(mask_web, openings=(window, opening(at)))
    assert [each.value for each in found] == ([] if web > 0 else [pytest.approx(web * mm)])


def test_an_opening_with_the_shops_margin_passes():
    assert check(mask_opening, pads=(pad(0, 1.8, terminal=1),), openings=(opening(0),)) == []


def test_a_narrow_opening_is_found():
    found = check(
        mask_opening, pads=(pad(0, 1.85, layer=2, terminal=1),), openings=(opening(0, side="bottom"),)
    )
    assert [(finding.value, finding.layer) for finding in found] == [(pytest.approx(0.025 * mm), 2)]


def test_an_opening_that_bares_a_neighbour_is_found_and_its_own_trace_is_not():
    own, near = straight(0, 5), straight(-3 + 1.07j, 3 + 1.07j)
    pads, openings = (pad(0, 1.8, terminal=1),), (opening(0),)
    assert check(mask_opening, traces=(own,), pads=pads, openings=openings) == []
    (found,) = check(mask_opening, traces=(own, near), pads=pads, openings=openings)
    assert found.value == pytest.approx((1.07 - 0.15 - 0.95) * mm)
    assert found.limit == 0.0
    assert "bares 0.03 mm" in found.says


def test_a_neighbour_on_another_layer_stays_covered():
    near = straight(-3 + 1.07j, 3 + 1.07j, layer=2)
    assert check(mask_opening, traces=(near,), pads=(pad(0, 1.8, terminal=1),), openings=(opening(0),)) == []


def test_an_opening_bares_a_neighbour_whatever_other_openings_are_like():
    """One opening is no wider than its pad, the other bares a trace; a pad of neither stands beside."""
    near = straight(-3 + 1.07j, 3 + 1.07j)
    pads = (pad(0, 1.8, terminal=1), pad(9, 1.8, terminal=2), pad(5 + 1.3j, 1.8))
    openings = (opening(0), opening(9, 1.8))
    bared = [
        each for each in check(mask_opening, traces=(near,), pads=pads, openings=openings) if not each.limit
    ]
    assert [each.value for each in bared] == [pytest.approx((1.07 - 0.15 - 0.95) * mm)]
