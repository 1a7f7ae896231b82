"""The rule about printed ink, against edges, pocket, holes and bare copper."""

import pytest
from boards import blank_art, coil_of, hole, mm, read_design, straight

from coilgen.artwork.art import Opening, Stroke
from coilgen.geometry.closed import circle, rectangle
from coilgen.geometry.isometry import Isometry
from coilgen.rules import legend_clearance


def found(**fields):
    """Values found in mm, of one printed line of 0.15 mm from x = -1 to 1 mm and the shop's 0.2 mm."""
    ink = straight(-1, 1, width=0.15)
    art = blank_art(legend=(Stroke(path=ink.path, width=ink.width),), **fields)
    return [
        (finding.value / mm, finding.says.split(",")[0])
        for finding in legend_clearance.RULE.check(read_design(), coil_of([]), art)
    ]


def test_a_board_without_print_has_no_finding():
    art = blank_art(outline=circle(2 * mm), holes=(hole(0),))
    assert list(legend_clearance.RULE.check(read_design(), coil_of([]), art)) == []


def test_at_the_limit_is_clear():
    assert found(outline=rectangle(10 * mm, 0.55 * mm), holes=(hole(1.425),)) == []
    assert found(openings=(Opening(side="top", at=(1.775 + 0j) * mm, diameter=1 * mm),)) == []


@pytest.mark.parametrize("outline", [rectangle(10 * mm, 0.54 * mm), circle(2.54 * mm)])
def test_ink_near_the_edge_is_found(outline):
    assert found(outline=outline)[0] == (
        pytest.approx(0.195),
        "Printed ink is 0.195 mm from the board's edge",
    )


def test_ink_over_a_rounded_corner_is_found():
    """The line's ends are inside the corner of the rectangle, and outside its arc."""
    assert found(outline=rectangle(2.2 * mm, 0.55 * mm)) != []
    ((value, _), *_) = found(outline=circle(1.9 * mm))
    assert value == pytest.approx(-0.125)


def test_ink_near_pocket_hole_and_bare_copper_is_found():
    assert found(pockets=(circle(1 * mm),))[0][0] < 0
    assert found(holes=(hole(1.3),)) == [(pytest.approx(0.075), "Printed ink is 0.075 mm from a hole")]
    bare = Opening(side="top", at=0.5j * mm, diameter=0.8 * mm)
    assert found(openings=(bare,)) == [(pytest.approx(0.025), "Printed ink is 0.025 mm from bare copper")]


def test_ink_over_an_edge_is_told_by_how_much():
    (text,) = {says for value, says in found(outline=circle(1.9 * mm)) if value < -0.1}
    assert text == "Printed ink is 0.125 mm over the board's edge"


@pytest.mark.parametrize(("away", "told"), [(0.19, "0.19 mm from"), (0.21, None), (-0.05, "0.05 mm over")])
@pytest.mark.parametrize("what", ["the pocket", "contact fingers"])
def test_ink_keeps_off_pockets_and_windows_from_outside(what, away, told):
    """Both 1 mm square, north of the line."""
    edge = rectangle(mm, mm).moved(Isometry(shift=(0.575 + away) * 1j * mm))
    window = Opening(side="top", at=0j, diameter=0.0, window=edge)
    given = found(pockets=(edge,)) if what == "the pocket" else found(openings=(window,))
    assert {says for _, says in given} == ({f"Printed ink is {told} {what}"} if told else set())


def test_openings_of_the_bottom_do_not_matter():
    assert found(openings=(Opening(side="bottom", at=0j, diameter=1 * mm),)) == []
