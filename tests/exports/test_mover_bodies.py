"""Movers in pictures: magnets with alternating poles and back plates, where the design puts them."""

from itertools import pairwise

import pytest
from mover_designs import FAN, STAGE, changed
from svg_reader import SVG, read_back

from coilgen.design.reading import read_tables
from coilgen.exports.picture import cross_section
from coilgen.exports.picture._mover_bodies import cut_mover_bodies, mover_bodies
from coilgen.geometry.extent import extent
from coilgen.job import check

PLATED = {"mover.place": "both", "mover.back_plate": {"thickness": 2}}


def design(tables, **changes):
    return read_tables(changed(tables, changes))


def test_poles_of_a_slider_stand_a_pitch_apart_and_alternate_on_both_sides():
    shown = mover_bodies(design(STAGE, **PLATED))
    magnets = [body for body in shown if body.kind == "magnet"]
    assert [body.pole for body in magnets] == ["up", "down", "up", "down"] * 2
    middles = [sum(extent(body.outline)).real / 2 for body in magnets[:4]]
    assert [after - before for before, after in pairwise(middles)] == pytest.approx([12e-3] * 3)
    top, bottom = magnets[0].standing, magnets[4].standing
    assert (top.bottom, top.top) == pytest.approx((1.5e-3, 4.5e-3))
    assert (bottom.top, bottom.bottom) == pytest.approx((-3.1e-3, -6.1e-3))
    plates = [body.standing for body in shown if body.kind == "core"]
    assert [(each.bottom, each.top) for each in plates] == [
        pytest.approx((4.5e-3, 6.5e-3)),
        pytest.approx((-8.1e-3, -6.1e-3)),
    ]


@pytest.mark.parametrize("form", ["disc", "segment", "one-piece", "ring"])
def test_a_rotors_poles_close_and_the_cut_meets_those_in_the_east_and_west(form):
    magnet = {"form": form, "thickness": 3, "grade": "N42", "diameter": 9}
    if form in ("segment", "one-piece"):
        magnet |= {"diameter": 36, "hole_diameter": 16}
    magnet |= {"angle": 70} if form == "segment" else {"hole_diameter": 3} if form == "ring" else {}
    radius = None if form in ("segment", "one-piece") else 13
    rotor = design(FAN, **{"mover.magnet": magnet, "mover.radius": radius})
    outlines = [body.outline for body in mover_bodies(rotor)]
    assert all(abs(each.start - each.end) < 1e-9 and each.swept_area > 0 for each in outlines)
    assert {"pole 1", "pole 3"} <= {body.name for body in cut_mover_bodies(rotor)}


def test_the_cut_draws_and_names_the_mover():
    root = read_back(cross_section.files(check(design(STAGE, **PLATED))))
    groups = [group.get("class") for group in root.iter(f"{SVG}g")]
    assert groups.count("body magnet") == 8 and groups.count("body core") == 2
    texts = [" ".join(each.itertext()) for each in root.iter(f"{SVG}text")]
    assert sum(text == "N" for text in texts) == sum(text == "S" for text in texts) == 8
    told = " ".join(texts).replace("\u00a0", " ")
    assert told.count("pole 4: remanence 1200 mT") == 2 and "moves with the magnets" in told
