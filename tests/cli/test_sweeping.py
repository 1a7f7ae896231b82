"""`sweep` from end to end: a file that grows row by row, goes on after a stop, and is no other design's."""

import contextlib
import csv
import os
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from small_design import SMALL

from coilgen.cli import sweeping
from coilgen.cli.sweeping import MANY
from coilgen.study import sweep_cluster

SWEPT = SMALL + "[drive]\nvoltage = 0.5\n[sweep]\nwinding.turns = [2, 3, 13]\ndrive.voltage = [0.5, 1.0]\n"
FIGURES = ("--figures", "resistance_20c, current,rules_broken", "--workers", "1")


@pytest.fixture
def swept(here):
    path = Path("swept.toml")
    path.write_text(SWEPT)
    return path


def cells(path: str = "a.csv"):
    with Path(path).open(encoding="utf-8", newline="") as file:
        return [*csv.DictReader(file)]


def test_every_combination_has_its_row(run, swept) -> None:
    result = run("sweep", swept, "--out", "a.csv", *FIGURES)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == "wrote a.csv: 6 rows, 2 that cannot be built\nwrote a.html\n"
    found = cells()
    assert [(row["row"], row["winding.turns"], row["drive.voltage"]) for row in found[:3]] == [
        ("1", "2", "0.5"),
        ("2", "2", "1"),
        ("3", "3", "0.5"),
    ]
    assert [row["status"][:18] for row in found] == ["ok"] * 4 + ["winding.inner_size"] * 2
    assert float(found[1]["current"]) == 2 * float(found[0]["current"])
    assert found[5]["current"] == ""
    assert {row["exact"] for row in found} == {"true"}


def test_two_keys_give_a_map_one_a_plot_and_words_none(run, swept) -> None:
    run("sweep", swept, "--out", "a.csv", *FIGURES)
    cells_of = re.findall(r"<td[^>]*>([^<]*)</td>", Path("a.html").read_text(encoding="utf-8"))
    assert len(cells_of) == 3 * 6
    assert cells_of.count("") == 3 * 2
    assert any(cell.endswith(("mA", " A")) for cell in cells_of)
    for table, drawn in (("drive.voltage = [1, 2]", True), ('terminals.side = ["north", "south"]', False)):
        swept.write_text(f"{SMALL}[drive]\nvoltage = 0.5\n[sweep]\n{table}\n")
        name = "plot" if drawn else "words"
        run("sweep", swept, "--out", f"{name}.csv", "--figures", "current", "--workers", "1")
        assert Path(f"{name}.html").exists() is drawn
    assert "<svg" in Path("plot.html").read_text(encoding="utf-8")


def test_three_keys_give_small_maps_in_one_scale_of_colours(run, swept) -> None:
    table = "drive.ambient = [20, 40]\ndrive.voltage = [0.2, 0.4]\ndrive.current_limit = [1, 2, 3]"
    swept.write_text(f"{SMALL}[drive]\nvoltage = 0.5\n[sweep]\n{table}\n")
    run("sweep", swept, "--out", "a.csv", "--figures", "current", "--workers", "1")
    told = Path("a.html").read_text(encoding="utf-8")
    assert re.findall("<figcaption>([^<]*)</figcaption>", told) == [
        "drive.ambient, degC: 20",
        "drive.ambient, degC: 40",
    ]
    colours = re.findall(r"<td[^>]*background: ([^;\"]*)", told)
    assert len(colours) == 12 and len(set(colours)) == 2


@pytest.mark.parametrize("lines", [0, 1, 3, 6])
def test_it_goes_on_where_it_was_stopped(run, swept, monkeypatch, lines) -> None:
    run("sweep", swept, "--out", "a.csv", *FIGURES)
    whole = Path("a.csv").read_bytes()
    kept = b"".join(whole.splitlines(keepends=True)[: 1 + lines])
    Path("a.csv").write_bytes(kept + whole[len(kept) : len(kept) + 9])
    computed = []
    rows = sweeping.rows
    monkeypatch.setattr(
        sweeping, "rows", lambda plan, left, **more: computed.extend(left) or rows(plan, left, **more)
    )
    assert run("sweep", swept, "--out", "a.csv", *FIGURES).exit_code == 0
    assert Path("a.csv").read_bytes() == whole
    assert computed == [*range(lines, 6)]


