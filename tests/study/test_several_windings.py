"""Boards of several windings varied by the name of a winding: variants side by side, and sweeps."""

import numpy as np
import pytest
from board_designs import board, winding

from coilgen import job
from coilgen.errors import DesignError
from coilgen.study.compare import compare
from coilgen.study.comparison_columns import columns_of
from coilgen.study.comparison_text import cells, csv_text
from coilgen.study.plan import plan
from coilgen.study.sweep import sweep

PAIR = (winding("drive", centre=[-8, 0]), winding("sense", centre=[8, 0], turns=3))


@pytest.mark.slow
def test_each_winding_and_their_coupling_have_columns():
    variant = {"name": "coarse", "winding": [{"name": "sense", "turns": 2}]}
    found = compare(board(*PAIR, variant=[variant]))
    names = [column.name for column in found.columns]
    assert {"windings.sense.inductance", "windings.drive.current", "coupling.drive.sense"} <= set(names)
    assert "current" not in names
    own, coarse = (row.values for row in found.rows)
    assert coarse["windings.sense.inductance"] < own["windings.sense.inductance"]
    assert coarse["windings.drive.inductance"] == own["windings.drive.inductance"]
    heads, _ = cells(found)
    assert "L\nsense\nnH" in heads
    assert "windings.sense.inductance H" in csv_text(found).splitlines()[0]


def test_cores_bring_columns_of_what_they_make_of_inductances_and_couplings():
    core = {"width": 30, "depth": 14, "thickness": 1, "place": "bottom"}
    names = [column.name for column in columns_of([board(*PAIR), board(*PAIR, core=[core])])]
    assert "inductance_matrix_in_place.sense.sense" in names
    assert "coupling_in_place.drive.sense" in names
    assert not any("in_place." in column.name for column in columns_of([board(*PAIR)]))


def test_a_winding_that_one_variant_alone_has_is_blank_elsewhere():
    more = {"name": "third", "winding": [winding("guard", centre=[0, 16], turns=2)]}
    own = board(*PAIR, variant=[more])
    (column,) = (
        column
        for column in columns_of((own, own.variant[0].design))
        if column.name == "windings.guard.resistance_20c"
    )
    without, with_it = (
        column.read(job.case_of(each, *job.draw(each))) for each in (own, own.variant[0].design)
    )
    assert without is None and with_it > 0


def test_rows_of_a_sweep_are_the_figures_of_each_board():
    """By name and by number; figures of one winding, between two, and of the board."""
    asked = ("windings.sense.inductance", "coupling.drive.sense", "inductance_matrix.sense.sense", "power")
    design = board(*PAIR)
    found = sweep(design, {"winding.sense.turns": [2, 3], "winding.1.drive.current": [0.1, 0.2]}, asked)
    assert list(found["status"]) == ["ok"] * 4
    for k, (turns, current) in enumerate([(2, 0.1), (2, 0.2), (3, 0.1), (3, 0.2)]):
        other = design.changed({"winding.sense.turns": turns, "winding.drive.drive.current": current})
        case = job.case_of(other, *job.draw(other))
        own = case.value("inductance_matrix")
        assert found["windings.sense.inductance"][k] == own[1][1] == found["inductance_matrix.sense.sense"][k]
        assert found["coupling.drive.sense"][k] == case.value("coupling")[0][1]
        assert found["power"][k] == case.value("power")
    assert found.units["coupling.drive.sense"] == "1"


def test_rows_where_windings_meet_tell_so():
    found = sweep(board(*PAIR), {"winding.sense.centre": [[8, 0], [2, 0]]}, ["rules_broken"])
    assert found["status"][0] == "ok" and found["rules_broken"][0] == 0
    assert found["status"][1].startswith("winding 2.centre: sense wants the copper of drive")
    assert np.isnan(found["rules_broken"][1])


def test_what_is_looked_at_first_is_every_windings_own():
    names = {*plan(board(*PAIR), {"winding.sense.turns": [2, 3]}).figures}
    assert {"windings.drive.resistance_20c", "windings.sense.temperature", "coupling.drive.sense"} <= names


@pytest.mark.parametrize(
    ("key", "figure", "says"),
    [
        ("winding.turns", "power", "names none of the windings drive, sense"),
        ("winding.third.turns", "power", "names none of the windings drive, sense"),
        ("winding.3.turns", "power", "names none of the windings drive, sense"),
        ("winding.sense.name", "power", "cannot be varied"),
        ("winding.sense.turn", "power", 'did you mean "winding.sense.turns"'),
        ("winding.sense.turns", "inductance", "write such as windings.drive.inductance"),
        ("winding.sense.turns", "coupling", "name two windings, such as coupling.drive.sense"),
        ("winding.sense.turns", "coupling.drive.third", '"third" is no winding'),
        ("winding.sense.turns", "windings.drive.impedance", "no figure of one value"),
    ],
)
def test_keys_and_figures_of_no_winding_are_refused(key, figure, says):
    with pytest.raises(DesignError) as caught:
        plan(board(*PAIR), {key: [2, 3]}, [figure])
    (fault,) = caught.value.faults
    assert says in fault.says


def test_a_board_of_one_winding_has_none_by_name():
    from small_design import SMALL

    from coilgen.design.reading import read_text

    with pytest.raises(DesignError, match="this board has one"):
        plan(read_text(SMALL), {"winding.turns": [2, 3]}, ["windings.drive.inductance"])
