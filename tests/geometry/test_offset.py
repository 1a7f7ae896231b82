"""Laws of the stroke's outline."""

import cmath
import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coilgen.geometry.arc import Arc
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line
from coilgen.geometry.offset import outline, outlines
from coilgen.geometry.path import Path, Segment, polyline
from coilgen.geometry.point import direction
from coilgen.geometry.region import chords, region

MM = 1e-3
TOLERANCE = 1e-7

some = settings(max_examples=40, deadline=None)

lengths = st.floats(1.0, 20.0).map(lambda value: value * MM)
widths = st.floats(0.05, 0.6).map(lambda value: value * MM)
gentle_turns = st.floats(-2.0, 2.0)


def walk(start: complex, heading: float, steps: list[tuple[float, float, float]]) -> Path:
    """Pieces of (length, turn before the piece, bend within the piece)."""
    pieces: list[Segment] = []
    for length, turn, bend in steps:
        heading += turn
        if bend:
            sign = math.copysign(1, bend)
            centre = start + 1j * sign * direction(heading) * length / abs(bend)
            pieces.append(Arc(centre, length / abs(bend), heading - sign * math.pi / 2, bend))
        else:
            pieces.append(Line(start, start + length * direction(heading)))
        heading += bend
        start = pieces[-1].end
    return Path(tuple(pieces))


bends = st.one_of(st.just(0.0), st.floats(0.2, 1.0), st.floats(-1.0, -0.2))
walks = st.builds(
    walk,
    st.complex_numbers(max_magnitude=0.01),
    st.floats(0, 6),
    st.lists(st.tuples(lengths, st.one_of(st.just(0.0), gentle_turns), bends), min_size=1, max_size=5),
)
straight_walks = st.builds(
    walk,
    st.just(0j),
    st.floats(0, 6),
    # Below 0.5 nm at the edge a joint counts as smooth, which shows in an area this exact.
    st.lists(
        st.tuples(lengths, gentle_turns.filter(lambda turn: abs(turn) > 1e-4), st.just(0.0)),
        min_size=1,
        max_size=5,
    ),
)


def keeps_clear(path: Path, width: float) -> bool:
    """Whether pieces that are not neighbours stay a width apart and the stroke closes no ring."""
    pieces = [shapely.LineString(chords(Path((piece,)), TOLERANCE)) for piece in path.segments]
    apart = all(
        one.distance(other) > width * 1.01 for i, one in enumerate(pieces) for other in pieces[i + 2 :]
    )
    stroke = shapely.LineString(chords(path, TOLERANCE)).buffer(width / 2)
    return apart and not stroke.interiors


def corners(path: Path) -> list[float]:
    return [
        cmath.phase(after.start_heading / before.end_heading) for before, after in pairwise(path.segments)
    ]


@some
@given(straight_walks, widths)
def test_area_of_a_polyline(path: Path, width: float) -> None:
    assume(keeps_clear(path, width))
    corner_area = sum(abs(a) / 2 - math.tan(abs(a) / 2) for a in corners(path))
    expected = path.length * width + (width / 2) ** 2 * (math.pi + corner_area)
    assert outline(path, width).swept_area == pytest.approx(expected, rel=1e-9)


@some
@given(st.lists(st.tuples(lengths, st.just(0.0), bends), min_size=1, max_size=5), widths)
def test_area_of_a_smooth_path_is_length_times_width_and_a_disc(
    steps: list[tuple[float, float, float]], width: float
) -> None:
    path = walk(0j, 0.3, steps)
    assume(keeps_clear(path, width))
    expected = path.length * width + math.pi * width**2 / 4
    assert outline(path, width).swept_area == pytest.approx(expected, rel=1e-9)


@some
@given(walks, widths)
def test_is_the_set_of_points_within_half_the_width(path: Path, width: float) -> None:
    assume(keeps_clear(path, width))
    ours = region(outline(path, width), TOLERANCE)
    dense = shapely.LineString(chords(path, TOLERANCE))
    theirs = dense.buffer(width / 2, quad_segs=64)
    assert ours.is_valid
    assert ours.symmetric_difference(theirs).area < 3 * TOLERANCE * theirs.length
    assert shapely.hausdorff_distance(ours.exterior, theirs.exterior) < 4e-7


@some
@given(walks, widths)
def test_every_joint_and_midpoint_is_half_a_width_away(path: Path, width: float) -> None:
    assume(keeps_clear(path, width))
    dense = shapely.LineString(chords(path, TOLERANCE))
    for piece in outline(path, width).segments:
        for point in (piece.start, piece.at(0.5)):
            distance = dense.distance(shapely.Point(point.real, point.imag))
            assert distance == pytest.approx(width / 2, abs=2 * TOLERANCE)


@some
@given(walks, widths)
def test_reversal_leaves_the_outline(path: Path, width: float) -> None:
    assume(keeps_clear(path, width))
    there, back = outline(path, width), outline(path.reversed(), width)
    assert len(there.segments) == len(back.segments)
    for piece in there.segments:
        assert min(abs(piece.start - other.start) for other in back.segments) < 1e-11
        assert min(abs(piece.at(0.5) - other.at(0.5)) for other in back.segments) < 1e-11