def test_rows_of_a_changed_design_are_not_mixed_with_its_own(run, swept) -> None:
    run("sweep", swept, "--out", "a.csv", *FIGURES)
    whole = Path("a.csv").read_bytes()
    swept.write_text(SWEPT.replace('outer_size = "16 mm"', 'outer_size = "17 mm"'))
    result = run("sweep", swept, "--out", "a.csv", *FIGURES)
    assert result.exit_code == 2
    assert "a.csv: holds rows of another design" in result.stderr
    other = run("sweep", swept, "--out", "a.csv", "--figures", "current")
    assert (other.exit_code, "a.csv: has other columns" in other.stderr) == (2, True)
    assert Path("a.csv").read_bytes() == whole


def test_rows_of_another_version_are_not_mixed_with_its_own(run, swept, monkeypatch) -> None:
    asked = ("sweep", swept, "--out", "a.csv", "--figures", "turns_total", "--workers", "1")
    run(*asked)
    whole = Path("a.csv").read_bytes()
    monkeypatch.setattr("coilgen.study.plan.__version__", "0.0.1")
    result = run(*asked)
    assert result.exit_code == 2
    assert "or of another version of coilgen" in result.stderr
    assert Path("a.csv").read_bytes() == whole


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--out", "a.txt"], "does not end in .csv"),
        (["--out", "none/a.csv"], "none is no folder"),
        (["--out", "a.csv", "--figures", "curent"], 'did you mean "current"'),
        (["--out", "a.csv", "--figures", ","], "none named"),
        (["--out", "a.csv", "--figures", "impedance"], "impedance is a table"),
        (["--out", "a.csv", "--workers", "2", "--cluster", "tcp://127.0.0.1:1"], "keep one of the two"),
        (["--out", "noise.csv"], "noise.csv is no file of a sweep"),
        (["--out", "other.csv"], "other.csv: has other columns"),
    ],
)
def test_what_it_refuses(run, swept, arguments, says) -> None:
    Path("noise.csv").write_bytes(b"\xff\xfe\n")
    Path("other.csv").write_text("a,b\n1,2\n")
    result = run("sweep", swept, *arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert says in result.stderr
    assert not Path("a.csv").exists()


def test_a_cluster_that_does_not_answer_leaves_no_file(run, swept, monkeypatch) -> None:
    monkeypatch.setattr(sweep_cluster, "PATIENCE", 0.5)
    result = run("sweep", swept, "--out", "a.csv", "--cluster", "tcp://127.0.0.1:9")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "tcp://127.0.0.1:9 does not answer as a scheduler" in result.stderr
    assert not Path("a.csv").exists()


MANY_ROWS = SMALL + (
    "[drive]\nvoltage = 0.5\n[sweep]\nwinding.turns = [2, 3, 4, 5]\n"
    "drive.voltage = [0.4, 0.5, 0.6, 0.7, 0.8]\n"
    "winding.trace_width = { from = 0.2, to = 0.34, step = 0.02 }\n"
)


def test_a_screened_sweep_tells_its_exact_rows_and_goes_on_to_the_same_file(run, swept) -> None:
    swept.write_text(MANY_ROWS)
    names = "resistance_20c,current,temperature"
    command = ("sweep", swept, "--out", "a.csv", "--figures", names, "--workers", "1")
    result = run(*command, "--screen")
    assert result.exit_code == 0
    exact = [row for row in cells() if row["exact"] == "true"]
    assert 0 < len(exact) < 60
    told = re.match(r"screened (\d+) of 160 rows after \d+ exact ones\n", result.stderr)
    assert told
    assert int(told[1]) == 160 - len(exact)
    assert "largest error against exact runs not learned from: resistance_20c" in result.stderr
    assert re.search(r"temperature [\d.e-]+ % of its rise", result.stderr)
    whole = Path("a.csv").read_bytes()
    Path("a.csv").write_bytes(whole[: len(whole) // 3])
    assert run(*command, "--screen").exit_code == 0
    assert Path("a.csv").read_bytes() == whole
    other = run(*command)
    assert (other.exit_code, "a.csv: holds rows of another design" in other.stderr) == (2, True)


def test_what_is_too_few_or_not_covered_is_exact_and_says_so(run, swept) -> None:
    run("sweep", swept, "--out", "a.csv", *FIGURES)
    result = run("sweep", swept, "--out", "b.csv", *FIGURES, "--screen")
    assert "6 rows are left to exact runs: fewer than 150 alike" in result.stderr
    strip = [{**row, "design": ""} for row in cells("b.csv")]
    assert strip == [{**row, "design": ""} for row in cells("a.csv")]


def test_a_sweep_of_which_nothing_can_be_built_says_why(run, swept) -> None:
    swept.write_text(SMALL + "[sweep]\nmagnet.gap = [1]\n")
    result = run("sweep", swept, "--out", "a.csv", *FIGURES, "--workers", "1")
    assert result.exit_code == 0
    said = " ".join(result.stdout.split())
    assert "wrote a.csv: 1 row, 1 that cannot be built none can be built; the first: magnet." in said
    assert cells()[0]["status"] in said


def test_a_design_that_varies_nothing_is_refused(run, small) -> None:
    result = run("sweep", small, "--out", "a.csv")
    assert (result.exit_code, "sweep: not given; add a [sweep] table" in result.stderr) == (2, True)


def test_a_long_one_says_beforehand_how_long_and_how_large(run, swept, monkeypatch) -> None:
    monkeypatch.setattr(sweeping, "MANY", 5)
    result = run("sweep", swept, "--out", "a.csv", *FIGURES)
    assert re.fullmatch(r"6 rows: at most [\d.]+ (s|min) on 1 process, 0\.0 MB\n", result.stderr)
    screened = run("sweep", swept, "--out", "b.csv", *FIGURES, "--screen")
    assert re.match(r"6 rows to screen: about [\d.]+ (s|min) besides", screened.stderr)
    assert MANY == 10_000


def size_of(path: str) -> int:
    return Path(path).stat().st_size if Path(path).exists() else 0


@pytest.mark.slow
def test_killed_at_random_ten_times_it_makes_the_same_file_as_in_one_go(here, swept) -> None:
    swept.write_text(
        SWEPT.replace("[2, 3, 13]", "{ from = 1, to = 13, step = 0.25 }").replace(
            "[0.5, 1.0]", "{ from = 0.1, to = 2, step = 0.1 }"
        )
    )
    command = [sys.executable, "-m", "coilgen", "sweep", str(swept), "--workers", "2", "--out"]
    began = time.monotonic()
    subprocess.run([*command, "whole.csv"], check=True, timeout=600, capture_output=True)
    took, whole = time.monotonic() - began, Path("whole.csv").stat().st_size
    chosen = random.Random(15)
    sizes = []
    for share in sorted(chosen.random() for _ in range(10)):
        run = subprocess.Popen(
            [*command, "a.csv"], start_new_session=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        while size_of("a.csv") < share * whole and run.poll() is None:
            time.sleep(0.002)
        time.sleep(chosen.uniform(0, 0.005) * took)  # so that some are stopped within a line
        with contextlib.suppress(ProcessLookupError):  # it may have ended
            os.killpg(run.pid, signal.SIGKILL)
        run.wait()
        sizes.append(size_of("a.csv"))
    assert sum(0 < size < whole for size in sizes) > 5, "it was hardly ever stopped half way"
    subprocess.run([*command, "a.csv"], check=True, timeout=600, capture_output=True)
    assert Path("a.csv").read_bytes() == Path("whole.csv").read_bytes()
