"""Laws of changed boards: scaled, a winding turned about its middle, windings told in another order."""

import numpy as np
import pytest
from board_designs import board, winding
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.design.design import Design
from coilgen.design.reading import read_tables
from coilgen.job import case_of, draw
from coilgen.result.figure import Case

SHAPES = st.sampled_from(["round", "square", "pentagonal", "oval"])


def case(design: Design) -> Case:
    return case_of(design, *draw(design))


def sized(shape: str, turns: float, width: float, scale: float) -> Case:
    """One winding on a board of its own copper and laminate, every length of it times a scale."""
    copper, laminate, size = 0.035 * scale, 1.0 * scale, 20 * scale
    return case(
        read_tables(
            {
                "name": "scaled",
                "winding": {
                    "shape": shape,
                    "layers": 2,
                    "turns": turns,
                    "trace_width": width * scale,
                    "trace_spacing": 0.3 * scale,
                    "outer_size": [1.5 * size, size] if shape == "oval" else size,
                },
                "board": {"stackup": {"copper": [copper, copper], "dielectric": [laminate]}},
                "via": {"drill": 0.3 * scale, "pad": 0.6 * scale},
                "terminals": {"pad": 1.8 * scale, "drill": scale, "pitch": 3.5 * scale},
                "rules": {"trace_spacing": 0.15 * scale, "hole_to_hole": 0.5 * scale, "mask_opening": 0.0},
                "probe": {"heights": [2 * scale]},
            }
        )
    )


@given(SHAPES, st.sampled_from([2, 3.25, 4]), st.floats(0.2, 0.5), st.floats(1.1, 3.0))
@settings(max_examples=2, deadline=None)
def test_a_scaled_board_has_scaled_figures(shape, turns, width, scale):
    """Inductance grows with it, resistance and what an ampere makes of field fall; plating stays as it is."""
    one, other = sized(shape, turns, width, 1.0), sized(shape, turns, width, scale)
    assert other.value("inductance") == pytest.approx(scale * one.value("inductance"), rel=1e-6)
    assert other.value("resistance_20c") == pytest.approx(one.value("resistance_20c") / scale, rel=1e-2)
    fields = [np.array([row["per_ampere"] for row in each.value("flux_density")]) for each in (one, other)]
    assert fields[1] == pytest.approx(fields[0] / scale, rel=1e-4)


@given(SHAPES, st.floats(-180, 180), st.sampled_from([[1, 2], [2, 1]]))
@settings(max_examples=2, deadline=None)
def test_turned_and_told_in_another_order_windings_keep_their_own(shape, angle, order):
    """A winding that turns alone about its own middle keeps its inductance and resistance."""
    size = [16, 12] if shape == "oval" else 12
    windings = {
        1: winding("still"),
        2: winding("turned", shape=shape, outer_size=size, turns=3, centre=[40, 5], rotation=angle),
    }
    plain = case(board(windings[1], {**windings[2], "rotation": 0.0}))
    changed = case(board(*(windings[number] for number in order)))
    told = [number - 1 for number in order]
    matrices = [np.array(each.value("inductance_matrix")) for each in (plain, changed)]
    assert np.diag(matrices[1]) == pytest.approx(np.diag(matrices[0])[told], rel=1e-9)
    resistances = [np.array(each.value("winding_resistances")) for each in (plain, changed)]
    assert resistances[1] == pytest.approx(resistances[0][told], rel=1e-9)


def test_the_order_of_windings_changes_nothing_but_the_order():
    windings = [
        winding("one"),
        winding("two", shape="square", turns=3, centre=[20, 5]),
        winding("three", turns=2, centre=[0, 20], direction="clockwise"),
    ]
    plain, turned = case(board(*windings)), case(board(*reversed(windings)))
    for name in ("inductance_matrix", "winding_resistances"):
        told, again = np.array(plain.value(name)), np.array(turned.value(name))
        assert np.flip(again) == pytest.approx(told, rel=1e-9, abs=1e-6 * np.abs(told).max())
    assert turned.value("copper_mass") == pytest.approx(plain.value("copper_mass"), rel=1e-9)
