"""The panel command from end to end, what it refuses, and what other commands say to its files."""

import csv
from pathlib import Path

import pytest

from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.errors import DesignError
from coilgen.study.panel.files import checked

BOARD = """name = "{name}"
[winding]
shape = "square"
turns = 3
trace_width = "0.3 mm"
trace_spacing = "0.3 mm"
outer_size = "14 mm"
[board]
outline = "rectangle"
width = "25 mm"
height = "22 mm"
{more}
"""
PANEL = """name = "tray"
coupons = false
[[sample]]
design = "one.toml"
copies = 2
[[sample]]
design = "other.toml"
"""


@pytest.fixture
def two(here):
    write("one")
    write("other", 'corner_radius = "1 mm"\n')
    Path("tray.toml").write_text(PANEL)


def write(name, more="", told=None):
    Path(f"{name}.toml").write_text(BOARD.format(name=told or name, more=more))


def test_writes_the_set_and_the_key_of_a_panel_file(run, two):
    result = run("panel", "tray.toml", "--out", "made")
    assert result.exit_code == 0, result.output
    assert "A1" in result.stdout and "B1" in result.stdout
    with Path("made/tray/tray-samples.csv").open() as file:
        rows = list(csv.DictReader(file))
    assert [(row["label"], row["design"], row["file"]) for row in rows] == [
        ("A1", "one", "one.toml"),
        ("A2", "one", "one.toml"),
        ("B1", "other", "other.toml"),
    ]
    assert all(float(row["resistance_20c_ohm"]) > 0 for row in rows)
    notes = Path("made/tray/fab/tray-fabrication-notes.md").read_text()
    assert "### A1, A2" in notes and "8 tabs" not in notes and "12 tabs" in notes
    assert Path("made/tray/tray-fab.zip").stat().st_size > 1000


def test_tells_when_a_set_for_the_fab_takes_the_place_of_one_of_another_kind(run, here):
    write("one")
    changes = "were those of {} and are now those of {};"
    first, panel, again, single = (
        run(command, "one.toml", "--out", "made").stdout for command in ("make", "panel", "panel", "make")
    )
    assert "are now those of" not in first + again
    assert changes.format("one board", "a panel") in panel
    assert changes.format("a panel", "one board") in single


def test_a_finding_on_one_board_keeps_all_from_being_written_unless_accepted(run, two):
    write("one", '[rules]\ntrace_spacing = "0.4 mm"\n')
    result = run("panel", "tray.toml")
    assert result.exit_code == 1
    assert "A1, A2, from its own middle: Two runs of trace" in " ".join(result.stdout.split())
    assert "nothing written" in result.stderr and not Path("out").exists()
    accepted = run("panel", "tray.toml", "--accept-findings")
    assert accepted.exit_code == 0
    assert "accepted by the designer" in Path("out/tray/fab/tray-fabrication-notes.md").read_text()


def told(text):
    Path("tray.toml").write_text(text)
    with pytest.raises(DesignError) as caught:
        checked("tray.toml")
    return str(caught.value)


class TestRefused:
    @pytest.fixture(autouse=True)
    def _two(self, two):
        pass

    def test_stackups_that_differ(self):
        write("other", 'stackup = "rigid-2-layer-0.8mm"')
        says = told(PANEL)
        assert 'other, "as designed": board.stackup: differs' in says and "dielectric" in says

    def test_orders_that_differ(self):
        write("other", '[order]\nfinish = "enig"')
        assert "order: differs from the first board's in finish" in told(PANEL)

    def test_a_board_without_an_outline(self):
        text = BOARD.format(name="other", more="").replace('"rectangle"', '"none"')
        Path("other.toml").write_text(text.replace('width = "25 mm"\nheight = "22 mm"\n', ""))
        assert "board.outline" in told(PANEL)

    def test_a_board_larger_than_the_panel(self):
        says = told("width = 30\nheight = 30\n" + PANEL)
        assert "A1: one is 25 mm x 22 mm, and a panel of 30 mm x 30 mm" in says

    def test_more_boards_than_the_panel_holds(self):
        says = told("width = 60\nheight = 60\n" + PANEL.replace("copies = 2", "copies = 9"))
        assert "10 boards with frame" in says and "fewer copies" in says

    def test_boards_by_the_hundred(self):
        assert "sample: 101 boards in all" in told(PANEL.replace("copies = 2", "copies = 100"))

    def test_a_panel_larger_than_the_shop_takes(self):
        assert "width: 500 mm is over the 400 mm" in told("width = 500\n" + PANEL)

    def test_names_that_collide(self):
        write("other", told="one")
        Path("other.toml").write_text(Path("other.toml").read_text().replace("turns = 3", "turns = 4"))
        assert 'sample 2.design: its name "one" is that of another design, sample 1' in told(PANEL)

    def test_the_same_variant_twice(self):
        says = told(PANEL.replace("other.toml", "one.toml"))
        assert '"as designed" of one is in sample 1 too; use its copies' in says

    def test_a_panel_named_as_a_design(self):
        assert "is the panel's name too" in told(PANEL.replace("tray", "other"))

    def test_a_variant_that_is_none(self):
        says = told(PANEL + 'variants = ["as desinged"]\n')
        assert 'sample 2.variants: "as desinged" is no variant of other; did you mean "as designed"?' in says

    def test_no_variants_and_no_samples(self):
        assert "sample 2.variants: a list of 0 names; give 1 to 200" in told(PANEL + "variants = []\n")
        assert "sample: not given; a panel file names" in told('name = "tray"\nseparation = "tabs"\n')

    def test_a_score_round_rounded_corners(self):
        says = told('separation = "v-score"\n' + PANEL)
        assert "the outline of B1, other, is no rectangle with sharp corners" in says

    def test_a_score_of_boards_that_share_no_side(self):
        Path("other.toml").write_text(
            BOARD.format(name="other", more="").replace("25 mm", "26 mm").replace("22 mm", "23 mm")
        )
        assert "share no side" in told('separation = "v-score"\n' + PANEL)

    def test_a_gap_too_narrow_for_slots(self):
        assert "gap: 3 mm is under the 6 mm of two slots and the rib between them; give" in told(
            'gap = 3\nseparation = "tabs"\n' + PANEL
        )

    def test_faults_of_a_design_with_the_sample_that_names_it(self):
        Path("other.toml").write_text("name = 3")
        says = told(PANEL)
        assert "sample 2, other.toml: winding: not given" in says

    def test_keys_that_are_not_known(self):
        says = told('seperation = "tabs"\n' + PANEL + "copy = 2\n")
        assert 'seperation: no such key; did you mean "separation"?' in says
        assert 'sample 2.copy: no such key; did you mean "copies"?' in says

    @pytest.mark.parametrize(
        "wrong",
        ['separation = "saw"', "gap = -1", "frame = 1", "frame = 90", 'coupons = "yes"', 'name = "a b"'],
    )
    def test_values_out_of_range(self, wrong):
        key = wrong.split(" ")[0]
        assert f"{key}: " in told(
            f"{wrong}\n" + "\n".join(line for line in PANEL.splitlines() if not line.startswith(f"{key} "))
        )


