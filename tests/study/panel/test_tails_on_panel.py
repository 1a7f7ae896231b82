"""Boards with tails on a panel: slots round them, tabs off what a connector takes and off bends."""

import pytest
import shapely

import coilgen
from coilgen.catalogue import templates
from coilgen.design.paneling import PanelFile, Sample
from coilgen.geometry.region import region
from coilgen.study.panel.findings import findings
from coilgen.study.panel.panel import drawn

TEXT = templates()["mirror-tilt-drive"]


def panel(text=TEXT, **keys):
    asked = PanelFile(name="flaps", coupons=False, sample=(Sample(design="a.toml", copies=2),), **keys)
    return drawn(asked, [coilgen.read_text(text)])


@pytest.fixture(scope="module", params=["square", "round"])
def flaps(request):
    if request.param == "square":
        return panel()
    sharp = TEXT.replace("corner_radius = ", "# ").replace('outline = "square"', 'outline = "round"')
    return panel(sharp.replace('size = "12.5 mm"', 'size = "13.5 mm"'))


def test_boards_stand_on_the_panel_as_drawn(flaps):
    """Within the frame and off each other, though the coil is not in their middle."""
    frame = region(flaps.plan.outline, 1e-6).buffer(-flaps.plan.frame)
    boards = [region(each.art.outline, 1e-6) for each in flaps.boards]
    assert all(frame.contains(board) for board in boards)
    assert boards[0].distance(boards[1]) > 4e-3
    assert len(flaps.art.stiffeners) == len(flaps.art.bends) == 2


def test_slots_follow_a_tail_s_edge_and_free_the_board(flaps):
    """Slots hold all within 2 mm of an edge but at tabs, and nothing of a board."""
    slots = shapely.union_all([region(slot, 1e-7) for each in flaps.cuts for slot in each.slots])
    for each, cut in zip(flaps.boards, flaps.cuts, strict=True):
        board = region(each.art.outline, 1e-7)
        assert slots.intersection(board).area < 2e-9
        tabs = shapely.union_all(
            [
                shapely.MultiPoint([(hole.at.real, hole.at.imag) for hole in row]).convex_hull.buffer(3.2e-3)
                for row in cut.perforations
            ]
        )
        ring = board.buffer(1.98e-3).difference(board).difference(tabs)
        assert ring.difference(slots.buffer(3e-6)).area < 1e-9


def test_tabs_hold_neither_fingers_nor_bends(flaps):
    for each, cut in zip(flaps.boards, flaps.cuts, strict=True):
        tail = each.coil.tail
        assert len(cut.perforations) >= 3
        for hole in (hole for row in cut.perforations for hole in row):
            along = ((hole.at - tail.origin) * tail.out.conjugate()).real
            assert along < tail.terminals_from
            assert not 9e-3 - 2.5e-3 - 1e-3 < along < 9e-3 + 2.5e-3 + 1e-3


def test_the_panel_keeps_every_rule(flaps):
    assert findings(flaps) == ()


@pytest.mark.parametrize("radius", ["0.5 mm", "0 mm"])
def test_roots_too_narrow_for_the_cutter_are_told_with_what_does(radius):
    with pytest.raises(coilgen.DesignError, match=r"raise tail.root_radius to 1 mm"):
        panel(TEXT.replace('root_radius = "1 mm"', f'root_radius = "{radius}"'))
    assert (
        panel(TEXT.replace('root_radius = "1 mm"', f'root_radius = "{radius}"'), separation="none").cuts == ()
    )
