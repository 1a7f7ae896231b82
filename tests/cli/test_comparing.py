"""`compare` from end to end: table, CSV, JSON, a file in whole, and what it says to a user's mistakes."""

import csv
import json
import re
import subprocess
import sys
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import pytest
import tomlkit
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pseudo_terminal import CONTROL, on_terminal
from small_design import SMALL

from coilgen.catalogue import templates
from coilgen.cli import main

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
NUMBER = re.compile(r"\d+(\.\d+)?")
VARIANTS = """
[drive]
voltage = 0.5
[[variant]]
name = "two turns"
[variant.winding]
turns = 2
"""
CROWDED = """
[[variant]]
name = "{name}"
[variant.winding]
turns = 13
"""


@pytest.fixture
def varied(here):
    """A design with one variant in the working folder."""
    path = Path("varied.toml")
    path.write_text(SMALL.replace('"small"', '"varied"') + VARIANTS)
    return path


@pytest.fixture
def one_process(monkeypatch):
    """No worker processes: their start takes longer than a small design. Other tests have them."""
    monkeypatch.setattr("coilgen.cli.comparing.processors", lambda: 1)


@pytest.mark.usefixtures("one_process")
class TestTable:
    def test_names_units_and_rows(self, run, varied, here):
        result = run("compare", varied)
        assert (result.exit_code, result.stderr) == (0, "")
        lines = result.stdout.splitlines()
        assert lines[0].split() == ["variant", "L", "B", "B", "R", "I", "temp."]
        assert lines[1].split() == ["front", "back"]
        assert lines[2].split() == ["nH", "µT", "µT", "mΩ", "A", "°C"]
        assert [line[:11] for line in lines[3:5]] == ["as designed", "two turns  "]
        assert any("0.5 mm from the outermost face" in line for line in lines[5:7])
        assert any(line.startswith("note: All figures are estimates") for line in lines)
        assert list(here.iterdir()) == [here / "varied.toml"]


@pytest.mark.usefixtures("one_process")
class TestForms:
    def test_json_and_csv_tell_the_same(self, run, varied):
        document = json.loads(run("compare", varied, "--json").stdout)
        heads, *rows = csv.reader(run("compare", varied, "--csv").stdout.splitlines())
        assert heads == [
            "variant",
            "inductance H",
            "flux_density_front T",
            "flux_density_back T",
            "resistance_20c ohm",
            "current A",
            "temperature degC",
            "rules_broken",
            "cannot",
            "cautions",
        ]
        assert [name for name, *_ in rows] == [each["name"] for each in document["variants"]]
        assert [head.split(" ")[0] for head in heads[1:-2]] == list(document["columns"])
        for (_, *texts, cannot, cautions), each in zip(rows, document["variants"], strict=True):
            assert (cannot, cautions) == ("; ".join(each["cannot"]), " ".join(each["cautions"]))
            assert [float(text) for text in texts] == pytest.approx([*each["values"].values()], rel=1e-9)

    def test_a_file_by_its_ending_replaces_an_earlier_one(self, run, varied):
        Path("found.csv").write_text("old " * 10_000)
        result = run("compare", varied, "--out", "found.csv")
        assert (result.exit_code, result.stdout) == (0, "wrote found.csv\n")
        lines = Path("found.csv").read_text().splitlines()
        assert [line.split(",")[0] for line in lines] == ["variant", "as designed", "two turns"]

    @pytest.mark.slow
    def test_a_file_of_another_ending_by_the_option_and_as_a_module(self, varied):
        command = [sys.executable, "-m", "coilgen", "compare", varied, "--json", "--out", "found.txt"]
        ended = subprocess.run(command, capture_output=True, check=True)
        assert (ended.stdout, ended.stderr) == (b"wrote found.txt\n", b"")
        assert json.loads(Path("found.txt").read_text())["name"] == "varied"


