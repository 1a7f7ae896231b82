"""Filaments of a strip's cross-section."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.physics.eddy.section import mean_distances, section
from coilgen.physics.inductance.mean_distance import geometric_mean_distance

sizes = st.floats(0.01, 1.5)


@given(edge=sizes, largest=sizes, through=sizes)
def test_filaments_fill_the_section(edge, largest, through):
    cells = section(edge=edge, largest=largest, through=through)
    assert (cells.dy * cells.dz).sum() == pytest.approx(4.0)
    assert np.all(np.abs(cells.y) + 0.5 * cells.dy <= 1 + 1e-12)
    assert np.all(np.abs(cells.z) + 0.5 * cells.dz <= 1 + 1e-12)


@given(edge=st.floats(0.01, 0.3), largest=sizes)
def test_filaments_are_finest_at_the_edges(edge, largest):
    columns = np.diff(section(edge=edge, largest=largest, through=1.0).across)
    assert np.allclose(columns, columns[::-1])
    assert columns[0] <= 1.5 * edge
    assert np.all(np.diff(columns[: len(columns) // 2]) >= -1e-12)
    assert np.all(columns[1:] / columns[:-1] < 1.5 + 1e-9)


def test_one_filament_through_thin_copper():
    assert len(section(edge=0.1, largest=0.2, through=1.0).through) == 2


def test_mean_distances_make_up_the_whole_sections():
    """The log mean over all filaments is that of the undivided section."""
    cells = section(edge=0.05, largest=0.2, through=0.4)
    weight = 0.25 * cells.dy * cells.dz
    whole = np.exp(weight @ np.log(mean_distances(cells, 1e-3, 7e-5)) @ weight)
    assert whole == pytest.approx(float(geometric_mean_distance(0, 0, 1e-3, 7e-5, 1e-3, 7e-5)), rel=1e-5)
