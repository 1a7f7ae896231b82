"""Spirals cut into turns, and the places along them where their neighbours are looked at."""

from dataclasses import fields, replace

import numpy as np
import pytest

from coilgen.physics.base.conductor import Conductor
from coilgen.physics.eddy.strands import equal_turns
from coilgen.physics.eddy.turns import is_round, leads, piece_lengths, turns, turns_and_parts

MM = 1e-3


def spiral(sides, count, apothem, pitch, *, layers=1, reverse=False):
    """Polygon spirals, each side pitch/sides farther out; even layers mirrored, wound outside in."""
    angle = 2 * np.pi * np.arange(-1, sides * count + 1) / sides
    normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    distance = apothem + pitch * np.arange(-1, sides * count + 1) / sides
    corners = [np.linalg.solve(normal[k : k + 2], distance[k : k + 2]) for k in range(sides * count + 1)]
    inward = np.array(corners)
    runs = [inward if k % 2 == 0 else (inward * [1, -1])[::-1] for k in range(layers)]
    if reverse:
        runs = [run[::-1] for run in runs]
    number = sides * count * layers
    layer = np.repeat(np.arange(1, layers + 1), sides * count)
    return Conductor(
        start=np.vstack([run[:-1] for run in runs]),
        end=np.vstack([run[1:] for run in runs]),
        centre=np.full((number, 2), np.nan),
        sweep=np.zeros(number),
        width=np.full(number, 0.6 * pitch),
        thickness=np.full(number, 35e-6),
        z=-0.2e-3 * (layer - 1.0),
        layer=layer,
    )


def first_pieces(conductor, count):
    return Conductor(**{f.name: getattr(conductor, f.name)[:count] for f in fields(Conductor)})


def rectangles(halves):
    """Closed ones of these half widths and heights, each from the middle of its east side round."""
    runs = [np.array([[a, 0], [a, b], [-a, b], [-a, -b], [a, -b], [a, 0]]) for a, b in halves]
    number = 5 * len(halves)
    return Conductor(
        start=np.vstack([run[:-1] for run in runs]),
        end=np.vstack([run[1:] for run in runs]),
        centre=np.full((number, 2), np.nan),
        sweep=np.zeros(number),
        width=np.full(number, 0.3e-3),
        thickness=np.full(number, 35e-6),
        z=np.zeros(number),
        layer=np.ones(number, dtype=int),
    )


def circles(radii, *, z=0.0, sweep=2 * np.pi, layer=1):
    count = len(radii)
    start = np.stack([radii, np.zeros(count)], axis=1)
    end = np.stack([radii * np.cos(sweep), radii * np.sin(sweep)], axis=1)
    return Conductor(
        start=start,
        end=end,
        centre=np.zeros((count, 2)),
        sweep=np.full(count, sweep),
        width=np.full(count, 0.3e-3),
        thickness=np.full(count, 35e-6),
        z=np.full(count, z),
        layer=np.full(count, layer),
    )


@pytest.mark.parametrize("sides", [4, 6, 8])
def test_turns_of_a_polygon(sides):
    conductor = spiral(sides, 5, 4 * MM, 0.5 * MM)
    found = turns(conductor)
    assert len(found.radius) == 5
    assert np.allclose(np.diff(found.radius), 0.5 * MM, rtol=0.02)
    assert found.length.sum() == pytest.approx(piece_lengths(conductor).sum(), rel=1e-12)
    assert found.length / found.radius == pytest.approx(2 * sides * np.tan(np.pi / sides), rel=0.02)
    assert found.fraction == pytest.approx(1.0, abs=0.02)


def test_circles_keep_radius_and_length():
    found = turns(circles(np.array([2.0, 3.0, 4.0]) * MM))
    assert found.radius == pytest.approx([2 * MM, 3 * MM, 4 * MM], rel=1e-3)
    assert found.length == pytest.approx(2 * np.pi * found.radius, rel=2e-3)
    assert found.fraction == pytest.approx(1.0)


def test_a_clockwise_current_counts_negative():
    there, back = turns(spiral(4, 3, 3 * MM, 0.5 * MM)), turns(spiral(4, 3, 3 * MM, 0.5 * MM, reverse=True))
    assert back.fraction[::-1] == pytest.approx(-there.fraction)
    assert back.radius[::-1] == pytest.approx(there.radius)


def test_leads_that_run_outward_are_left_out():
    coil = circles(np.array([3 * MM]))
    lead = {"start": [[3 * MM, 0.0]], "end": [[9 * MM, 0.0]], "centre": [[np.nan, np.nan]], "sweep": [0.0]}
    fields = ("start", "end", "centre", "sweep", "width", "thickness", "z", "layer")
    with_lead = Conductor(
        **{
            name: np.append(getattr(coil, name), np.array(lead.get(name, getattr(coil, name))), 0)
            for name in fields
        }
    )
    assert turns(with_lead).length == pytest.approx(turns(coil).length)


