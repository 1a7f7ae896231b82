"""`figures --beside`: what it prints of two boards face to face, and what it says to a user's mistake."""

import json
from pathlib import Path

import pytest
from small_design import SMALL

from coilgen.cli.facing import PairError, distance_of


@pytest.fixture
def other(here):
    path = Path("other.toml")
    path.write_text(SMALL.replace('"small"', '"other"').replace("turns = 3", "turns = 2"))
    return path


def test_a_table_of_the_pair_alone(run, small, other):
    result = run("figures", small, "--beside", other, "--distance", "5 mm")
    assert result.exit_code == 0
    assert result.stdout.startswith("other faces small, 5 mm over its top, on the same axis\n")
    for told in ("mutual_inductance", "coupling", "force", "force_over_weight", "the lighter board"):
        assert told in result.stdout
    assert "resistance_20c" not in result.stdout


def test_json_of_the_pair(run, small, other):
    result = run("figures", small, "--beside", other, "--distance", "5 mm", "--json")
    told = json.loads(result.stdout)
    assert (told["lower"], told["upper"], told["distance"]) == ("small", "other", 0.005)
    assert told["figures"]["mutual_inductance"]["unit"] == "H"
    assert told["figures"]["boards"]["value"][0]["force_over_weight"] > 0
    assert "All figures are estimates" in told["cautions"][-1]


def test_off_the_axis(run, small, other):
    place = ("--distance", "5 mm", "--shift", "2, -1 mm", "--turn", "90 deg")
    result = run("figures", small, "--beside", other, *place)
    head = "other faces small, 5 mm over its top, its centre 2 mm to the right and -1 mm up, turned by 90°\n"
    assert result.stdout.startswith(head)
    assert "force_and_torque" in result.stdout
    told = json.loads(run("figures", small, "--beside", other, *place, "--json").stdout)
    assert (told["shift"], told["turn"]) == ([0.002, -0.001], 90.0)


def test_a_board_beside_itself(run, small):
    assert run("figures", small, "--beside", small, "--distance", "3").exit_code == 0


def test_a_bare_number_is_in_mm():
    assert distance_of("5") == distance_of("5 mm") == 0.005
    assert distance_of("0.5 in") == pytest.approx(0.0127)


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ("5 parsec", "is not a unit of length"),
        ("0", "outside"),
        ("-3 mm", "outside"),
        ("near", "not a length"),
    ],
)
def test_a_distance_that_is_none(given, says):
    with pytest.raises(PairError, match=says) as told:
        distance_of(given)
    assert str(told.value).startswith("--distance: ")


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--beside", "small.toml"), "--distance: not given"),
        (("--distance", "5 mm"), "--beside: names no second design"),
        (("--beside", "small.toml", "--distance", "x"), "--distance: "),
        (("--beside", "small.toml", "--distance", "5", "--shift", "3"), '--shift: "3" is not x and y'),
        (("--beside", "small.toml", "--distance", "5", "--shift", "3, x"), "--shift: "),
        (("--beside", "small.toml", "--distance", "5", "--turn", "400"), "--turn: "),
        (("--turn", "30"), "--beside: names no second design"),
        (("--beside", "gone.toml", "--distance", "5 mm"), "gone.toml: cannot be read"),
    ],
)
def test_refusals_are_one_line_each(run, small, options, says):
    result = run("figures", small, *options)
    assert result.exit_code == 2
    assert result.stderr.startswith(says)
    assert result.stderr.count("\n") == 1
    assert result.stdout == ""


def test_faults_bear_the_name_of_their_file(run, small):
    Path("bad.toml").write_text(SMALL.replace("turns = 3", "turns = 0"))
    result = run("figures", small, "--beside", "bad.toml", "--distance", "5 mm")
    assert result.exit_code == 2
    assert result.stderr.startswith("bad.toml: winding.turns: 0 is outside")


def test_no_room_is_told_with_the_file(run, small):
    Path("tight.toml").write_text(SMALL.replace("[winding]", "[terminals]\ndistance = 0.5\n[winding]"))
    result = run("figures", small, "--beside", "tight.toml", "--distance", "5 mm")
    assert result.exit_code == 2
    assert result.stderr.startswith("tight.toml: ")
