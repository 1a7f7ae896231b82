"""Windings of a board with cores and a target: inductance_matrix_in_place, coupling_in_place."""

from dataclasses import replace

import numpy as np
import pytest
from board_designs import board, winding

from coilgen import job
from coilgen.figures.several._linkage import path_of

DISC = {"material": "soft iron", "form": "disc", "diameter": 14, "thickness": 1, "place": "bottom"}


def case_of(*windings, **tables):
    design = board(*windings, **tables)
    return job.case_of(design, *job.draw(design))


@pytest.fixture(scope="module")
def stacked():
    return case_of(
        winding("a", copper_layers=[1, 2], outer_size=14),
        winding("b", copper_layers=[3, 4], rotation=180),
        board={"stackup": "rigid-4-layer-1.6mm"},
        core=[DISC],
    )


def test_one_winding_is_as_a_design_of_one():
    one = {"board": {"outline": "round", "size": 22}, "core": [DISC]}
    several = case_of(winding("a"), **one)
    design = several.design.windings[0].design.changed(
        {"core": [DISC], "board.outline": "round", "board.size": 22}
    )
    case = job.case_of(design, *job.draw(design))
    ((found,),) = several.value("inductance_matrix_in_place")
    bare = case.value("inductance")
    assert found - bare == pytest.approx(case.value("inductance_in_place") - bare, rel=1e-3)


def test_in_series_they_are_one_winding(stacked):
    """L1 + L2 + 2 M of what the core adds is that of both paths as one."""
    from coilgen.figures.core._magnetics import cell_in_place, core_bodies, core_curves
    from coilgen.physics.core.effect import core_effect
    from coilgen.physics.field.filaments import together

    paths = [path_of(stacked, each) for each in stacked.windings]
    whole = core_effect(
        together(paths),
        core_bodies(stacked),
        core_curves(stacked),
        current=0.1,
        cell=cell_in_place(stacked),
        probes=np.array([[0.0, 0.0, 5e-3]]),
    )
    added = np.array(stacked.value("inductance_matrix_in_place")) - stacked.value("inductance_matrix")
    assert added.sum() == pytest.approx(whole.added_small_signal, rel=1e-3)


def test_the_matrix_is_symmetric_and_stores_energy(stacked):
    matrix = np.array(stacked.value("inductance_matrix_in_place"))
    assert matrix == pytest.approx(matrix.T, rel=1e-12)
    assert np.linalg.eigvalsh(matrix).min() > 0
    near, far = (np.array(stacked.value(name)) for name in ("coupling_in_place", "coupling"))
    assert far[0, 1] < near[0, 1] < 1


def test_a_wide_plate_is_a_mirror():
    """(mu - 1) / (mu + 1) of the flux of the other's image (Jackson, 5.10 and its problems); mu is large."""
    from coilgen.physics.inductance.facing import linkage_apart

    case = case_of(
        winding("a", centre=[-7, 0], turns=2),
        winding("b", centre=[7, 0], turns=2),
        board={"outline": "rectangle", "width": 34, "height": 22},
        core=[
            {
                "material": "soft iron",
                "form": "plate",
                "width": 60,
                "depth": 40,
                "thickness": 3,
                "place": "bottom",
            }
        ],
    )
    one, other = (path_of(case, each) for each in case.windings)
    (top,) = (standing.top for standing in case.design.stand.standing)
    mirror = np.array([1.0, 1.0, -1.0])
    shift = np.array([0.0, 0.0, 2 * top])
    image = replace(other, start=other.start * mirror + shift, end=other.end * mirror + shift)
    added = np.array(case.value("inductance_matrix_in_place")) - case.value("inductance_matrix")
    assert added[0, 1] == pytest.approx(linkage_apart(one, image), rel=0.08)


def test_what_is_left_out_is_told(stacked):
    told = [
        *stacked.figure("inductance_matrix").cautions,
        *stacked.figure("inductance_matrix_in_place").cautions,
    ]
    assert any("bare windings: inductance_matrix_in_place" in caution for caution in told)
    assert any("leave eddy currents in cores out" in caution for caution in told)
    plain = case_of(winding("a", centre=[-7, 0]), winding("b", centre=[7, 0]))
    assert plain.figure("inductance_matrix_in_place") is None
    assert not plain.figure("inductance_matrix").cautions
