"""Which copper the faces of turns are divided for: what is near above or beneath, sideways too."""

import numpy as np
import pytest

from coilgen.physics.circuit.turn_section import checked_section, turn_kinds

DIVISIONS, THICK, GAP = 3, 0.1e-3, 0.2e-3


def top_borders(width, above_width, across, gap=GAP):
    """Borders of the top face of a turn, mm, with one of another width over it, so far across, m."""
    section = checked_section([0.0, gap + THICK], [0.0, across], [width, above_width], [THICK, THICK])
    kinds, members = turn_kinds(section, DIVISIONS)
    (lower,) = [kind for kind, turns in zip(kinds, members, strict=True) if 0 in turns]
    assert lower.bottom.size == DIVISIONS + 1
    return lower.top * 1e3


# Half of both widths is 0.7 mm; edges pass one another by what is left of the distance across.
@pytest.mark.parametrize(
    ("across", "faced"), [(0.0, True), (0.6e-3, True), (0.89e-3, True), (0.91e-3, False), (2e-3, False)]
)
def test_copper_is_faced_until_it_is_as_far_aside_as_above(across, faced):
    for side in (1, -1):
        assert (top_borders(1e-3, 0.4e-3, side * across).size > DIVISIONS + 1) is faced


def test_copper_is_faced_up_to_seven_tenths_of_a_width():
    assert top_borders(1e-3, 1e-3, 0.0, gap=0.69e-3).size > DIVISIONS + 1
    assert top_borders(1e-3, 1e-3, 0.0, gap=0.71e-3).size == DIVISIONS + 1


def test_a_face_is_divided_at_edges_that_it_sees_and_a_gap_beside_each():
    seen = top_borders(1e-3, 0.4e-3, 0.1e-3)
    wanted = [-0.5, -0.4, -0.3, -0.1, 0.1, 0.3, 0.4, 0.5]
    assert seen == pytest.approx(np.array(wanted), abs=1e-9)
