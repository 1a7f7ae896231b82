"""What is printed on the top keeps off edges, pads and holes, whatever the board's outline."""

import pytest
from boards import read_design

from coilgen.artwork.legend import is_printed
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


@pytest.mark.parametrize("kind", ["plated-hole", "surface-pad"])
@pytest.mark.parametrize("pitch", [2.0, 2.54, 3.5, 5, 8])
def test_a_number_stands_by_its_own_terminal(kind, pitch):
    """One midway between two pads would be taken for either's."""
    design = read_design(
        f'[board]\noutline = "square"\nsize = 40\n[terminals]\nkind = "{kind}"\npitch = {pitch}\n'
    )
    coil, art = draw(design)
    assert all(is_printed(each, coil.terminals, art.legend) for each in coil.terminals)
    middles = [stroke.path.segments[len(stroke.path.segments) // 2].at(0.5) for stroke in art.legend]
    apart = [sorted(abs(each.at - at) - each.pad / 2 for each in coil.terminals) for at in middles]
    numbers = [(own, other) for own, other in apart if own < 2e-3]
    assert len(numbers) >= len(coil.terminals)
    assert all(other > 1.2 * own for own, other in numbers)
