"""A panel read back from its files: boards, labels, copper, scores, tabs, coupons, netlist."""

import csv
import io
import json
from dataclasses import replace

import gerber_reader
import pytest
import shapely
import shapely.affinity
from gerber_reader import chains, dark_area

from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.exports.fab import drill, gerber, netlist
from coilgen.geometry.lettering import lettering
from coilgen.geometry.region import region
from coilgen.job import check
from coilgen.study.panel import files
from coilgen.study.panel.key import key_csv

TEXT = templates()["latch-samples"]
ROUNDED = TEXT.replace('height = "26 mm"', 'height = "26 mm"\ncorner_radius = "1 mm"')
ONE = 1.2e-9  # whole nanometres, rounded here and there
LABELS = ["A1", "A2", "A3", "A4", "A5"]

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")  # of a reader's own libraries


@pytest.fixture(scope="module")
def scored(tmp_path_factory):
    """The template's panel, with everything."""
    path = tmp_path_factory.mktemp("panel") / "scored.toml"
    path.write_text(TEXT, encoding="utf-8")
    return files.panel(path)


@pytest.fixture(scope="module")
def tabbed(tmp_path_factory):
    """The same with rounded corners, without figures and notes, which take longest."""
    path = tmp_path_factory.mktemp("panel") / "tabbed.toml"
    path.write_text(ROUNDED, encoding="utf-8")
    checked = files.checked(path)
    results = {each.board.label: each.board.result for each in checked.panel.boards}
    board = checked.panel.ordered
    written = {
        **gerber.files_of(board),
        **drill.files_of(board),
        **netlist.files_of(board),
        "tabbed-samples.csv": key_csv(checked.panel, results),
    }
    return replace(checked, files=written)


@pytest.fixture(scope="module", params=["scored", "tabbed"])
def result(request):
    return request.getfixturevalue(request.param)


def image(result, ending):
    (content,) = [content for path, content in result.files.items() if path.endswith(ending)]
    return gerber_reader.read(content)


def rows(result):
    (content,) = [content for path, content in result.files.items() if path.endswith("-samples.csv")]
    return list(csv.DictReader(io.StringIO(content.decode())))


def back(row):
    """A place on the panel in the coordinates of a board, by the key."""
    middle = complex(float(row["x_mm"]), float(row["y_mm"])) * 1e-3
    turn = {"0": 1, "90": -1j}[row["rotation_deg"]]
    return lambda at: (at - middle) * turn


def variant(result, name):
    design = result.designs[0]
    return next((each.design for each in design.variant if each.name == name), design)


def strokes(image, net, move):
    """Everything drawn and flashed of a net, moved, in an order that does not depend on the file's."""
    found = [
        (*whole(move(draw.start)), *whole(move(draw.end)), round(draw.width * 1e9), *centre(draw, move))
        for draw in image.draws
        if draw.net == net
    ]
    found += [
        (*whole(move(flash.at)), round(flash.diameter * 1e9), int(flash.pin[1]) if flash.pin else 0)
        for flash in image.flashes
        if flash.net == net
    ]
    return sorted(found)


def centre(draw, move):
    return (0, 0) if draw.centre is None else whole(move(draw.centre))


def whole(at):
    return round(at.real * 1e9), round(at.imag * 1e9)


def test_each_board_has_the_copper_of_its_own_make_after_moving_back(result):
    """Every draw and flash of every layer, to a nanometre, by the labels of nets and the key's places."""
    for layer, level in ((1, "top"), (2, "bottom")):
        panel = image(result, f"-copper-L{layer}-{level}.gbr")
        for row in rows(result):
            own = gerber.files(check(variant(result, row["variant"])))
            (content,) = [content for path, content in own.items() if f"copper-L{layer}" in path]
            alone = strokes(gerber_reader.read(content), "COIL", lambda at: at)
            moved = strokes(panel, row["label"], back(row))
            assert len(alone) == len(moved)
            for one, other in zip(alone, moved, strict=True):
                assert one == pytest.approx(other, abs=ONE * 1e9)


