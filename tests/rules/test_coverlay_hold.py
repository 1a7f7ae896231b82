"""Coverlay holds the edge of pads and leaves enough to solder: boards that do and boards that do not."""

from dataclasses import replace

import pytest
from boards import mm
from small_design import faults_with, small_with

from coilgen.job import draw
from coilgen.rules import coverlay_hold, mask_opening

FLEX = {"board": {"stackup": "flex-2-layer"}, "rules": {"shop": "flex-standard"}}


def findings(art_of=lambda art: art, rule=coverlay_hold, **tables):
    design = small_with(**{**FLEX, **tables})
    coil, art = draw(design)
    return list(rule.RULE.check(design, coil, art_of(art)))


def opened(by):
    """The art with every opening so much wider, m."""
    return lambda art: replace(
        art, openings=tuple(replace(each, diameter=each.diameter + by) for each in art.openings)
    )


def test_openings_are_smaller_than_the_pads_and_pass():
    design = small_with(**FLEX)
    coil, art = draw(design)
    pads = {terminal.at: terminal.pad for terminal in coil.terminals}
    assert {round((pads[each.at] - each.diameter) / 2 / mm, 9) for each in art.openings} == {0.15}
    assert findings() == findings(rule=mask_opening) == []


def test_a_pad_held_too_little_is_found():
    found = findings(opened(0.2 * mm))
    assert {finding.layer for finding in found} == {1, 2}
    assert found[0].value == pytest.approx(0.05 * mm)
    assert "holds 0.05 mm of the pad's edge" in found[0].says


def test_a_pad_wholly_bared_is_told_so():
    found = findings(opened(0.4 * mm))[0]
    assert found.value == pytest.approx(-0.05 * mm)
    assert "The coverlay ends 0.05 mm beside the pad's edge, of which it should hold 0.15 mm" in found.says


def shortened(by):
    """The art with every contact finger so much shorter at its root, m."""

    def finger(pad):
        along = pad.span / abs(pad.span)
        return replace(pad, at=pad.at + along * by / 2, span=pad.span - along * by)

    return lambda art: replace(art, pads=tuple(finger(pad) if pad.span else pad for pad in art.pads))


FINGERS = {
    "tail": {"length": 30},
    "terminals": {"kind": "contact-fingers"},
    "stiffener": [{"thickness": 0.2}],
}


def test_fingers_go_on_under_the_coverlay():
    """By half a millimetre as they are drawn; their tips are bare."""
    assert findings(**FINGERS) == findings(shortened(0.34 * mm), **FINGERS) == []
    (found,) = findings(shortened(0.4 * mm), **FINGERS)
    assert (found.value, found.layer) == (pytest.approx(0.1 * mm), 1)
    (bare,) = findings(shortened(0.7 * mm), **FINGERS)
    assert bare.value == pytest.approx(-0.2 * mm)


def test_a_pad_with_too_little_left_bare_is_found():
    found = findings(terminals={"pad": "1.5 mm", "drill": "1.0 mm"})
    assert found[0].value == pytest.approx(0.1 * mm)
    assert "leaves 0.1 mm of bare copper" in found[0].says


def test_a_pad_with_nothing_left_is_refused():
    (told,) = faults_with(**FLEX, terminals={"pad": "1.3 mm", "drill": "1.0 mm"})
    assert told.startswith("terminals.pad: 1.3 mm leaves nothing to solder")
    assert "use more than 1.3 mm" in told


def test_without_a_hold_openings_reach_past_their_pads():
    rules = {"shop": "flex-standard", "coverlay_hold": 0}
    design = small_with(**{**FLEX, "rules": rules})
    _, art = draw(design)
    assert art.openings[0].diameter == pytest.approx(2.1 * mm)
    assert findings(rules=rules) == findings(rule=mask_opening, rules=rules) == []


def test_rigid_boards_have_none():
    design = small_with()
    coil, art = draw(design)
    assert design.rules.coverlay_hold == 0.0
    assert list(coverlay_hold.RULE.check(design, coil, art)) == []
    assert art.openings[0].diameter > coil.terminals[0].pad
