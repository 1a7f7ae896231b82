"""Windings on one board: their copper is that of each by itself, on its layers, turned and moved."""

import pytest
from board_designs import board, winding
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.artwork.coil_art import art
from coilgen.artwork.copper_area import CHORD_ERROR, net_union
from coilgen.design.reading import read_tables
from coilgen.errors import DesignError
from coilgen.geometry.isometry import Isometry
from coilgen.job import draw, findings_of
from coilgen.layout.board import alone, in_place, together, wound


def affine(geometry, degrees, at):
    from shapely import affinity

    turned = affinity.rotate(geometry, degrees, origin=(0, 0))
    return affinity.translate(turned, at[0] * 1e-3, at[1] * 1e-3)


@given(
    at=st.tuples(st.floats(-30, 30), st.floats(-30, 30)),
    degrees=st.floats(-360, 360),
    layers=st.sampled_from([[1, 2], [2, 3], [1, 4], [3, 4]]),
    shape=st.sampled_from(["round", "square", "hexagonal"]),
)
@settings(max_examples=25, deadline=None)
def test_copper_is_the_windings_own_moved(at, degrees, layers, shape):
    own = winding("w", shape=shape, copper_layers=layers, centre=list(at), rotation=degrees)
    stackup = {"stackup": "rigid-4-layer-1.6mm"}
    _, made = draw(board(own, board=stackup))
    _, centred = draw(board(winding("w", shape=shape, copper_layers=layers), board=stackup))
    for layer in range(1, 5):
        expected = affine(net_union(centred, layer, "w"), degrees, at)
        found = net_union(made, layer, "w")
        assert found.hausdorff_distance(expected) <= 2.5 * CHORD_ERROR
    wound_on = {trace.layer for trace in made.traces}
    assert wound_on == set(layers)


def test_a_winding_alone_at_the_centre_is_that_of_a_design_of_one():
    design = board(winding("w"))
    (coil,) = in_place(design, wound(design))
    plain = alone(design.windings[0].design)
    assert [trace.path for trace in coil.traces] == [trace.path for trace in plain.traces]


def test_nets_and_terminal_numbers():
    design = board(winding("a", centre=[-8, 0]), winding("b", centre=[8, 0]))
    coil, made = draw(design)
    assert [(each.number, each.net) for each in coil.terminals] == [(1, "a"), (2, "a"), (3, "b"), (4, "b")]
    assert {trace.net for trace in made.traces} == {"a", "b"}
    assert all(pad.net == ("a" if pad.at.real < 0 else "b") for pad in made.pads)
    assert all(hole.net == ("a" if hole.at.real < 0 else "b") for hole in made.holes)


def test_what_leads_out_takes_a_layer_that_the_winding_leaves_free():
    design = board(winding("a", copper_layers=[3]), board={"stackup": "rigid-4-layer-1.6mm"})
    coil, _ = draw(design)
    assert {trace.layer for trace in coil.traces} == {3, 1}
    assert "copper layer 1" in " ".join(coil.says)


def test_surface_pads_do_not_lie_on_inner_layers():
    own = winding("a", copper_layers=[2, 3], terminals={"kind": "surface-pad"})
    with pytest.raises(DesignError, match=r"surface-pad.*inner layer 2"):
        draw(board(own, board={"stackup": "rigid-4-layer-1.6mm"}))


def test_no_room_is_told_at_the_key_that_the_file_has():
    """A table that all windings share, and one winding's own."""
    pair = (winding("a", centre=[-8, 0]), winding("b", centre=[8, 0], terminals={"pad": 1.7}))
    shared = refusals(*pair, terminals={"distance": 6.1})
    assert [line.partition(":")[0] for line in shared] == ["terminals.distance"] * 2
    assert shared[0].endswith("(for a)") and shared[1].endswith("(for b)")
    (own,) = refusals(pair[0], {**pair[1], "terminals": {"distance": 6.1}})
    assert own.startswith("winding 2.terminals.distance: 6.1 mm")


def test_no_room_is_told_of_every_winding():
    small = {"outer_size": 5, "turns": 5}
    with pytest.raises(DesignError) as caught:
        draw(board(winding("a", **small), winding("b", centre=[20, 0], **small)))
    assert [fault.key for fault in caught.value.faults] == ["winding 1.inner_size", "winding 2.inner_size"]


def refusals(*windings, **tables):
    with pytest.raises(DesignError) as caught:
        draw(board(*windings, **tables))
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize(("at", "apart"), [((3, 0), "9.15"), ((10, 0), "2.15"), ((6, 8), "2.15")])
def test_windings_that_want_the_same_copper_are_told_how_far_to_move(at, apart):
    """Two rounds of 12 mm: 12 mm and the spacing between their centres."""
    (line,) = refusals(winding("a"), winding("b", centre=list(at)))
    assert line.startswith("winding 2.centre: b wants the copper of a on copper layers 1 and 2, over ")
    assert f"move it {apart} mm or more away from a," in line
    step = 1 + float(apart) / abs(complex(*at))
    draw(board(winding("a"), winding("b", centre=[step * at[0], step * at[1]])))