def test_the_number_of_boards_and_of_coupons_is_that_of_the_nets(result):
    from pygerber.gerberx3.parser2.parser2 import Parser2
    from pygerber.gerberx3.tokenizer.tokenizer import Tokenizer

    content = next(c for path, c in result.files.items() if "copper-L1" in path).decode()
    commands = list(Parser2().parse(Tokenizer().tokenize(content)))
    nets = {command.attributes.get(".N") for command in commands if hasattr(command, "attributes")}
    assert {*LABELS, "T1", "T2", "T3", "T4-OVER"} <= nets
    assert {draw.net for draw in image(result, "-copper-L1-top.gbr").draws} == {
        *LABELS,
        *("T1", "T2", "T3", "T4-OVER"),
    }
    assert {row["label"] for row in rows(result)} == set(LABELS)


def test_gerbyx_sees_the_copper_of_all_boards(result):
    """Coarse arcs: to 1 %; of the boards, coupons and marks together."""
    from gerbyx.dispatcher import process_file

    content = next(c for path, c in result.files.items() if "copper-L1" in path).decode()
    area = shapely.union_all(process_file(content).geometries).area * 1e-6
    assert area == pytest.approx(dark_area(image(result, "-copper-L1-top.gbr"), 1e-6).area, rel=0.01)


def test_gerbyx_sees_the_ink_on_every_board_the_edges_and_the_scores(result):
    from gerbyx.dispatcher import process_file

    seen = {}
    for path, content in result.files.items():
        if path.endswith(("-legend-top.gbr", "-profile.gbr", "-v-score.gbr")):
            ink = shapely.union_all(process_file(content.decode()).geometries)
            seen[path] = shapely.affinity.scale(ink, 1e-3, 1e-3, origin=(0, 0))
            whole_ink = dark_area(image(result, path), 1e-6).area
            assert seen[path].area == pytest.approx(whole_ink, rel=0.01), path
    (legend,) = [path for path in seen if "legend" in path]
    for each in result.panel.boards:
        board, told = region(each.art.outline, 1e-6), dark_area(image(result, legend), 1e-6)
        own = seen[legend].intersection(board).area
        assert own == pytest.approx(told.intersection(board).area, rel=0.02)
        assert own > 0


def test_gerbyx_sees_the_drills_of_the_panel(result):
    from gerbyx.dispatcher import process_file

    hits = [
        hit
        for path, content in result.files.items()
        if path.endswith(".drl")
        for hit in process_file(content.decode(), format_hint="excellon").primitives
    ]
    assert len(hits) == len(result.panel.art.holes)


def test_every_board_bears_its_label_in_ink(result):
    """Strokes of the legend within the board, moved back, hold those of the label's letters."""
    drawn = chains(image(result, "-legend-top.gbr"))
    for row in rows(result):
        move = back(row)
        ink = {frozenset((whole(move(d.start)), whole(move(d.end))) for d in chain) for chain in drawn}
        heights = (1.5e-3, 1.2e-3, 1.0e-3, 0.8e-3)
        assert any(letters(row["label"], height, 0j) <= ink for height in heights), row["label"]


def letters(text, height, at):
    return {
        frozenset((whole(s.start), whole(s.end)) for s in path.segments)
        for path in lettering(text, height, at)
    }


def test_a_score_lies_along_every_side_and_runs_through_no_board(scored):
    lines = image(scored, "-v-score.gbr")
    assert lines.attributes[".FileFunction"] == "Vcut"
    edges = [
        shapely.LineString([(d.start.real, d.start.imag), (d.end.real, d.end.imag)]) for d in lines.draws
    ]
    assert len(edges) == 8
    for each in scored.panel.boards:
        board = region(each.art.outline, 1e-6)
        assert board.exterior.within(shapely.union_all(edges).buffer(1e-9))
        assert not any(edge.intersects(board.buffer(-1e-6)) for edge in edges)
    for path, content in scored.files.items():
        if path.endswith(".gbr"):
            assert b"%TF.Part,Array*%" in content


def test_slots_run_along_the_boards_edges_and_leave_the_tabs(tabbed):
    """The panel is one piece; without its tabs it is the frame and five boards of their own outline."""
    loops = [polygon(chain) for chain in chains(image(tabbed, "-profile.gbr"))]
    outer = max(loops, key=lambda loop: loop.area)
    slots = [loop for loop in loops if loop is not outer]
    assert len(slots) == 20
    left = outer.difference(shapely.union_all(slots))
    assert left.geom_type == "Polygon"
    necks = [
        shapely.MultiPoint([(hole.at.real, hole.at.imag) for hole in row]).convex_hull.buffer(0.7e-3)
        for each in tabbed.panel.cuts
        for row in each.perforations
    ]
    parts = left.difference(shapely.union_all(necks)).geoms
    assert len(parts) == 6
    for each in tabbed.panel.boards:
        board = region(each.art.outline, 1e-7)
        assert min(abs(part.symmetric_difference(board).area) for part in parts) < 0.05 * board.area
        assert all(slot.intersection(board).area < 1e-11 for slot in slots)


