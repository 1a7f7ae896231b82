"""What the coupons of a panel read, and what is made of it."""

from dataclasses import replace

import numpy as np
import pytest

from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.layout.coil import Coil, conductor
from coilgen.physics.circuit.resistance import path_squares
from coilgen.study.panel.coupons import shop_of
from coilgen.study.panel.meanders import meanders, via_chain
from coilgen.study.panel.plates import plates

DESIGN = read_text(templates()["latch-samples"])
SHOP = shop_of([DESIGN], 0.2e-3)


@pytest.mark.parametrize("undercut", [-20e-6, 0.0, 15e-6, 30e-6])
@pytest.mark.parametrize("thinner", [0.88, 1.0, 1.12])
def test_two_meanders_tell_thickness_and_undercut_apart(undercut, thinner):
    """To 1 % and 5 um, from resistances of the strips as etched, read to 0.2 % either way."""
    stackup = DESIGN.board.stackup
    thickness = thinner * stackup.copper[0]
    strips = [strip_of(each) for each in meanders(SHOP, 1)]
    resistances = [stackup.metal.resistivity / thickness * squares(strip, undercut) for strip in strips]
    measures = [each.measures for each in meanders(SHOP, 1)]
    for one, other in ((1.0, 1.0), (1.002, 0.998), (0.998, 1.002)):
        copper, less = etched(
            (resistances[0] * one, resistances[1] * other),
            tuple(each["effective_length"] for each in measures),
            tuple(each["width"] for each in measures),
            stackup.metal.resistivity,
        )
        assert copper == pytest.approx(thickness, rel=0.01)
        assert less == pytest.approx(undercut, abs=5e-6)


def etched(resistances, lengths, widths, resistivity):
    """Thickness of the copper and undercut, m, as the delivered text tells to reckon them.

    R = resistivity length / (thickness (width - undercut)) for both, solved for the two unknowns.
    """
    (narrow, wide), (length, other) = resistances, lengths
    ratio = narrow * other / (wide * length)
    undercut = (ratio * widths[0] - widths[1]) / (ratio - 1)
    return resistivity * other / (wide * (widths[1] - undercut)), undercut


def strip_of(meander):
    """The strip between a meander's sense pads, from middle to middle."""
    coil = Coil(traces=(meander.art.traces[1],), vias=(), terminals=(), pockets=(), turns=1.0)
    return conductor(coil, DESIGN.board.stackup)


def squares(strip, undercut):
    """Of a strip that is etched so, from edge to edge of pads of 1.5 mm, and a little into them."""
    whole = float(np.sum(path_squares(replace(strip, width=strip.width - undercut))))
    return whole - 1.5e-3 / (strip.width[0] - undercut) + 0.4


def test_a_meander_reads_its_squares_of_the_copper():
    """Effective length over width and thickness, by hand."""
    narrow, _ = meanders(SHOP, 1)
    unit, expected = narrow.expects.unit, narrow.expects.spread
    measures = narrow.measures
    by_hand = (
        DESIGN.board.stackup.metal.resistivity
        * measures["effective_length"]
        / measures["width"]
        / DESIGN.board.stackup.copper[0]
    )
    assert unit == "ohm"
    assert expected.value == pytest.approx(by_hand, rel=1e-9)
    low, high = expected.band
    assert low < 0.9 * expected.value < expected.value < 1.1 * expected.value < high


def test_the_via_chain_is_told_by_its_barrels():
    """Half as thick a wall adds the barrels' own resistance once more; it is most of what is read."""
    chain = via_chain(SHOP)
    expected = chain.expects.spread
    height = DESIGN.board.stackup.thickness - DESIGN.board.stackup.copper[0]
    wall = np.pi * (DESIGN.via.drill - 25e-6) * 25e-6
    barrels = len(chain.vias) * DESIGN.board.stackup.metal.resistivity * height / wall
    assert 0.6 < barrels / expected.value < 0.85
    assert "plating" in expected.shifts
    assert all(via.joins == (1, 2) for via in chain.vias)


@pytest.mark.parametrize("stackup", ["rigid-4-layer-1.6mm", "rigid-8-layer-1.6mm"])
def test_plates_stand_on_the_thinnest_dielectric_and_follow_its_thickness(stackup):
    design = DESIGN.changed({"board.stackup": stackup})
    coupon = plates(shop_of([design], 0.2e-3))
    expected = coupon.expects.spread
    thinnest = min(design.board.stackup.dielectric)
    assert coupon.measures["thickness"] == thinnest
    share = design.tolerance.dielectric_thickness
    low, high = expected.shifts["dielectric thickness"]
    assert low == pytest.approx(share * expected.value, rel=0.25)
    assert high == pytest.approx(-share * expected.value, rel=0.25)
