"""A calibration holds wherever a figure is told, and is told there; the fab gets what was asked."""

import csv
import json
from pathlib import Path

import pytest
from small_design import SMALL

from coilgen.watch.state import full, quick

LEARNT = """name = "batch-1"
says = "3 readings of 1 board of batch-1"
[[learnt]]
cause = "copper thickness"
of = "copper of 35 um, 35 um"
low = 0.94
value = 0.95
high = 0.96
[[learnt]]
cause = "convection"
of = "still air, on edge"
low = 1.1
value = 1.2
high = 1.3
"""
SAID = "calibrated: figures count with boards made as batch.toml tells (3 readings of 1 board of batch-1)"
NOT_TAKEN = "calibration: convection was learnt on still air, on edge"
MORE = pytest.approx(1 / 0.95, rel=0.01)
"""Resistance of thinner copper, over what was asked; the vias' walls are not thinner."""
TWO = """name = "pair"
[[winding]]
name = "left"
shape = "round"
turns = 4
trace_width = 0.3
trace_spacing = 0.3
outer_size = 10
layers = 2
centre = [-8, 0]
[[winding]]
name = "right"
shape = "round"
turns = 4
trace_width = 0.3
trace_spacing = 0.3
outer_size = 10
layers = 2
centre = [8, 0]
[board]
outline = "rectangle"
width = 36
height = 24
"""


@pytest.fixture
def pair_of_files(here):
    """A writer of a design with and without the calibration."""

    def write(text, ending=""):
        Path("batch.toml").write_text(LEARNT)
        Path("plain.toml").write_text(text + ending)
        Path("learnt.toml").write_text(f'calibration = "batch.toml"\n{text}{ending}')
        return "plain.toml", "learnt.toml"

    return write


def told(run, *command):
    """JSON on standard output."""
    result = run(*command)
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


def test_figures_are_calibrated_and_say_so(run, pair_of_files):
    before, after = (told(run, "figures", file, "--json") for file in pair_of_files(SMALL))
    one, other = (each["figures"]["resistance_20c"] for each in (before, after))
    assert other["value"] / one["value"] == MORE
    assert other["band"][1] - other["band"][0] < 0.8 * (one["band"][1] - one["band"][0])
    assert any(each.startswith(SAID) for each in after["cautions"])
    assert any(each.startswith(NOT_TAKEN) for each in after["cautions"])
    assert not any("calibrat" in each for each in before["cautions"])


@pytest.mark.slow
def test_the_fab_gets_the_same_files(run, pair_of_files):
    for file in pair_of_files(SMALL):
        assert run("make", file, "--out", Path(file).stem).exit_code == 0
    plain, learnt = (sorted(Path(each).glob("*/fab/*")) for each in ("plain", "learnt"))
    assert [each.name for each in plain] == [each.name for each in learnt]
    assert all(one.read_bytes() == other.read_bytes() for one, other in zip(plain, learnt, strict=True))
    (page,) = Path("learnt").glob("*/*.html")
    assert SAID in page.read_text()


@pytest.mark.slow
def test_compare_is_calibrated_and_says_so(run, pair_of_files):
    files = pair_of_files(SMALL, '[[variant]]\nname = "fewer"\nwinding = { turns = 2 }\n')
    before, after = (told(run, "compare", file, "--json")["variants"] for file in files)
    for one, other in zip(before, after, strict=True):
        assert other["values"]["resistance_20c"] / one["values"]["resistance_20c"] == MORE
        assert any(each.startswith(SAID) for each in other["cautions"])


@pytest.mark.slow
def test_a_sweep_is_calibrated_says_so_and_is_not_mixed_with_another(run, pair_of_files):
    plain, learnt = pair_of_files(SMALL, "[sweep]\nwinding.turns = [2, 3]\n")
    results = [
        run("sweep", file, "--out", f"{file}.csv", "--figures", "resistance_20c") for file in (plain, learnt)
    ]
    assert [each.exit_code for each in results] == [0, 0]
    assert SAID in " ".join(results[1].output.split())
    assert SAID in Path("learnt.toml.html").read_text()
    one, other = (rows(f"{file}.csv") for file in (plain, learnt))
    assert [float(b) / float(a) for a, b in zip(one, other, strict=True)] == [MORE, MORE]
    Path("batch.toml").write_text(LEARNT.replace("0.95", "0.955"))
    mixed = run("sweep", learnt, "--out", f"{learnt}.csv", "--figures", "resistance_20c")
    assert (mixed.exit_code, "learnt.toml.csv" in mixed.stderr) == (2, True)


def rows(path):
    """Resistances of a sweep."""
    with Path(path).open() as file:
        return [row["resistance_20c"] for row in csv.DictReader(file)]


@pytest.mark.slow
def test_a_search_is_calibrated_and_its_optimum_keeps_what_was_learnt(run, pair_of_files):
    asked = """[optimize]
smallest = "resistance_20c"
[optimize.vary]
"winding.turns" = [2, 3]
"""
    _, learnt = pair_of_files(SMALL, asked)
    result = run("optimize", learnt, "--seconds", "30")
    assert result.exit_code == 0, result.stderr
    assert SAID in " ".join(result.output.split())
    (page,) = Path("out").glob("*-optimize.html")
    assert SAID in page.read_text()
    (optimum,) = Path("out").glob("*-optimum.toml")
    Path("two.toml").write_text(SMALL.replace("turns = 3", "turns = 2"))
    found, plain = (
        told(run, "figures", file, "--json")["figures"]["resistance_20c"]["value"]
        for file in (optimum, "two.toml")
    )
    assert found / plain == MORE


def test_the_live_page_is_calibrated_and_says_so(pair_of_files):
    plain, learnt = (Path(each).read_text() for each in pair_of_files(SMALL))
    one, other = (full(text, Path()).figures["resistance_20c"].value for text in (plain, learnt))
    assert other / one == MORE
    assert any(each.startswith(SAID) for each in quick(learnt, Path()).cautions)


@pytest.mark.slow
def test_windings_of_one_board_are_calibrated_each(run, pair_of_files):
    before, after = (told(run, "figures", file, "--json") for file in pair_of_files(TWO))
    for one, other in zip(before["windings"], after["windings"], strict=True):
        ratio = other["figures"]["resistance_20c"]["value"] / one["figures"]["resistance_20c"]["value"]
        assert ratio == MORE
    assert any(each.startswith(SAID) for each in after["cautions"])


@pytest.mark.parametrize(
    ("learnt", "says"),
    [
        (LEARNT.replace("copper thickness", "coper thickness"), "coper thickness"),
        (LEARNT.replace("value = 0.95", "value = 1.95"), "is not between low and high"),
        (LEARNT.replace("value = 0.95", ""), "value: not given"),
        (LEARNT.replace("= 0.94", '= "0.94 mm"'), "0.94 mm"),
        (LEARNT + "[", "line"),
        (SMALL, '"batch.toml" is a design file; name a NAME-calibration.toml'),
        ("correlation = [[2.0]]\n" + LEARNT, "2 by 2"),
    ],
)
def test_what_no_calibration_can_be_is_told_once(run, here, learnt, says):
    Path("batch.toml").write_text(learnt)
    Path("learnt.toml").write_text(f'calibration = "batch.toml"\n{SMALL}')
    result = run("check", "learnt.toml")
    assert result.exit_code == 2
    assert "calibration" in result.stderr
    assert says in " ".join(result.stderr.split())
    assert len(result.stderr.splitlines()) == 1