def test_windings_in_one_place_are_refused_once_each():
    lines = refusals(*(winding(f"w{k}") for k in range(6)))
    assert [line.partition(":")[0] for line in lines] == [f"winding {k}.centre" for k in range(2, 7)]
    assert "w6" not in lines[0] and "of w0 and w1 and w2 and 2 more" in lines[-1]


def test_windings_on_other_layers_or_within_an_opening_are_not_over_one_another():
    draw(board(winding("a", copper_layers=[1, 2]), winding("b", copper_layers=[3, 4])))
    draw(board(winding("a", outer_size=20, turns=2), winding("b", centre=[0, 0.5], turns=2)))


@pytest.mark.parametrize(("at", "over"), [((9, 0), "2"), ((-30, 0), "23")])
def test_a_winding_off_the_board_is_told_by_how_much(at, over):
    """To its far side, from the edge at 13 mm: its own radius is 6 mm."""
    lines = refusals(winding("a", centre=list(at)), board={"outline": "square", "size": 26})
    says = f"winding 1.centre: a reaches {over} mm over the board's edge: move it in by {over}.3 mm or more"
    assert [line.startswith(says) for line in lines] == [True]


def test_copper_that_coincides_is_a_short_and_no_joint():
    """Two windings in the same place: every vertex of one lies on the other."""
    same = board(winding("a"), winding("b"))
    coil = together(in_place(same, wound(same)))
    (short,) = (f for f in findings_of(same, coil, art(same, coil)) if f.rule == "trace_spacing")
    assert short.value < 0 and short.layer is None
    assert short.says.startswith("Windings a and b overlap by ")


def test_a_lead_in_the_way_of_a_winding_is_one_finding():
    """Two windings so near that the pads of one stand in the turns of the other."""
    near = board(winding("a"), winding("b", centre=[0, -13]))
    between = [f for f in findings_of(near, *draw(near)) if f.says.startswith("Windings a and b overlap")]
    assert len(between) == 1
    assert "The worst of" in between[0].says


def test_voltage_between_windings_counts():
    """Each by itself needs little: between them stands the sum, for which their gap is too small."""
    pair = [winding("a", centre=[-6.15, 0]), winding("b", centre=[6.15, 0])]
    low = board(*pair, drive={"voltage": 10})
    high = board(*pair, drive={"voltage": 200})
    rules = [[f.rule for f in findings_of(each, *draw(each))] for each in (low, high)]
    assert "voltage_spacing" not in rules[0]
    assert "voltage_spacing" in rules[1]


def test_holes_of_the_board():
    holes = [{"at": [0, 9], "diameter": 3}, {"at": [0, -9], "diameter": 2, "plated": True}]
    design = board(winding("a", centre=[-9, 0]), winding("b", centre=[9, 0]), hole=holes)
    _, made = draw(design)
    plain, plated = (hole for hole in made.holes if hole.net == "")
    assert (plain.diameter, plain.plated, plated.plated) == (3e-3, False, True)
    rings = [pad for pad in made.pads if pad.net == ""]
    assert [pad.layer for pad in rings] == [1, 2]
    assert rings[0].diameter == pytest.approx(2e-3 + 2 * design.rules.annular_ring)
    near = board(winding("a"), hole=[{"at": [6.2, 0], "diameter": 1, "plated": True}])
    assert any(f.rule == "trace_spacing" for f in findings_of(near, *draw(near)))


@pytest.mark.parametrize(("at", "over"), [([0, 14], "2"), ([14, 0], "2"), ([40, 0], "28")])
def test_a_hole_off_the_board_is_told_by_how_much(at, over):
    """A board of 26 mm; the hole's edge is 1 mm from its middle. On boards of one winding too."""
    hole = [{"at": at, "diameter": 2}]
    outline = {"outline": "square", "size": 26}
    lines = refusals(winding("a"), board=outline, hole=hole)
    assert lines == [
        f"hole 1.at: the hole reaches {over} mm over the board's edge: move it in, or make the board larger"
    ]
    one = board(winding("a"), board=outline).windings[0].design
    with pytest.raises(DesignError, match=rf"hole 1\.at: the hole reaches {over} mm over"):
        draw(one.changed({"hole": hole, "board.outline": "square", "board.size": 26}))


def test_isometries_keep_lengths_and_quarter_turns_exact():
    assert Isometry.placed(1.1e-308, 0j) == Isometry()
    assert Isometry.placed(90, 1 + 2j).point(1 + 0j) == 1 + 3j
    assert abs(Isometry.placed(30, 5j).point(2 + 1j) - 5j) == pytest.approx(abs(2 + 1j))


@pytest.mark.parametrize("more", [{}, {"array": {"arrangement": "row", "count": 3, "pitch": "30 mm"}}])
def test_corners_that_an_open_outline_has_no_room_for_are_refused(more):
    """As wide as the copper asks: nobody gave a side that the radius could be held against before."""
    keys = {
        "shape": "round",
        "layers": 2,
        "turns": 4,
        "trace_width": 0.2,
        "trace_spacing": 0.2,
        "outer_size": 12,
    }
    given = {"winding": keys, "board": {"outline": "rectangle", "corner_radius": 30}, **more}
    with pytest.raises(DesignError, match=r"^board\.corner_radius: 30 mm is over half of the"):
        draw(read_tables({"name": "rounded", **given}))