def polygon(chain):
    points = [point for draw in chain for point in gerber_reader.chords(draw, 1e-7)]
    return shapely.Polygon([(point.real, point.imag) for point in points])


def test_tabs_stand_clear_of_copper(tabbed):
    copper = [dark_area(image(tabbed, f"-copper-L{k}-{w}.gbr")) for k, w in ((1, "top"), (2, "bottom"))]
    for each in tabbed.panel.cuts:
        assert len(each.perforations) >= 4
        for row in each.perforations:
            for hole in row:
                place = shapely.Point(hole.at.real, hole.at.imag)
                assert min(layer.distance(place) for layer in copper) > 0.5e-3 + hole.diameter / 2


def test_variants_of_one_copper_are_one_board_and_the_key_names_both(result):
    served = [(row["label"], row["variant"]) for row in rows(result)]
    assert served == [
        ("A1", "as designed"),
        ("A1", "3 V"),
        ("A2", "narrower"),
        ("A3", "7 turns"),
        ("A4", "clockwise"),
        ("A5", "octagonal"),
    ]


def test_the_netlist_tells_the_nets_by_label_with_their_boards_as_references(result):
    lines = next(c for path, c in result.files.items() if path.endswith(".ipc")).decode().splitlines()
    records = [line for line in lines if line[26:27] == "-"]
    ends = [(line[3:17].strip(), line[20:26].strip(), line[27:31].strip()) for line in records]
    for label in LABELS:
        assert {(label, label, "1"), (label, label, "2"), (label, "VIA", "")} <= set(ends)
    assert {("T4-OVER", "T4", "1"), ("T4-UNDER", "T4", "2")} <= set(ends)


def test_notes_and_page_tell_which_board_serves_which_variants(scored):
    for ending in (".md", ".html"):
        text = next(c for path, c in scored.files.items() if path.endswith(ending)).decode()
        assert "as designed; 3 V" in text
        assert all(word in text for word in (*LABELS, "T1", "T2", "T3", "T4"))


def test_in_one_row_the_key_s_entries_stand_under_their_boards(scored):
    """The panel's name came first, and each board had its neighbour's entry under it."""
    boards = {each.board.label: each.middle for each in scored.panel.boards}
    assert len({middle.imag for middle in boards.values()}) == 1
    told = {lines[0].split()[0]: corner for lines, corner in scored.panel.plan.key}
    for label in boards:
        assert label == min(boards, key=lambda other: abs(boards[other].real - told[label].real))


def test_the_job_file_is_of_the_panels_size_and_names_every_file(scored):
    job = json.loads(next(c for path, c in scored.files.items() if path.endswith(".gbrjob")))
    size = scored.panel.plan.size * 1e3
    assert job["GeneralSpecs"]["Size"] == {"X": pytest.approx(size.real), "Y": pytest.approx(size.imag)}
    held = {path.removeprefix("fab/") for path in scored.files if path.startswith("fab/")}
    assert {each["Path"] for each in job["FilesAttributes"]} | {f"{scored.panel.name}.gbrjob"} == held


def test_each_net_of_the_panel_is_one_piece_of_copper(result):
    """On one layer every coupon's strip; boards are held by their own make."""
    top = image(result, "-copper-L1-top.gbr")
    for net in ("T1", "T2"):
        own = gerber_reader.Image(
            draws=[d for d in top.draws if d.net == net], flashes=[f for f in top.flashes if f.net == net]
        )
        assert dark_area(own).geom_type == "Polygon"
        rest = gerber_reader.Image(
            draws=[d for d in top.draws if d.net != net], flashes=[f for f in top.flashes if f.net != net]
        )
        assert dark_area(own).distance(dark_area(rest)) > 0.3e-3


@pytest.mark.slow
def test_the_same_panel_has_the_same_bytes(scored, tmp_path):
    path = tmp_path / "scored.toml"
    path.write_text(TEXT, encoding="utf-8")
    assert files.panel(path).files == scored.files


def test_boards_of_a_panel_keep_every_rule(result):
    assert result.findings == ()
    assert read_text(TEXT).name == "latch-samples"
