"""Stiffeners, bends and contact fingers in every file that shows them."""

import csv
import io
import json
from functools import cache

import ezdxf
import pytest
import shapely
from gerber_reader import dark_area, read

import coilgen
from coilgen.artwork.legend import legend
from coilgen.catalogue import templates
from coilgen.exports.fab import fabrication_notes, gerber, gerber_job, netlist
from coilgen.exports.layout_files import dxf_outlines, dxf_polylines, pads_csv
from coilgen.exports.picture import cross_section, drawing
from coilgen.job import check

NAME = "mirror-tilt-drive"


@cache
def board(text=None):
    return check(coilgen.read_text(text or templates()[NAME]))


@cache
def written(*exports):
    return {path: content for each in exports for path, content in each.EXPORT.files(board()).items()}


def images():
    return {path: read(content) for path, content in written(gerber).items()}


def test_the_stiffener_is_an_area_as_wide_as_the_tail_beneath_the_fingers():
    image = images()[f"fab/{NAME}-stiffener-bottom.gbr"]
    assert image.attributes[".FileFunction"] == "Other,Stiffener_Bot"
    low_x, low_y, high_x, _ = dark_area(image).bounds
    assert (low_x, high_x) == (pytest.approx(-2.5e-3), pytest.approx(2.5e-3))
    assert low_y == pytest.approx(-0.5e-3 - 6.25e-3 - 28e-3)
    top = images()[f"fab/{NAME}-copper-L1-top.gbr"]
    fingers = [flash for flash in top.flashes if flash.function == "ConnectorPad" and flash.span.imag]
    assert len(fingers) == 4
    assert all(dark_area(image).contains(shapely.Point(f.at.real, f.at.imag)) for f in fingers)


def test_the_bend_is_a_line_across_the_tail():
    image = images()[f"fab/{NAME}-bends.gbr"]
    assert image.attributes[".FileFunction"] == "Other,Bend_Lines"
    (draw,) = image.draws
    assert draw.length == pytest.approx(5e-3)
    assert draw.start.imag == draw.end.imag == pytest.approx(-0.5e-3 - 6.25e-3 - 9e-3)


def test_the_window_bares_the_asked_length_of_each_finger_and_of_no_lead():
    window = dark_area(images()[f"fab/{NAME}-coverlay-top.gbr"])
    top = images()[f"fab/{NAME}-copper-L1-top.gbr"]
    outline = shapely.Polygon(
        [(d.start.real, d.start.imag) for d in images()[f"fab/{NAME}-profile.gbr"].draws]
    )
    bare = dark_area(top).intersection(window)
    assert len(shapely.get_parts(bare)) == 4
    for finger in shapely.get_parts(bare):
        low_x, low_y, high_x, high_y = finger.bounds
        assert high_x - low_x == pytest.approx(0.6e-3, abs=2e-6)
        assert high_y - low_y == pytest.approx(4e-3, abs=2e-6)
    assert window.bounds[1] < outline.bounds[1]
    assert not images()[f"fab/{NAME}-coverlay-bottom.gbr"].flashes


def test_fingers_bear_the_pin_of_their_terminal():
    top = images()[f"fab/{NAME}-copper-L1-top.gbr"]
    pins = {round(f.at.real * 1e3, 3): f.pin for f in top.flashes if f.span.imag}
    assert pins == {-1.5: ("L1", "1"), -0.5: ("L1", "1"), 0.5: ("L1", "2"), 1.5: ("L1", "2")}


def test_netlist_and_table_tell_every_finger():
    (content,) = written(netlist).values()
    records = [line for line in content.decode().splitlines() if line.startswith("327")]
    assert [line[27:31].strip() for line in records] == ["1", "1", "2", "2"]
    assert {line[57:67] for line in records} == {"X0600Y4750"}
    assert {line[73:74] for line in records} == {"2"}
    (table,) = written(pads_csv).values()
    rows = {row["number"]: row for row in csv.DictReader(io.StringIO(table.decode()))}
    assert {"1-finger1", "1-finger2", "2-finger3", "2-finger4"} <= rows.keys()
    assert rows["2-finger4"]["shape"] == "oblong"
    assert rows["2-finger4"]["size_mm"].startswith("0.600000 x 4.7")


def test_the_notes_tell_thickness_order_and_finish_of_the_fingers():
    (content,) = written(fabrication_notes).values()
    (row,) = [line for line in content.decode().splitlines() if line.startswith("| contact fingers")]
    # 95 um of copper and film, 50 um of coverlay below, 125 um of stiffener on 50 um of adhesive.
    assert "0.32 mm thick" in row
    assert "terminal 1, 1, 2, 2" in row
    assert "no solder paste" in row
    text = content.decode()
    assert "bottom: polyimide 0.125 mm on adhesive of 0.05 mm" in text
    assert "bend 1, 9 mm along the tail, radius 3 mm, by 90 degrees, once" in text
    assert "open where cut-outs and holes are, vias covered" in text


def test_the_job_file_lists_both_files():
    (content,) = written(gerber_job).values()
    told = {entry["FileFunction"] for entry in json.loads(content)["FilesAttributes"]}
    assert {"Other,Stiffener_Bot", "Other,Bend_Lines"} <= told


def test_drawings_for_layouts_hold_them_on_layers_of_their_own():
    for export, names in (
        (dxf_outlines, ("stiffener bottom", "bends")),
        (dxf_polylines, ("stiffener-bottom", "bends")),
    ):
        (content,) = export.EXPORT.files(board()).values()
        space = ezdxf.read(io.StringIO(content.decode("cp1252"))).modelspace()
        assert [len(space.query(f'*[layer=="{name}"]')) for name in names] == [1, 1]
    plain = check(coilgen.read_text(templates()["optical-shutter"]))
    (content,) = dxf_outlines.EXPORT.files(plain).values()
    assert b"stiffener" not in content
    assert b"bends" not in content


def test_the_picture_shows_them_by_name():
    (content,) = drawing.EXPORT.files(board()).values()
    for part in (b'id="stiffeners"', b'class="bend"', b"radius 3 mm"):
        assert part in content


def test_the_first_finger_is_marked_on_the_coverlay():
    result = board()
    strokes = legend((), result.art, result.coil.terminals, result.design.rules.limit("legend_clearance"))
    places = [stroke.path.start for stroke in strokes]
    assert any(abs(at.real + 1.5e-3) < 0.5e-3 for at in places)


def test_a_stiffener_beneath_the_winding_is_in_the_cut_and_lifts_what_stands_on_it():
    text = (
        templates()[NAME]
        .replace('beneath = "terminals"  ', 'beneath = "winding"  ')
        .replace('place = "bottom"                    # top', 'place = "top"                    # top')
    )
    lifted, plain = board(text), board()
    assert lifted.design.stand.face("top") == pytest.approx(0.175e-3)
    assert lifted.design.stand.of(lifted.design.magnet).bottom == pytest.approx(0.575e-3)
    assert plain.design.stand.of(plain.design.magnet).bottom == pytest.approx(0.4e-3)
    (cut,), (other,) = (cross_section.EXPORT.files(each).values() for each in (lifted, plain))
    assert b"stiffener, polyimide" in cut
    assert b"stiffener" not in other
