"""What shapes of two sizes and sectors are told by, and what is said where it does not do."""

import pytest

from coilgen.design.reading import read_text
from coilgen.errors import DesignError
from coilgen.job import draw

TURNS = "layers = 2\nturns = 8\ntrace_width = 0.2\ntrace_spacing = 0.2\n"


def asked(winding, pocket=""):
    return f'name = "held"\n[winding]\n{TURNS}{winding}\n{pocket}'


def refused(winding, pocket=""):
    with pytest.raises(DesignError) as caught:
        draw(read_text(asked(winding, pocket)))
    return str(caught.value)


@pytest.mark.parametrize(
    ("winding", "says"),
    [
        ('shape = "square"\nouter_size = [24, 20]', 'outer_size: "square" has one size, across flats'),
        ('shape = "wedge"\nangle = 60\nouter_size = [14, 12]', 'outer_size: "wedge" has one size, from'),
        ('shape = "racetrack"\nouter_size = 24', 'outer_size: "racetrack" has two sizes, x and y; write'),
        ('shape = "oval"\nouter_size = [24]', "outer_size: a list of 1 entries; only 2 are allowed"),
        ('shape = "oval"\nouter_size = [24, 20, 3]', "outer_size: a list of 3 entries; only 2 are allowed"),
        ('shape = "oval"\nouter_size = ["24 mm", "20 V"]', 'outer_size: entry 2: "20 V": "V" is not a unit'),
        ('shape = "oval"\nouter_size = [24, -20]', "outer_size: entry 2: -20 mm is outside what is allowed"),
        ('shape = "rectangular"\nouter_size = [34, 20]\ninner_size = [28, 15]', "inner_size: leaves 6 mm of"),
        ('shape = "square"\nouter_size = 24\nangle = 40', 'angle: has no use with shape "square"'),
        (
            'shape = "wedge"\nouter_radius = 22\ninner_radius = 8',
            "angle: not given; an angle over the copper",
        ),
        ('shape = "wedge"\nangle = 60', "outer_radius: not given; a ring's sector is told by inner_radius"),
        ('shape = "wedge"\nangle = 60\ninner_radius = 22\nouter_radius = 8', "inner_radius: 22 mm is not"),
        ('shape = "wedge"\nangle = 0\ninner_radius = 8\nouter_radius = 22', "angle: 0 deg is outside what"),
    ],
)
def test_sizes_that_do_not_go_with_a_shape_are_told_at_their_key(winding, says):
    assert f"winding.{says}" in refused(winding)


def test_a_wedge_without_room_says_from_which_angle_there_is_some():
    wedge = 'shape = "wedge"\ninner_radius = 8\nouter_radius = 22\nangle = {}'
    says = refused(wedge.format(12))
    assert says.startswith("winding.angle: 12 degrees leave no room inside the winding")
    least = float(says.split("; give ")[1].split(" or more")[0])
    draw(read_text(asked(wedge.format(least))))
    assert f"give {least:.6g} or more" in refused(wedge.format(least - 0.02))


@pytest.mark.parametrize("shape", ["racetrack", "oval", "rectangular"])
@pytest.mark.parametrize("side", ["south", "east"])
def test_a_shape_higher_than_wide_is_the_same_turned_by_a_quarter(shape, side):
    """Sizes are x and y: the long sides run along the larger one, and none is taken for the other."""
    long, high = (
        read_text(asked(f'shape = "{shape}"\nouter_size = {sizes}', f'[terminals]\nside = "{way}"'))
        for sizes, way in (([34, 19], side), ([19, 34], {"south": "east", "east": "north"}[side]))
    )
    assert high.winding.inner_size == long.winding.inner_size[::-1]
    for one, other in zip(draw(long)[0].traces, draw(high)[0].traces, strict=True):
        for a, b in zip(one.path.segments, other.path.segments, strict=True):
            assert abs(a.start * 1j - b.start) < 1e-12
            assert abs(a.end * 1j - b.end) < 1e-12


@pytest.mark.parametrize("shape", ["racetrack", "oval"])
@pytest.mark.parametrize("sizes", [[24, 24], [24.01, 24]])
def test_a_racetrack_as_wide_as_long_is_a_round_one(shape, sizes):
    says = refused(f'shape = "{shape}"\nouter_size = {sizes}')
    assert 'is as wide as long, to a pitch: that is shape = "round"' in says


@pytest.mark.parametrize(
    ("pocket", "says"),
    [
        ('shape = "racetrack"\nsize = 4', 'size: "racetrack" has two sizes, x and y'),
        ('shape = "square"\nsize = [4, 5]', 'size: "square" has one size; write'),
        ('shape = "racetrack"\nsize = [5, 5]', "size: 5 x 5 mm is as wide as long"),
        ('shape = "wedge"\nsize = 4\nangle = 30', "size: has no use with a wedge"),
        ('shape = "wedge"\nangle = 30', "inner_radius: not given; a wedge is told by"),
        ('shape = "round"\nsize = 4\nangle = 30', 'angle: has no use with shape "round"'),
    ],
)
def test_pockets_of_sizes_that_do_not_go_with_their_shape(pocket, says):
    assert f"pocket.{says}" in refused('shape = "round"\nouter_size = 24', f"[pocket]\n{pocket}")


def test_a_wedge_follows_the_changes_of_its_keys():
    wedge = read_text(asked('shape = "wedge"\ninner_radius = 20\nouter_radius = 42\nangle = 50'))
    finer = wedge.changed({"winding.turns": 10}).winding
    assert (finer.outer_size, finer.inner_size) == (0.022, 0.0144)
    longer = wedge.changed({"winding.inner_radius": 18}).winding
    assert (longer.outer_size, longer.inner_size, longer.outer_radius) == (0.024, 0.018, 0.042)
    assert wedge.changed({"winding.angle": 60}).winding.outer_size == 0.022
    with pytest.raises(DesignError, match=r"outer_size: 20 mm is not the 22 mm between inner_radius and"):
        wedge.changed({"winding.outer_size": 20})


def test_one_of_two_sizes_is_changed_by_its_place():
    track = read_text(asked('shape = "racetrack"\nouter_size = ["34 mm", 20]'))
    wider = track.changed({"winding.outer_size.1": "40 mm"}).winding
    assert (wider.outer_size, wider.inner_size) == ((0.04, 0.02), (0.034, 0.014))
    assert track.changed({"winding.outer_size": [40, "20 mm"]}).winding == wider
    with pytest.raises(DesignError, match=r'outer_size: "racetrack" has two sizes'):
        track.changed({"winding.outer_size": 40})
