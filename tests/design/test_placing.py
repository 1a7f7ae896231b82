"""Several windings in a design file: what each takes from the board, its faults, changes by name."""

import pytest
from board_designs import board, winding
from schema_reader import keeps_to
from small_design import TABLES

from coilgen.design.design import Design
from coilgen.design.reading import json_schema, read_tables
from coilgen.errors import DesignError

PAIR = (winding("drive", centre=[-8, 0]), winding("sense", centre=["8 mm", 0], rotation="30 deg"))


def lines(*windings, **tables):
    with pytest.raises(DesignError) as caught:
        board(*windings, **tables)
    return [str(fault) for fault in caught.value.faults]


def test_each_is_a_design_by_itself_with_its_place():
    design = board(*PAIR)
    assert [each.name for each in design.windings] == ["drive", "sense"]
    assert [each.centre for each in design.windings] == [-8e-3, 8e-3]
    assert design.windings[1].rotation == 30
    assert all(each.copper_layers == (1, 2) for each in design.windings)
    assert design.board.outline == "rectangle"
    assert design.board.stackup.layers == 2
    assert all(each.design.board.stackup == design.board.stackup for each in design.windings)


def test_own_tables_go_over_the_boards():
    own = {"drive": {"voltage": 2}, "terminals": {"pad": 1.6}}
    first, second = board(PAIR[0], {**PAIR[1], **own}, terminals={"pitch": 4, "pad": 2}).windings
    assert (first.design.drive.current, first.design.drive.voltage) == (0.1, None)
    assert (second.design.drive.current, second.design.drive.voltage) == (None, 2.0)
    assert (first.design.terminals.pad, second.design.terminals.pad) == (2e-3, 1.6e-3)
    assert second.design.terminals.pitch == 4e-3


@pytest.mark.parametrize("own", ["dc", "sine"])
def test_a_waveform_of_its_own_takes_nothing_of_the_boards_that_it_has_no_use_for(own):
    """Its frequency where it has one, but no duty; what it tells itself is refused as ever."""
    square = {"voltage": 3, "waveform": "square", "frequency": 2e3, "duty": 0.3, "current_limit": 0.5}
    design = board(PAIR[0], {**PAIR[1], "drive": {"waveform": own}}, drive=square)
    drives = [each.design.drive for each in design.windings]
    assert [each.duty for each in drives] == [0.3, None]
    assert [each.frequency for each in drives] == [2e3, 2e3 if own == "sine" else None]
    assert [each.current_limit for each in drives] == [0.5, None if own == "sine" else 0.5]
    assert Design.from_resolved(design.resolved()) == design
    told = lines(PAIR[0], {**PAIR[1], "drive": {"waveform": own, "duty": 0.5}}, drive=square)
    assert told == ['winding 2.drive.duty: belongs to waveform = "square"; leave it out']


def test_the_stackup_has_as_many_layers_as_the_lowest_winding_needs():
    assert board(PAIR[0], winding("low", copper_layers=[3, 4])).board.stackup.layers == 4


def test_a_design_of_one_winding_is_as_before():
    one = read_tables(TABLES)
    assert one.windings == ()
    assert "hole" not in one.resolved()
    assert isinstance(one.resolved()["winding"], dict)


def test_no_size_of_several_is_taken_for_that_of_one():
    with pytest.raises(LookupError, match="no one outer_size; ask its windings"):
        _ = board(*PAIR).winding.outer_size


def test_told_and_read_back():
    design = board(*PAIR, hole=[{"at": [0, 9], "diameter": 2}])
    told = design.resolved()
    assert [each["name"] for each in told["winding"]] == ["drive", "sense"]
    assert told["winding"][1]["centre"] == [8e-3, 0.0]
    assert Design.from_resolved(told) == design


def test_the_pocket_of_one_at_the_centre_is_not_read_back_as_that_of_all():
    design = board(winding("holed", pocket={"size": 1.5}), *PAIR[1:])
    again = Design.from_resolved(design.resolved())
    assert [each.design.pocket for each in again.windings] == [each.design.pocket for each in design.windings]
    assert again.pocket == design.pocket


@pytest.mark.parametrize(
    ("windings", "line"),
    [
        ((winding("a"), winding("A")), 'winding 2.name: "A" names an earlier winding too; choose another'),
        ((winding("a", turns=0),), "winding 1.turns: 0 is outside what is allowed, 1 to 1000"),
        (
            (winding("a", copper_layers=[2, 1]),),
            "winding 1.copper_layers: 2, 1 do not count down the board; name each once",
        ),
        (
            ({**winding("a", copper_layers=[1]), "layers": 2},),
            "winding 1.layers: given besides copper_layers, whose number it is; leave one of them out",
        ),
        (
            (winding("a", terminals={"pitch": 1}),),
            "winding 1.terminals.pitch: 1 mm makes the pads touch; use more than their 1.8 mm",
        ),
        ((winding("a", centre=[1]),), "winding 1.centre: 1 given; 2 are needed"),
        ((3,), "winding 1: 3 is not a table; write each winding as [[winding]]"),
        ((winding("a name"),), None),
    ],
)
def test_faults_stand_at_the_windings_keys(windings, line):
    found = lines(*windings)
    if line is None:
        assert len(found) == 1 and found[0].startswith('winding 1.name: "a name" names a net')
    elif line.startswith("winding 1.centre"):
        assert found[0].startswith("winding 1.centre")
    else:
        assert found == [line]


def test_layers_beyond_the_board():
    found = lines(winding("a", copper_layers=[1, 4]), board={"stackup": "rigid-2-layer-1.6mm"})
    says = "4 is beyond the stack-up's 2 copper layers; choose lower ones or more layers"
    assert found == [f"winding 1.copper_layers: {says}"]


def test_more_layers_than_the_board_has_are_told_where_they_are_listed():
    found = lines(winding("a", copper_layers=[1, 2, 3]), board={"stackup": "rigid-2-layer-1.6mm"})
    assert found[0].startswith("winding 1.copper_layers: 3 layers do not fit")


def test_no_winding_at_all_and_too_many():
    assert lines() == ["winding: 0 given; 1 to 72 are allowed"]
    assert lines(*(winding(f"w{k}") for k in range(73))) == ["winding: 73 given; 1 to 72 are allowed"]


def test_a_fault_of_the_board_is_told_once():
    assert lines(*PAIR, rules={"shop": "none"})[0].startswith("rules.shop")
    assert len(lines(*PAIR, rules={"shop": "none"})) == 1


def test_variants_change_a_winding_by_its_name():
    variant = {"name": "coarse", "winding": [{"name": "sense", "turns": 3}]}
    (coarse,) = board(*PAIR, variant=[variant]).variant
    assert [each.design.winding.turns for each in coarse.design.windings] == [4, 3]
    assert coarse.design.windings[1].centre == 8e-3


def test_changes_reach_a_winding_by_number_and_by_name():
    design = board(*PAIR)
    for key in ("winding.2.turns", "winding.sense.turns"):
        changed = design.changed({key: 3})
        assert [each.design.winding.turns for each in changed.windings] == [4, 3]


def test_the_schema_takes_one_winding_and_several():
    schema = json_schema()
    tables = {"name": "a", "winding": list(PAIR)}
    assert keeps_to(tables, schema, schema)
    assert keeps_to(TABLES, schema, schema)
    assert not keeps_to({**tables, "winding": [{**PAIR[0], "turn": 3}]}, schema, schema)
    assert not keeps_to({**tables, "winding": [{"shape": "round"}]}, schema, schema)
