"""The board's table and what is cut, drilled and landed in it."""

import pytest
from pydantic import ValidationError
from small_design import TABLES, faults_with

from coilgen.design.board import Board, Pocket, Terminals, Via
from coilgen.design.reading import read_text
from coilgen.design.stackup import named
from coilgen.errors import DesignError


def says(table, given):
    with pytest.raises(ValidationError) as caught:
        table.model_validate(given)
    return str(caught.value)


def test_a_stackup_is_a_name_or_a_table():
    assert Board.model_validate({"stackup": "flex-2-layer"}).stackup == named("flex-2-layer")
    table = {"copper": ["35 um", "35 um"], "dielectric": ["1.53 mm"], "material": "FR-4"}
    own = Board.model_validate({"stackup": table}).stackup
    assert own.thickness == pytest.approx(1.6e-3)
    assert own.name == "custom"
    assert "neither a stack-up's name nor a table" in says(Board, {"stackup": 3})
    assert 'did you mean "flex-2-layer"' in says(Board, {"stackup": "flex-2-layers"})


@pytest.mark.parametrize(
    ("outline", "keys"),
    [
        ("none", set()),
        ("round", {"size"}),
        ("square", {"size", "corner_radius"}),
        ("rectangle", {"width", "height", "corner_radius"}),
    ],
)
def test_each_outline_takes_its_own_measures(outline, keys):
    values = {"size": 20, "width": 20, "height": 30, "corner_radius": 2}
    board = Board.model_validate({"outline": outline, **{key: values[key] for key in keys}})
    assert all(getattr(board, key) == values[key] / 1000 for key in keys)
    for key in set(values) - keys:
        assert f"board.{key}: has no use" in says(Board, {"outline": outline, key: values[key]})


def test_measures_of_an_outline_agree():
    assert "board.height: not given" in says(Board, {"outline": "rectangle", "width": 3})
    assert "board.width: not given" in says(Board, {"outline": "rectangle", "height": 3})
    assert "board.corner_radius" in says(Board, {"outline": "square", "size": 3, "corner_radius": 2})


def test_pockets():
    assert Pocket.model_validate({"size": "6.1 mm"}).shape == "round"
    assert "pocket.corner_radius" in says(Pocket, {"shape": "square", "size": 3, "corner_radius": 2})
    wedge = {"shape": "wedge", "inner_radius": 4.15, "outer_radius": 9.23, "angle": 20.2}
    assert "over 0.882" in says(Pocket, {**wedge, "corner_radius": 0.9})
    assert Pocket.model_validate({**wedge, "corner_radius": 0.88}).corner_radius == 0.88e-3
    assert Pocket.model_validate({"size": 3, "corner_radius": 2}).notes
    assert not Pocket.model_validate({"shape": "hexagonal", "size": 3, "corner_radius": 1}).notes


def test_vias_have_copper_round_their_holes():
    assert "via.pad" in says(Via, {"drill": 0.6, "pad": 0.6})
    assert "count" in says(Via, {"count": 17})


def test_terminals_are_two_pads():
    assert "terminals.drill" in says(Terminals, {"drill": 1.8})
    assert "terminals.drill" in says(Terminals, {"kind": "surface-pad", "drill": 1})
    assert "terminals.pitch" in says(Terminals, {"pitch": 1.8})
    both = says(Terminals, {"drill": 1.8, "pitch": 1.8})
    assert "terminals.drill" in both
    assert "terminals.pitch" in both
    assert Terminals.model_validate({"kind": "surface-pad", "drill": 0}).drill == 0


def test_a_wedge_too_narrow_for_the_shops_corners_is_told_without_a_number_that_nobody_gave():
    from small_design import SMALL

    wedge = '[pocket]\nshape = "wedge"\ninner_radius = 5\nouter_radius = 5.6\nangle = 30\n'
    with pytest.raises(DesignError, match="not given; the default, the shop's least"):
        read_text(SMALL + wedge)


def test_a_stiffener_without_a_board_to_lie_on_is_refused():
    board = {"outline": "none", "stackup": "flex-2-layer"}
    (line,) = faults_with(board=board, stiffener=[{"beneath": "winding", "thickness": 0.2}])
    assert line.startswith("stiffener 1: has no board to lie on")


def test_radii_of_a_wedge_the_wrong_way_round_are_told_both():
    wedge = {**TABLES["winding"], "shape": "wedge", "inner_radius": 20, "outer_radius": 19}
    del wedge["outer_size"]
    found = faults_with(winding=wedge, array={"arrangement": "ring", "count": 9})
    assert any("20 mm is not under outer_radius, 19 mm" in line for line in found)
