"""coilgen optimize at the command line: files, exit status, and the same bytes each time."""

import re

import pytest
from click.testing import CliRunner
from small_design import SMALL

from coilgen.cli import main
from coilgen.design.reading import read

TABLE = """[optimize]
smallest = "resistance_20c"
[optimize.vary]
winding.turns = [2, 3, 4]
[optimize.limits]
inductance = { least = %s }
"""
FILES = {"small-optimum.toml", "small-optimize.csv", "small-optimize.html"}


def _run(folder, least, *more):
    path = folder / "small.toml"
    path.write_text(SMALL + TABLE % least, encoding="utf-8")
    return CliRunner().invoke(main, ["optimize", str(path), "--out", str(folder / "out"), *more])


def test_the_optimum_is_written_and_a_second_run_writes_the_same(tmp_path) -> None:
    first = _run(tmp_path, '"0.5 uH"')
    assert first.exit_code == 0, first.output
    written = {file.name: file.read_bytes() for file in (tmp_path / "out").iterdir()}
    assert set(written) == FILES
    assert read(tmp_path / "out" / "small-optimum.toml").winding.turns in (2, 3, 4)
    assert _run(tmp_path, '"0.5 uH"').exit_code == 0
    assert written == {file.name: file.read_bytes() for file in (tmp_path / "out").iterdir()}


def test_nothing_within_the_limits_is_exit_status_1_with_the_nearest(tmp_path) -> None:
    ended = _run(tmp_path, '"1 mH"')
    assert ended.exit_code == 1
    assert re.search(r"most in the way: inductance", ended.output)
    assert read(tmp_path / "out" / "small-optimum.toml").winding.turns == 4


def test_a_design_without_a_goal_is_refused(tmp_path) -> None:
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    ended = CliRunner().invoke(main, ["optimize", str(path)])
    assert ended.exit_code == 2
    assert "optimize: not given" in ended.output


@pytest.mark.parametrize("seconds", ["nan", "inf", "0", "-1", "1h"])
def test_a_time_that_is_none_is_refused(tmp_path, seconds: str) -> None:
    ended = _run(tmp_path, '"0.5 uH"', "--seconds", seconds)
    assert ended.exit_code == 2
    assert "--seconds" in ended.output and not (tmp_path / "out").exists()