def test_other_commands_say_which_command_takes_a_file(run, two):
    Path("readings.toml").write_text('[[reading]]\nfigure = "resistance"\n')
    Path("readings.csv").write_text("sample,figure,value\n")
    Path("sweep.toml").write_text('name = "s"\n[sweep]\nwinding.turns = [3, 4]\n')
    Path("rows.csv").write_text("row,winding.turns,status,exact\n")
    Path("key.csv").write_text("label,design,file\n")
    for name, command in (
        ("tray.toml", "coilgen panel"),
        ("readings.toml", "coilgen bench"),
        ("readings.csv", "coilgen bench"),
        ("sweep.toml", "coilgen sweep"),
        ("rows.csv", "coilgen sweep"),
        ("key.csv", "coilgen bench"),
    ):
        result = run("make", name)
        assert result.exit_code == 2
        assert command in result.stderr, name
        assert len(result.stderr.splitlines()) == 1


def test_copper_near_a_score_is_found(here):
    text = templates()["latch-samples"].replace('shop = "rigid-standard"', 'copper_to_edge = "0.1 mm"')
    Path("near.toml").write_text(text.replace('width = "25 mm"', 'width = "18.5 mm"'))
    wide = read_text(Path("near.toml").read_text())
    assert wide.board.width == pytest.approx(18.5e-3)
    Path("panel.toml").write_text(
        'name = "near-score"\nseparation = "v-score"\ncoupons = false\n[[sample]]\ndesign = "near.toml"\n'
    )
    found = checked("panel.toml").findings
    assert {finding.rule for finding in found} == {"copper_to_score"}
    assert min(finding.value for finding in found) == pytest.approx(0.25e-3, abs=1e-7)


def test_boards_that_nothing_parts_have_their_edges_printed(here):
    write("one", 'corner_radius = "1 mm"')
    sheet = 'name = "sheet"\nseparation = "none"\n[[sample]]\ndesign = "one.toml"\ncopies = 3\n'
    Path("sheet.toml").write_text(sheet)
    panel = checked("sheet.toml").panel
    assert panel.art.pockets == () and panel.plan.scores == ()
    edges = {each.art.outline for each in panel.boards}
    assert edges <= {stroke.path for stroke in panel.art.legend}


@pytest.mark.parametrize(
    "stackup",
    [
        "rigid-1-layer-1.6mm",
        "rigid-4-layer-1.6mm",
        "flex-2-layer",
        pytest.param("rigid-8-layer-1.6mm", marks=pytest.mark.slow),
        pytest.param("heavy-2-layer-1.6mm", marks=pytest.mark.slow),
    ],
)
def test_panels_of_every_kind_of_board_keep_the_rules(here, stackup):
    layers = min(int(next(part for part in stackup.split("-") if part.isdigit())), 2)
    kind = 'corner_radius = "2 mm"\nstackup = "' + stackup + '"\n'
    text = BOARD.format(name="one", more=kind).replace("turns = 3", f"turns = 3\nlayers = {layers}")
    Path("one.toml").write_text(text)
    Path("sheet.toml").write_text('name = "sheet"\n[[sample]]\ndesign = "one.toml"\ncopies = 2\n')
    result = checked("sheet.toml")
    assert [finding.says for finding in result.findings] == []
    assert result.panel.plan.separation == "tabs"
    count = {1: 2, 2: 4}.get(result.panel.art.copper_layers, 6)
    assert len(result.panel.coupons) == count
