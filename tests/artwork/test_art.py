"""What is made of a coil, moved about: nothing but its place changes, whatever it has."""

import numpy as np
import pytest

from coilgen.artwork.art import Art, copper_extent
from coilgen.design.reading import read_tables
from coilgen.geometry.isometry import Isometry
from coilgen.job import draw

FLAP = {
    "name": "flap",
    "winding": {
        "shape": "round",
        "layers": 2,
        "turns": 8,
        "trace_width": 0.15,
        "trace_spacing": 0.15,
        "outer_size": 12,
    },
    "board": {"stackup": "flex-2-layer"},
    "tail": {"length": 25},
    "terminals": {"kind": "contact-fingers", "lead_width": 0.3},
    "stiffener": [{"beneath": "terminals", "thickness": 0.2}],
    "bend": [{"at": 12, "radius": 2}],
}


@pytest.fixture(scope="module")
def flap() -> Art:
    return draw(read_tables(FLAP))[1]


def corners(art: Art) -> list[complex]:
    """Where every piece of the art stands."""
    paths = [*(each.path for each in art.traces), *(each.path for each in art.legend), *art.pockets]
    paths += [each.path for each in (*art.openings, *art.stiffeners, *art.bends)]
    paths += [art.outline] if art.outline else []
    found = [segment.start for path in paths for segment in path.segments]
    found += [end for pad in art.pads for end in pad.ends] + [hole.at for hole in art.holes]
    return found + [corner for bend in art.bends for corner in bend.corners]


def test_the_board_has_all_that_is_moved(flap: Art) -> None:
    assert flap.stiffeners and flap.bends and flap.legend
    assert any(pad.span for pad in flap.pads) and any(opening.window for opening in flap.openings)


@pytest.mark.parametrize(
    "way",
    [
        Isometry(quarters=1, shift=3e-3 + 1e-3j),
        Isometry(mirrored=True, quarters=2),
        Isometry(mirrored=True, quarters=3, further=0.3, shift=-2e-3j),
    ],
)
def test_every_piece_of_it_goes_the_same_way_and_comes_back(flap: Art, way: Isometry) -> None:
    there, back = corners(flap.moved(way)), corners(flap.moved(way).moved(way.inverse()))
    expected = [way.point(corner) for corner in corners(flap)]
    assert np.allclose(there, expected, atol=1e-12)
    assert np.allclose(back, corners(flap), atol=1e-12)


def test_a_quarter_turn_lays_pads_across_and_keeps_their_area(flap: Art) -> None:
    turned = flap.moved(Isometry(quarters=1))
    for pad, image in zip(flap.pads, turned.pads, strict=True):
        assert image.size == pytest.approx(pad.size[::-1], rel=1e-12)
        assert image.area == pytest.approx(pad.area, rel=1e-12)
    (low, high), (west, east) = copper_extent(flap), copper_extent(turned)
    assert (east - west) == pytest.approx(1j * (high - low).conjugate(), rel=1e-12)
