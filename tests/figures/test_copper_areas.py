"""Areas of copper against length times width, and against the strokes' own outlines."""

import math

import pytest
from small_design import TABLES, small_with

from coilgen.artwork.copper_area import copper_areas, copper_union
from coilgen.job import case_of, draw


def test_areas_are_length_times_width_and_pads():
    """Traces end under pads, so that pads count but for what they share with their trace."""
    design = small_with()
    coil, art = draw(design)
    table = case_of(design, coil, art).value("copper_areas")
    assert [row["layer"] for row in table] == [1, 2]
    for row in table:
        traces = sum(trace.path.length * trace.width for trace in art.traces_on(row["layer"]))
        pads = sum(math.pi / 4 * pad.diameter**2 for pad in art.pads_on(row["layer"]))
        assert traces < row["area"] < traces + pads
        assert row["area"] == pytest.approx(traces + pads, rel=0.03)


def test_an_unwound_layer_has_its_pads_alone():
    design = small_with(board={"stackup": "rigid-4-layer-1.6mm"})
    coil, art = draw(design)
    area = case_of(design, coil, art).value("copper_areas")[3]["area"]
    assert area == pytest.approx(sum(math.pi / 4 * pad.diameter**2 for pad in art.pads_on(4)), rel=1e-9)


@pytest.mark.parametrize("shape", ["round", "square", "hexagonal"])
def test_areas_are_those_of_the_copper_as_one(shape):
    _, art = draw(small_with(winding={**TABLES["winding"], "shape": shape}))
    unions = [copper_union(art, layer).area for layer in range(1, art.copper_layers + 1)]
    assert copper_areas(art) == pytest.approx(unions, rel=1e-9)
