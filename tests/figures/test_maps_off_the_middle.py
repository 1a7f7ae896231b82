"""Maps of the field and the cut, of windings and a magnet that stand off the board's origin."""

import numpy as np
import pytest
from board_designs import board, winding

from coilgen import job
from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.exports.page._plots.plane_field import PLOT
from coilgen.exports.picture import cross_section
from coilgen.figures.field._shown import shown
from coilgen.layout.seen import section_level

mm = 1e-3
MAGNET = {"remanence": "1.2 T", "diameter": 4, "thickness": 2, "gap": 5, "offset": [58, 31]}


@pytest.fixture(scope="module")
def coil():
    """Windings of 12 mm about x = 30 and 48, y = 25; a magnet north-east of them."""
    design = board(
        winding("a", centre=[30, 25]),
        winding("b", centre=[48, 25]),
        magnet=MAGNET,
        board={"outline": "rectangle", "width": 50, "height": 30, "offset": [40, 25]},
        probe={"heights": [1, 3]},
    )
    return job.case_of(design, *job.draw(design))


def ends(rows, axis):
    found = {row[axis] for row in rows}
    return min(found), max(found)


def test_maps_lie_about_what_they_show(coil):
    """Over 24 to 60 mm in x and 19 to 33 mm in y, with a rim of an eighth on either side."""
    across = (pytest.approx((42 - 22.5) * mm), pytest.approx((42 + 22.5) * mm))
    assert ends(coil.value("flux_density_map"), "x") == across
    over = coil.value("flux_density_over_board")
    assert ends(over, "x") == across
    assert ends(over, "y") == (pytest.approx((26 - 22.5) * mm), pytest.approx((26 + 22.5) * mm))
    largest = max(over, key=lambda row: abs(row["flux_density"]))
    assert np.hypot(largest["x"] - 58 * mm, largest["y"] - 31 * mm) < 2 * mm


def test_a_ring_of_coils_is_mapped_about_its_middle():
    """At 0, not at what is left of it where no two coils lie just opposite, nor at minus that."""
    design = read_text(templates()["fan-stator"])
    middle, half = shown(job.case_of(design, *job.draw(design)))
    assert (str(middle), half) == ("0j", pytest.approx(complex(19, 19) * mm, abs=1e-5))


def test_plane_and_cut_pass_the_windings_and_say_where(coil):
    """A magnet stands at the board, and its middle plane would meet no winding."""
    assert section_level(coil.design) == pytest.approx(25 * mm)
    figure = coil.figure("flux_density_map")
    assert "in the plane y = 25 mm" in figure.model
    (chart,) = PLOT.charts(figure.value, coil.design)
    assert chart.title == "Flux density in the plane y = 25 mm"
    wound = next(lines for lines in chart.lines if lines.kind == "winding")
    assert len(wound.lines) == 2
    (cut,) = cross_section.files(job.check(coil.design)).values()
    assert b"west to east at y = 25 mm" in cut
    copper = cut.split(b'id="section-copper-1"')[1].split(b"</g>")[0]
    assert copper.count(b'fill="#10204a"') == 16


def test_beside_a_body_the_cut_stays_in_the_middle_where_it_meets_a_winding():
    north = [winding("a", centre=[-9, 4]), winding("b", centre=[9, 4])]
    bodies = {"magnet": {**MAGNET, "offset": [0, 0]}}
    assert section_level(board(*north)) == pytest.approx(4 * mm)
    assert section_level(board(*north, **bodies)) == 0.0
