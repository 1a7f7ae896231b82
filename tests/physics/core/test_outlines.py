"""Areas that cells give bodies, and what an error of them is expected to make of a figure."""

import pytest

from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.outlines import Fitting, Outline, error_of_grids, fitting, outlines, share_of_area

CELL = 0.5e-3
EXACT, JAGGED = Fitting(whole=True, smooth=True), Fitting(whole=True, smooth=False)
OFF = Fitting(whole=False, smooth=True)


def plate(x, y, *, centre=(0.0, 0.0), bottom=0.0):
    """Measures in mm."""
    return Body(
        form="plate",
        size=(1e-3 * x, 1e-3 * y),
        thickness=1e-3,
        bottom=1e-3 * bottom,
        hole=0.0,
        centre=(1e-3 * centre[0], 1e-3 * centre[1]),
        turn=0.0,
    )


def on_two(bodies):
    return brick_grid(bodies, CELL), brick_grid(bodies, 2 * CELL)


def test_the_share_of_an_area_is_that_of_the_cells_in_any_one_layer():
    grid = brick_grid((plate(6.0, 3.0), plate(10.0, 8.0, bottom=-2.0)), CELL)
    asked = (plate(6.0, 4.0), plate(5.0, 8.0, bottom=-2.0))
    assert share_of_area(grid, asked, 0) == pytest.approx(0.75, rel=1e-9)
    assert share_of_area(grid, asked, 1) == pytest.approx(2.0, rel=1e-9)


def test_bodies_on_lines_of_both_grids_have_no_outline_to_set_right():
    bodies = (plate(6.0, 3.0), plate(10.0, 7.0, bottom=-2.0))
    grids = on_two(bodies)
    assert list(outlines(bodies, *grids)) == []
    assert fitting(bodies, *grids) == EXACT


def test_a_body_off_its_area_is_made_a_row_of_cells_larger_or_smaller():
    bodies = (plate(3.3, 3.1, centre=(0.7, 0.2)), plate(9.4, 7.9, bottom=-2.0))
    fine, rough = on_two(bodies)
    assert not fitting(bodies, fine, rough).whole
    found = list(outlines(bodies, fine, rough))
    assert found
    for each in found:
        (number,) = [k for k in range(2) if each.bodies[k] != bodies[k]]
        assert each.fine == share_of_area(fine, bodies, number)
        assert each.rough == share_of_area(rough, bodies, number)
        assert each.other != each.rough
        assert (each.other > each.rough) == (each.rough < 1.0)
        one, other = bodies[number], each.bodies[number]
        assert other.size[0] / one.size[0] == pytest.approx(other.size[1] / one.size[1], rel=1e-9)
        again = brick_grid(each.bodies, rough.cell[0], like=rough)
        assert each.other == share_of_area(again, bodies, number)


@pytest.mark.parametrize("power", [0.0, 0.5, 1.0])
def test_what_grows_with_an_area_alone_is_off_by_that_alone(power):
    outline = Outline(fine=0.97, rough=1.08, bodies=(), other=0.94)
    fine, rough, resized = (7.0 * share**power for share in (outline.fine, outline.rough, outline.other))
    error = error_of_grids(fine, rough, [(outline, resized)], OFF)
    least = error_of_grids(1.0, 1.0, [], OFF)
    assert error == pytest.approx(abs(7.0 - fine) + least * fine, rel=1e-9)


def test_a_value_that_changes_its_sign_is_not_set_right():
    outline = Outline(fine=0.97, rough=1.08, bodies=(), other=0.94)
    assert error_of_grids(0.3, 0.2, [(outline, -0.1)], OFF) == error_of_grids(0.3, 0.2, [], OFF)


def test_errors_grow_with_what_is_left_between_grids_and_with_jagged_outlines():
    """Beyond what any value has: a quarter of the change that finer grids go on by, and more."""
    known = error_of_grids(1.0, 1.0, [], EXACT)
    by_change = error_of_grids(1.0, 0.9, [], EXACT) - known
    assert by_change > 0.25 * 0.1
    assert error_of_grids(1.0, 0.8, [], EXACT) - known == pytest.approx(2 * by_change, rel=1e-9)
    assert error_of_grids(1.0, 1.1, [], EXACT) - known == pytest.approx(by_change, rel=1e-9)
    assert error_of_grids(1.0, 1.0, [], JAGGED) > known
    assert error_of_grids(-2.0, -2.0, [], EXACT) == pytest.approx(2 * known, rel=1e-9)