def test_a_lead_that_runs_sideways_for_a_bit_is_no_turn():
    """A lead beneath, out of the opening, a sixteenth of a turn round and on: no turn, no station of one."""
    coil = spiral(4, 3, 4 * MM, 0.5 * MM)
    corner = np.array([[0.0, -1.0], [0.0, -4.3], [1.75, -4.3], [1.75, -9.0]]) * MM
    lead = spiral(4, 1, 4 * MM, 0.5 * MM)
    lead = replace(
        lead, **{name: getattr(lead, name)[:3] for name in ("centre", "sweep", "width", "thickness")},
        start=corner[:-1], end=corner[1:], z=np.full(3, -1e-3), layer=np.full(3, 2),
    )  # fmt: skip
    both = Conductor(
        **{f.name: np.append(getattr(coil, f.name), getattr(lead, f.name), 0) for f in fields(Conductor)}
    )
    assert turns(both).length == pytest.approx(turns(coil).length)
    assert turns(both).points == pytest.approx(turns(coil).points, nan_ok=True)
    assert leads(both).end == pytest.approx(corner[1:])
    assert len(leads(coil).piece) == 0


def test_a_lead_that_stands_beside_a_corner_is_no_part_of_a_turn():
    """It runs as steeply round the origin as a side's end does, but against the winding."""
    coil = spiral(4, 3, 4 * MM, 0.5 * MM)
    end = coil.end[-1]
    outward = end / np.hypot(*end)
    away = outward - np.array([-outward[1], outward[0]])
    lead = {"start": end, "end": end + 1 * MM * away, "centre": [np.nan, np.nan]}
    both = Conductor(
        **{
            f.name: np.append(getattr(coil, f.name), [lead.get(f.name, getattr(coil, f.name)[-1])], 0)
            for f in fields(Conductor)
        }
    )
    assert turns(both).radius == pytest.approx(turns(coil).radius)
    assert leads(both).end == pytest.approx(np.array([end + 1 * MM * away]))


def test_nothing_that_winds_is_refused():
    line = circles(np.array([3 * MM]), sweep=0.0)
    with pytest.raises(ValueError, match="winds about the origin"):
        turns(line)


def test_stations_lie_on_the_centre_lines_and_share_the_length():
    found = turns(spiral(6, 4, 3 * MM, 0.6 * MM, layers=2))
    assert found.share.sum() == pytest.approx(1.0)
    crossed = np.isfinite(found.points[..., 0])
    assert crossed.mean() > 0.9
    distance = np.linalg.norm(found.points, axis=2) / found.radius
    assert np.all(distance[crossed] < 1.3)
    assert np.all(distance[crossed] > 0.8)


def test_mirrored_square_spirals_face_each_other_in_line_and_half_a_pitch_apart():
    pitch = 0.5 * MM
    found = turns(spiral(4, 4, 4 * MM, pitch, layers=2))
    apart = np.unique(np.round(np.abs(found.shift[:, 0] - found.shift[:, -1]) / pitch, 2))
    assert apart == pytest.approx([0.0, 0.5], abs=0.02)


@pytest.mark.parametrize("pieces", [6, 10, 14])
def test_part_of_a_turn_is_there_where_it_reaches(pieces):
    """As a whole one a pitch on, over its share of the stations; the others are there everywhere."""
    whole, pitch = spiral(4, 4, 4 * MM, 0.5 * MM), 0.5 * MM
    found = turns_and_parts(first_pieces(whole, pieces))
    reached = np.isfinite(found.shift)
    assert found.radius == pytest.approx(turns(whole).radius[: len(found.radius)], rel=0.02)
    assert np.diff(found.radius) == pytest.approx(pitch, rel=0.02)
    assert found.fraction == pytest.approx(1.0, abs=0.02)
    assert reached[:, :-1].all()
    assert found.share @ reached[:, -1] == pytest.approx(pieces % 4 / 4, abs=0.05)
    length = (found.length * (found.share @ reached)).sum()
    assert length == pytest.approx(piece_lengths(first_pieces(whole, pieces)).sum(), rel=0.02)


def test_what_is_less_than_a_turn_has_stations_all_round():
    found = turns_and_parts(circles(np.array([3 * MM]), sweep=1.5 * np.pi))
    reached = np.isfinite(found.shift[:, 0])
    assert found.share[reached].sum() == pytest.approx(0.75)
    assert found.length == pytest.approx(2 * np.pi * 3 * MM, rel=2e-3)


def test_whole_turns_have_no_parts():
    whole = spiral(6, 4, 3 * MM, 0.6 * MM, layers=2)
    for field in fields(turns(whole)):
        expected = getattr(turns(whole), field.name)
        assert getattr(turns_and_parts(whole), field.name) == pytest.approx(expected, nan_ok=True)


def test_sides_of_a_rectangle_lie_where_their_lines_do():
    """Radius and shift are the line's distance, though distances between turns and their radii differ."""
    long = rectangles([(7 * MM, 3 * MM), (7.6 * MM, 3.6 * MM), (8.2 * MM, 4.2 * MM)])
    found = turns(long)
    distance = np.unique(np.round((found.radius + found.shift) / MM, 6), axis=0)
    assert distance == pytest.approx(np.array([[3, 3.6, 4.2], [7, 7.6, 8.2]]))


def test_round_is_told_from_straight():
    assert is_round(circles(np.array([2 * MM])))
    assert not is_round(spiral(4, 2, 3 * MM, 0.5 * MM))


@pytest.mark.parametrize("whole", [1, 3, 6, 40])
def test_three_quarters_of_a_turn_are_one_whatever_the_last_digits_say(whole):
    """6.75 turns were six on one layer, seven on the next: a millionth of width moved capacitance by 2 %."""
    asked = 2 * np.pi * (whole + 0.75)
    angles = [equal_turns(asked * (1 + last)) for last in (-1e-13, 0.0, 1e-13)]
    assert angles == pytest.approx([asked / (whole + 1)] * 3, rel=1e-12)
