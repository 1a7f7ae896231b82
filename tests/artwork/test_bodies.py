"""Bodies on a board's faces from the top: where their edges stand, and whether they lie on the board."""

import pytest
from boards import blank_art, mm, straight
from small_design import small_with

from coilgen.artwork.bodies import body_edges, touches_board
from coilgen.geometry.closed import circle
from coilgen.geometry.extent import extent

RING = {"form": "ring", "diameter": 9, "hole_diameter": 4, "thickness": 1, "place": "bottom"}
MAGNET = {"grade": "N42", "form": "disc", "diameter": 5, "thickness": 2, "gap": 1, "offset": [2, -1]}


def test_a_magnets_edge_stands_where_it_is_moved_to():
    design = small_with(core=[{"material": "soft iron", **RING}], magnet=MAGNET)
    outer, inner = body_edges(design.magnet)
    assert inner is None
    assert extent(outer) == pytest.approx((complex(-0.5, -3.5) * mm, complex(4.5, 1.5) * mm))
    outer, inner = body_edges(design.core[0])
    assert [extent(edge)[1] for edge in (outer, inner)] == pytest.approx([(4.5 + 4.5j) * mm, (2 + 2j) * mm])


@pytest.mark.parametrize(
    ("pocket", "traces", "touches"),
    [
        (0.0, (), True),
        (0.0, (straight(3, 10),), True),
        (8.0, (straight(5, 10),), True),
        (9.5, (straight(5, 10),), False),
    ],
)
def test_a_body_over_a_pocket_alone_touches_nothing(pocket, traces, touches):
    body = small_with(core=[{"material": "soft iron", **RING}]).core[0]
    pockets = (circle(pocket * mm),) if pocket else ()
    board = blank_art(traces=traces, outline=circle(30 * mm), pockets=pockets)
    assert touches_board(board, [body]) == touches