class TestMistakes:
    @pytest.mark.parametrize(
        ("options", "says"),
        [
            (("--json", "--csv"), "--json and --csv are given together; keep one of the two"),
            (("--out", "found.txt"), "--out: found.txt ends in neither .json nor .csv; say --json or --csv"),
            (("--out", "nowhere/found.csv"), "--out: nowhere is no folder; make it first"),
            (("--json", "--out", "."), "--out: . is a folder; name a file in it"),
            (("--json", "--out", "varied.toml"), "--out: varied.toml is the design itself; name another"),
        ],
    )
    def test_options_that_cannot_be(self, run, varied, here, options, says):
        result = run("compare", varied, *options)
        assert (result.exit_code, result.stdout) == (2, "")
        assert result.stderr.startswith(says)
        assert len(result.stderr.splitlines()) == 1
        assert list(here.iterdir()) == [here / "varied.toml"]

    def test_a_design_without_variants(self, run, small):
        result = run("compare", small)
        assert (result.exit_code, result.stdout) == (2, "")
        says = "variant: none given; add a [[variant]] table with a name and what it changes\n"
        assert result.stderr == says

    def test_variants_without_room_are_told_together(self, run, varied):
        varied.write_text(varied.read_text() + CROWDED.format(name="tight") + CROWDED.format(name="tighter"))
        result = run("compare", varied, "--out", "found.csv")
        assert (result.exit_code, result.stdout) == (2, "")
        told = result.stderr.splitlines()
        assert [line.split(": ")[:2] for line in told] == [
            ['variant "tight"', "winding.inner_size"],
            ['variant "tighter"', "winding.inner_size"],
        ]
        assert not Path("found.csv").exists()

    def test_a_process_that_is_ended_from_outside(self, run, varied, here, monkeypatch):
        def ended(design, **options):
            raise BrokenProcessPool

        monkeypatch.setattr("coilgen.study.compare.compare", ended)
        result = run("compare", varied, "--out", "found.csv")
        assert (result.exit_code, result.stdout) == (2, "")
        assert result.stderr.startswith("a process that computed was ended from outside")
        assert len(result.stderr.splitlines()) == 1
        assert list(here.iterdir()) == [here / "varied.toml"]

    def test_faults_of_the_file(self, run, varied):
        varied.write_text(varied.read_text().replace("turns = 2", "turns = 0"))
        result = run("compare", varied)
        assert result.exit_code == 2
        assert result.stderr.startswith("variant 1.winding.turns: 0 is outside what is allowed")


keys = st.sampled_from(["turns", "trace_width", "layers", "shape", "size", "drill", "voltage", "no_such_key"])
things = (
    st.integers()
    | st.floats()
    | st.booleans()
    | st.sampled_from(["round", "0.1 mm", "12 V", "", "[x]"])
    | st.just([])
    | st.just({})
)
tables = st.dictionaries(
    st.sampled_from(["winding", "via", "pocket", "drive", "core", "target", "variant", "without", "nothing"]),
    st.dictionaries(keys, things, max_size=3) | things | st.lists(things, max_size=2),
    max_size=3,
)


class TestAnything:
    @settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
    @given(st.lists(tables, min_size=1, max_size=3))
    def test_any_variants_of_a_design_without_room(self, tmp_path, variants):
        """Whatever the variants are, all that is wrong is told in lines that name the key."""
        given_tables = {**tomlkit.parse(SMALL.replace("turns = 3", "turns = 13")).unwrap()}
        named = [{"name": f"number {k}", **variant} for k, variant in enumerate(variants)]
        path = tmp_path / "any.toml"
        path.write_text(tomlkit.dumps({**given_tables, "variant": named}), encoding="utf-8")
        result = CliRunner().invoke(main, ["compare", str(path)], catch_exceptions=False)
        assert (result.exit_code, result.stdout) == (2, "")
        lines = result.stderr.splitlines()
        assert lines
        assert all(line.startswith(("winding.inner_size: ", "variant ")) for line in lines), lines


def compared(folder, columns):
    """Lines that `compare` writes to a terminal, progress and control letters among them."""
    code = (
        "import os, sys\n"
        "if __name__ == '__main__':\n"
        f"    os.chdir({str(folder)!r}); sys.argv[1:] = ['compare', 'design.toml']\n"
        "    from coilgen.cli import main, terminal\n"
        "    terminal.PATIENCE = 0.05\n"
        "    main()"
    )
    return on_terminal(code, columns)


class TestOnATerminal:
    def test_says_how_far_it_has_come_and_fits(self, tmp_path):
        (tmp_path / "design.toml").write_text(SMALL + VARIANTS)
        told = compared(tmp_path, 100)
        assert "comparing, 1 of 2 …" in told
        lines = CONTROL.sub("", told).splitlines()
        assert max(len(line) for line in lines if "comparing" not in line) <= 100

    @pytest.mark.slow
    def test_the_latchs_table_stands_in_a_hundred_columns_and_in_the_readme(self, tmp_path):
        """To two percent, as a number's last digit may differ between machines."""
        (tmp_path / "design.toml").write_text(templates()["specimen-drawer-latch"])
        lines = CONTROL.sub("", compared(tmp_path, 100)).splitlines()
        table = lines[next(k for k, line in enumerate(lines) if line.startswith("variant")) :]
        assert max(map(len, table)) <= 100
        found, told = ([*filter(None, map(words, each))] for each in (table, README.splitlines()))
        start = told.index(found[0])
        for mine, written in zip(found[:14], told[start:], strict=False):
            assert [*map(type, mine)] == [*map(type, written)], (mine, written)
            for one, other in zip(mine, written, strict=True):
                assert one == (pytest.approx(other, rel=0.02) if isinstance(other, float) else other)


def words(line):
    """Words of a line, numbers as numbers; rules and marks of the best left out."""
    plain = (word.removesuffix("*") for word in line.replace("─", " ").split())
    return [float(word) if NUMBER.fullmatch(word) else word for word in plain]
