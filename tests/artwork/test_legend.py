"""What is printed on the top keeps off edges, pads and holes, whatever the board's outline."""

import pytest
from boards import read_design

from coilgen.job import draw
from coilgen.rules import legend_clearance

ROUNDED = """
[board]
outline = "rectangle"
width = 24.4
height = 27
corner_radius = {}
[terminals]
pitch = {}
"""


@pytest.mark.parametrize("radius", [0, 2.69, 6, 12.2])
@pytest.mark.parametrize("pitch", [3.5, 12, 16])
def test_print_stays_on_boards_with_rounded_corners(radius, pitch):
    design = read_design(ROUNDED.format(radius, pitch))
    coil, art = draw(design)
    assert art.legend
    assert list(legend_clearance.RULE.check(design, coil, art)) == []


@pytest.mark.parametrize("size", [3, 3.5, 4, 4.67, 5, 5.5])
@pytest.mark.parametrize("shape", ["round", "square", "hexagonal"])
def test_print_stays_out_of_the_pocket(shape, size):
    """The name would stand under the pocket, where its box crosses the edge by a hair."""
    pocket = f'[pocket]\nshape = "{shape}"\nsize = {size}\n'
    design = read_design(f'[board]\noutline = "round"\nsize = 24.5\n{pocket}')
    coil, art = draw(design)
    assert list(legend_clearance.RULE.check(design, coil, art)) == []


@pytest.mark.parametrize("clearance", [0, 0.1, 0.2, 0.5])
def test_print_keeps_the_clearance_that_is_asked(clearance):
    design = read_design(f'[rules]\nlegend_clearance = {clearance}\n[board]\noutline = "round"\nsize = 32')
    coil, art = draw(design)
    assert art.legend
    assert list(legend_clearance.RULE.check(design, coil, art)) == []


@pytest.mark.parametrize("side", ["south", "north"])
def test_further_print_stands_along_the_upper_edge_where_it_has_room(side):
    design = read_design(f'[board]\noutline = "square"\nsize = 32\n[terminals]\nside = "{side}"')
    _, art = draw(design)
    heights = [stroke.path.start.imag for stroke in art.legend]
    assert 14e-3 < max(heights) < 16e-3
    assert min(heights) > -14e-3