@some
@given(walks, widths, st.booleans(), st.integers(0, 3))
def test_moves_with_the_path(path: Path, width: float, mirrored: bool, quarters: int) -> None:
    assume(keeps_clear(path, width))
    move = Isometry(mirrored, quarters)
    moved, of_moved = outline(path, width).moved(move), outline(path.moved(move), width)
    assert of_moved.closed
    assert abs(moved.swept_area) == pytest.approx(of_moved.swept_area, rel=1e-9)
    for piece in moved.segments:
        assert min(abs(piece.at(0.5) - other.at(0.5)) for other in of_moved.segments) < 1e-11


def test_a_straight_piece_is_a_rectangle_between_half_circles() -> None:
    assert outline(Path((Line(0j, 10 + 0j),)), 2.0).segments == (
        Line(-1j, 10 - 1j),
        Arc(10 + 0j, 1.0, -math.pi / 2, math.pi),
        Line(10 + 1j, 1j),
        Arc(0j, 1.0, math.pi / 2, math.pi),
    )


def test_a_right_angle_is_mitred_inside_and_round_outside() -> None:
    ring = outline(Path(polyline([0j, 10 + 0j, 10 + 10j])), 2.0).segments
    assert Arc(10 + 0j, 1.0, -math.pi / 2, math.pi / 2) in ring
    assert any(abs(piece.start - (9 + 1j)) < 1e-15 for piece in ring)


def test_tangent_joints_pass_without_a_corner() -> None:
    path = Path((Line(-5 + 0j, 0j), Arc(5j, 5.0, -math.pi / 2, math.pi / 2), Line(5 + 5j, 5 + 9j)))
    assert len(outline(path, 1.0).segments) == 2 * 3 + 2


def test_a_chamfer_too_short_for_its_inner_side_is_left_out_there() -> None:
    path = Path(polyline([0j, 9.9 + 0j, 10 + 0.1j, 10 + 10j]))
    ring = outline(path, 2.0)
    assert any(abs(piece.start - (9 + 1j)) < 1e-12 for piece in ring.segments)
    theirs = shapely.LineString(chords(path, 1e-4)).buffer(1.0, quad_segs=2000)
    assert ring.swept_area == pytest.approx(theirs.area, rel=1e-6)


@pytest.mark.parametrize("radius", [0.5, 1.0])
def test_a_bend_no_wider_than_the_tool_leaves_a_corner_inside(radius: float) -> None:
    bend = Arc(complex(10 - radius, radius), radius, -math.pi / 2, math.pi / 2)
    path = Path((Line(0j, bend.start), bend, Line(bend.end, 10 + 10j)))
    ring = outline(path, 2.0)
    assert any(abs(piece.start - (9 + 1j)) < 1e-12 for piece in ring.segments)
    theirs = shapely.LineString(chords(path, 1e-6)).buffer(1.0, quad_segs=2000)
    assert ring.swept_area == pytest.approx(theirs.area, rel=1e-6)


@pytest.mark.parametrize(
    ("path", "width"),
    [
        (Path((Arc(0j, 0.4, 0.0, 2.0),)), 1.0),
        (Path((Arc(0j, 0.5, 0.0, 2.0),)), 1.0),
        (Path(polyline([0j, 10 + 0j, 10 + 0.4j])), 1.0),
        (Path(polyline([0j, 10 + 0j, 0.001j])), 1.0),
        (Path(polyline([0j, 10 + 0j, 5 + 0j])), 1.0),
        (Path(polyline([0j, 10 + 0j, 10 + 0.5j, 0.5j])), 1.0),
        (Path(polyline([0j, 10 + 0j, 10 + 0.3j, 20 + 0.3j])), 1.0),
        (Path((Arc(0j, 5.0, 0.0, math.tau),)), 1.0),
        (Path((Line(0j, 1 + 0j),)), 0.0),
        (Path((Line(0j, 1 + 0j),)), math.nan),
    ],
    ids=[
        "bend tighter than the tool",
        "bend as tight as the tool",
        "last piece shorter than its inner side",
        "needle",
        "back along itself",
        "hairpin narrower than the tool",
        "short step between an inner and an outer corner",
        "closed",
        "no width",
        "not a number",
    ],
)
def test_refuses_a_stroke_that_turns_in_on_itself(path: Path, width: float) -> None:
    with pytest.raises(ValueError, match=r"turns in on itself|closed|draws nothing"):
        outline(path, width)


@pytest.mark.parametrize("length", [0.02, 0.1, 0.15, 0.19, 0.5])
@pytest.mark.parametrize("turn", [math.pi / 2, -math.pi / 4])
@pytest.mark.parametrize("last", [5.0, 0.05])
def test_outlines_of_a_short_jog_together_hold_the_stroke(length: float, turn: float, last: float) -> None:
    """As of a stub that meets a spiral's side close to its corner, or a lead that ends beside its pad."""
    jog = walk(0j, 0.3, [(4 * MM, 0.0, 0.0), (length * MM, turn, 0.0), (last * MM, -turn, 0.0)])
    whole = shapely.union_all([region(part, TOLERANCE) for part in outlines(jog, 0.3 * MM)])
    stroke = shapely.LineString([(at.real, at.imag) for at in (jog.start, *(s.end for s in jog.segments))])
    drawn = stroke.buffer(0.15 * MM, quad_segs=256)
    assert shapely.hausdorff_distance(whole.exterior, drawn.exterior) < 5 * TOLERANCE
