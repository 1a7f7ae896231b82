"""The board against the largest the shop takes."""

import pytest
from boards import blank_art, coil_of, mm, read_design, straight

from coilgen.geometry.closed import circle, rectangle
from coilgen.rules.board_size import RULE


def check(**fields):
    return list(RULE.check(read_design(), coil_of(()), blank_art(**fields)))


@pytest.mark.parametrize(
    "outline", [circle(400 * mm), rectangle(400 * mm, 10 * mm), rectangle(1 * mm, 400 * mm)]
)
def test_boards_at_the_limit_pass(outline):
    assert check(outline=outline) == []


@pytest.mark.parametrize(
    "outline", [circle(401 * mm), rectangle(401 * mm, 10 * mm), rectangle(1 * mm, 401 * mm)]
)
def test_larger_boards_are_found(outline):
    (found,) = check(outline=outline)
    assert found.value == pytest.approx(401 * mm)
    assert (found.limit, found.layer) == (pytest.approx(400 * mm), None)


def test_without_an_outline_the_copper_counts():
    assert check(traces=(straight(0, 399),)) == []
    assert check(traces=(straight(0, 400),))[0].value == pytest.approx(400.3 * mm)
