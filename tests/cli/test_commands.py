"""Every command from end to end: what it prints, writes and returns, and what it says to a user's mistake."""

import json
import os
import re
import shlex
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_design import SMALL

import coilgen
from coilgen.catalogue import names, rows, templates
from coilgen.cli import main, program
from coilgen.cli.listing import KINDS
from coilgen.design.reading import LARGEST_FILE

ROOT = Path(coilgen.__file__).parent.parent
TAKES_A_DESIGN = ("check", "figures", "make")


@pytest.fixture(scope="module")
def made():
    """The small design's result in memory."""
    return coilgen.make(coilgen.read_text(SMALL))


def tree(folder):
    """Every file below a folder with its bytes."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


class TestStart:
    def test_writes_the_first_template_under_the_new_name(self, run):
        result = run("start", "blade")
        assert result.exit_code == 0
        assert "wrote blade.toml from optical-shutter; next: coilgen make blade.toml" in result.stdout
        assert Path("blade.toml").read_text().count('name = "blade"') == 1

    @pytest.mark.parametrize(
        ("template", "command"), [("latch-samples", "panel"), ("specimen-drawer-latch", "make")]
    )
    def test_the_next_command_is_what_the_template_is_for(self, run, template, command):
        """And comments that name a command name the file that is there."""
        result = run("start", "mine", "--from", template)
        assert f"; next: coilgen {command} mine.toml\n" in result.stdout
        assert re.search(r"coilgen (panel|optimize) mine\.toml", Path("mine.toml").read_text())
        assert f"{template}.toml" not in Path("mine.toml").read_text()

    @pytest.mark.parametrize("template", sorted(templates()))
    def test_every_template_starts_a_design_that_reads(self, run, template):
        assert run("start", "mine", "--from", template).exit_code == 0
        design = coilgen.read("mine.toml")
        assert design.name == "mine"
        assert design.winding == coilgen.read_text(templates()[template]).winding

    def test_an_ending_is_not_doubled(self, run):
        assert run("start", "blade.toml").exit_code == 0
        assert Path("blade.toml").is_file()

    def test_in_another_folder(self, run):
        Path("two words").mkdir()
        result = run("start", "two words/blade")
        assert "next: coilgen make 'two words/blade.toml'" in result.stdout

    def test_never_overwrites(self, run):
        Path("blade.toml").write_text("mine")
        result = run("start", "blade")
        assert result.exit_code == 2
        assert result.stderr == (
            "blade.toml exists and is left as it is; choose another name or move it away\n"
        )
        assert Path("blade.toml").read_text() == "mine"

    def test_never_writes_through_a_link(self, run):
        Path("blade.toml").symlink_to("elsewhere.toml")
        assert run("start", "blade").exit_code == 2
        assert not Path("elsewhere.toml").exists()

    @pytest.mark.parametrize(
        ("arguments", "says"),
        [
            (("blade", "--from", "optical-shuter"), 'did you mean "optical-shutter"?'),
            (("blade", "--from", "zzz"), "use one of bucking-pair, "),
            (("my blade",), '"my blade" names files; use 1 to 64 of the letters'),
            (("blade.v2",), '"blade.v2" names files'),
            (("bläde",), "names files"),
            (("b" * 65,), "names files"),
            (("",), "names files"),
            (("nowhere/blade",), "nowhere is no folder; make it first"),
        ],
    )
    def test_refuses_what_cannot_be(self, run, here, arguments, says):
        result = run("start", *arguments)
        assert result.exit_code == 2
        assert says in result.stderr
        assert len(result.stderr.splitlines()) == 1
        assert list(here.iterdir()) == []


class TestCheck:
    def test_a_clean_design(self, run, small):
        result = run("check", small)
        assert result.exit_code == 0
        assert result.stdout.splitlines()[-1] == "rules: clean"

    def test_findings_are_told_with_value_limit_layer_and_place(self, run, broken):
        result = run("check", broken)
        assert result.exit_code == 1
        lines = result.stdout.splitlines()
        head = next(k for k, line in enumerate(lines) if line.split()[:3] == ["rule", "value", "limit"])
        width = next(line for line in lines[head:] if " trace_width " in line)
        assert re.search(r"trace_width +0\.1 mm +0\.15 mm +[12] +-?\d+\.\d{3}, -?\d+\.\d{3}", width)
        assert lines[-1] == f"rules: {count(lines, head)} findings"

    def test_writes_nothing(self, run, broken, here):
        before = tree(here)
        run("check", broken)
        assert tree(here) == before


def count(lines, head):
    """Findings in the table under its head, where many that are alike share a row."""
    rows_below = (re.match(r" ?(\d+)(?: to (\d+))? {2,}[a-z]", line) for line in lines[head + 1 :])
    return sum(int(row[2] or row[1]) - int(row[1]) + 1 for row in rows_below if row is not None)


class TestFigures:
    def test_every_figure_that_applies_is_shown_with_its_meaning(self, run, small, made):
        result = run("figures", small, "--all")
        assert result.exit_code == 0
        for name, figure in made.figures.items():
            assert re.search(rf"^{name}\b.*{re.escape(figure.says)}$", result.stdout, re.MULTILINE), name

    def test_the_key_figures_come_first_on_one_screen(self, run, small, made):
        result = run("figures", small)
        assert result.exit_code == 0
        lines = result.stdout.splitlines()
        assert len(lines) < 40
        figures = made.figures
        told = [name for name in figures if re.search(rf"^{name}\b", result.stdout, re.MULTILINE)]
        assert {"resistance_20c", "inductance", "temperature"} <= set(told)
        assert re.fullmatch(
            rf"all {len(figures)} figures and \d+ notes?: coilgen figures .* --all", lines[-1]
        )

    def test_a_broken_rule_is_told_above_all_figures(self, run, broken):
        lines = run("figures", broken).stdout.splitlines()
        assert lines[0].startswith("Not to be ordered as it is: it breaks")
        assert any(line.startswith("which rules, and where: coilgen check") for line in lines)

    def test_json_has_the_keys_of_the_contract(self, run, small):
        result = run("figures", small, "--json")
        assert result.exit_code == 0
        document = json.loads(result.stdout)
        assert list(document) == ["coilgen", "name", "design", "figures", "findings", "cautions"]
        assert document["coilgen"] == coilgen.__version__
        assert document["name"] == "small"
        assert document["design"]["winding"]["trace_width"] == 0.3e-3
        for figure in document["figures"].values():
            assert set(figure) == {"value", "unit", "says", "model", "band", "contributions"}
            assert figure["band"] is None or figure["band"][0] <= figure["band"][1]

    def test_json_findings_are_in_mm(self, run, broken):
        findings = json.loads(run("figures", broken, "--json").stdout)["findings"]
        assert all(
            set(finding) == {"rule", "value", "limit", "unit", "layer", "at", "says"} for finding in findings
        )
        width = next(finding for finding in findings if finding["rule"] == "trace_width")
        assert (width["value"], width["limit"], width["unit"]) == (0.1, 0.15, "mm")

    def test_json_on_standard_output_is_the_file_that_make_writes(self, run, small):
        printed = run("figures", small, "--json").stdout_bytes
        run("make", small)
        assert printed == Path("out/small/small.json").read_bytes()

    def test_a_broken_rule_is_no_matter_here(self, run, broken):
        assert run("figures", broken).exit_code == 0


class TestMake:
    def test_writes_every_file_of_the_contract(self, run, small):
        result = run("make", small)
        assert result.exit_code == 0
        fab = ["copper-L1-top.gbr", "copper-L2-bottom.gbr", "fabrication-notes.md", "legend-top.gbr"]
        fab += [
            "soldermask-bottom.gbr",
            "soldermask-top.gbr",
            "netlist.ipc",
            "drill-plated.drl",
            "profile.gbr",
        ]
        expected = {f"fab/small-{ending}" for ending in fab} | {"fab/small.gbrjob"}
        expected |= {f"small{ending}" for ending in ("-fab.zip", ".dxf", "-polylines.dxf", "-pads.csv")}
        expected |= {"small.svg", "small.json"}
        assert expected <= set(tree(Path("out/small")))
        with zipfile.ZipFile("out/small/small-fab.zip") as bundle:
            assert {f"fab/{name}" for name in bundle.namelist()} == {
                path for path in tree(Path("out/small")) if path.startswith("fab/")
            }

    def test_files_on_disk_are_those_in_memory(self, run, small, made):
        run("make", small)
        assert tree(Path("out/small")) == dict(made.files)

    def test_says_what_was_written_for_whom(self, run, small):
        told = run("make", small).stdout
        assert "rules: clean" in told
        assert re.search(r"^\d+ files in out/small/$", told, re.MULTILINE)
        named = set(re.findall(r"small[-a-z]*\.\w+", told.split("files in")[1])) - {"small.toml"}
        assert named == {path.name for path in Path("out/small").iterdir() if path.is_file()}
        assert "All figures are estimates" in told

    def test_a_broken_rule_writes_nothing(self, run, broken, here):
        before = tree(here)
        result = run("make", broken)
        assert result.exit_code == 1
        assert "trace_width" in result.stdout
        assert result.stderr.startswith("nothing written: mend the findings")
        assert tree(here) == before

    def test_a_broken_rule_leaves_an_earlier_result(self, run, small):
        run("make", small)
        before = tree(Path("out"))
        small.write_text(SMALL.replace('"0.3 mm"', '"0.1 mm"'))
        result = run("make", small)
        assert result.exit_code == 1
        assert "out/small is left as it was" in result.stderr
        assert tree(Path("out")) == before

    def test_accepted_findings_are_written_and_told(self, run, broken):
        result = run("make", broken, "--accept-findings")
        assert result.exit_code == 0
        assert "trace_width" in result.stdout
        document = json.loads(Path("out/broken/broken.json").read_text())
        assert {finding["rule"] for finding in document["findings"]} >= {"trace_width"}
        notes = Path("out/broken/fab/broken-fabrication-notes.md").read_text()
        assert "trace_width" in notes

    @pytest.mark.parametrize(
        "more", ['[terminals]\ndistance = "2 m"\n', '[board]\noutline = "square"\nsize = "2 m"\n']
    )
    def test_a_board_of_two_metres_is_written_once_accepted(self, run, small, more):
        small.write_text(SMALL + more)
        assert run("make", small).exit_code == 1
        assert run("make", small, "--accept-findings").exit_code == 0

    def test_an_earlier_result_that_a_killed_run_left_aside_is_put_back(self, run, small):
        """Also by a run that goes on to refuse the design."""
        run("make", small)
        before = tree(Path("out"))
        Path("out/.small-delivery").mkdir()
        Path("out/small").rename("out/.small-delivery/old")
        small.write_text(SMALL.replace('"0.3 mm"', '"0.1 mm"'))
        result = run("make", small)
        assert "out/small is left as it was" in result.stderr
        assert tree(Path("out")) == before

    def test_into_another_folder(self, run, small):
        assert run("make", small, "--out", "boards/june").exit_code == 0
        assert Path("boards/june/small/small.dxf").is_file()
        assert not Path("out").exists()

    def test_a_design_named_otherwise_than_its_file_is_told(self, run, small):
        small.rename("copied.toml")
        result = run("make", "copied.toml")
        assert 'the design is named "small" in copied.toml, and so are its files' in result.stdout

    def test_fewer_layers_leave_no_stale_fabrication_file(self, run, small, made):
        four = SMALL + '[board]\nstackup = "rigid-4-layer-1.6mm"\n'
        small.write_text(four)
        run("make", small)
        assert Path("out/small/fab/small-copper-L4-bottom.gbr").is_file()
        small.write_text(SMALL)
        run("make", small)
        assert not Path("out/small/fab/small-copper-L4-bottom.gbr").exists()
        assert tree(Path("out/small")) == dict(made.files)

    def test_without_an_outline_no_fab_set_is_written_and_none_is_left(self, run, small):
        run("make", small)
        assert Path("out/small/small-fab.zip").is_file()
        small.write_text(SMALL + '[pocket]\nsize = "4 mm"\n[board]\noutline = "none"\n')
        result = run("make", small, "--accept-findings")
        assert result.exit_code == 0
        assert "no files for a fab are written" in " ".join(result.stdout.split())
        assert tree(Path("out/small")) == dict(coilgen.make(coilgen.read(small)).files)
        assert not any("fab" in path for path in tree(Path("out/small")))

    def test_refuses_a_target_that_is_a_file_before_computing(self, run, small, monkeypatch):
        monkeypatch.setattr("coilgen.job.check", lambda design: pytest.fail("computed for nothing"))
        Path("taken").write_text("mine")
        for out in ("taken", "taken/deeper"):
            result = run("make", small, "--out", out)
            assert result.exit_code == 2
            assert result.stderr == "--out: taken is a file; name a folder\n"
        assert Path("taken").read_text() == "mine"

    def test_a_folder_that_cannot_be_written_is_told(self, run, small, monkeypatch):
        """As root every folder can be written, so the system's refusal is played."""

        def refused(path, *_, **__):
            raise PermissionError(13, "Permission denied", str(path))

        monkeypatch.setattr("pathlib.Path.mkdir", refused)
        result = run("make", small)
        assert result.exit_code == 2
        assert result.stderr == f"cannot write: {Path.cwd() / 'out'}: Permission denied\n"


def first_column(line):
    """Columns stand two blanks or more apart; a name may hold one."""
    return re.split(r" {2,}", line.strip())[0]


class TestList:
    @pytest.mark.parametrize("kind", KINDS)
    def test_every_kind_is_listed_by_name(self, run, kind):
        result = run("list", kind)
        assert result.exit_code == 0
        listed = [first_column(line) for line in result.stdout.splitlines()]
        assert listed[0] == "name"
        assert len(set(listed)) == len(listed) > 1

    def test_nothing_is_left_out(self, run):
        def listed(kind):
            return [first_column(line) for line in run("list", kind).stdout.splitlines()[1:]]

        for kind in ("layout.shapes", "rules", "exports"):
            assert listed(kind.split(".")[-1]) == list(names(f"coilgen.{kind}"))
        for kind in ("stackups", "shops", "materials", "magnets", "contacts", "temperature_limits"):
            assert listed(kind) == list(rows(kind))
        assert listed("templates") == list(templates())

    def test_every_line_says_what_its_name_means(self, run):
        for kind in KINDS:
            for line in run("list", kind).stdout.splitlines():
                assert len(re.split(r" {2,}", line.strip())) >= 2, line

    def test_numbers_that_tell_rows_apart_stand_beside_their_names(self, run):
        def told(kind, name):
            lines = [re.split(r" {2,}", line.strip()) for line in run("list", kind).stdout.splitlines()]
            return dict(zip(lines[0], next(line for line in lines if line[0] == name), strict=True))

        assert told("materials", "soft iron")["sort"] == "soft-magnetic"
        assert told("magnets", "N42")["remanence, T"] == "1.28 to 1.32"
        assert told("contacts", "hand-taped")["m² K/W"] == "0.001 to 0.004"
        assert told("temperature_limits", "neodymium")["°C"] == "80"

    def test_a_kind_that_is_none(self, run):
        result = run("list", "shape")
        assert result.exit_code == 2
        assert "'shape' is not one of 'shapes', " in result.stderr


class TestSchema:
    def test_is_json(self, run):
        result = run("schema")
        assert result.exit_code == 0
        assert json.loads(result.stdout)["properties"].keys() >= {"name", "winding", "board"}


class TestHelp:
    @pytest.mark.parametrize("name", ["", *sorted(main.commands)])
    def test_every_command_has_one_example_that_parses(self, run, name):
        told = run(*name.split(), "--help").stdout
        assert told.count("Example:") == 1
        example = told.split("Example:")[1].strip()
        for command in re.split(r" && | > \S+", example):
            words = command.split()
            if words:
                assert words[0] == "coilgen"
                found = main.commands[words[1]]
                found.make_context(words[1], words[2:])

    def test_no_command_is_cut_short_in_the_list(self, run):
        told = run("--help").stdout
        assert all(re.search(rf"^  {name} ", told, re.MULTILINE) for name in main.commands)
        assert "..." not in told.split("Commands:")[1]

    def test_bare_command_shows_the_help(self, run):
        result = run()
        assert result.exit_code == 2
        assert "Commands:" in result.output

    def test_version(self, run):
        assert run("--version").stdout == f"coilgen, version {coilgen.__version__}\n"


class TestMistakes:
    """Whatever a user does wrong is one clear line for each fault, exit status 2, and no file."""

    @pytest.mark.parametrize("command", TAKES_A_DESIGN)
    @pytest.mark.parametrize(
        ("content", "says"),
        [
            (b"", "name: not given"),
            (b"name = \xff", "line 1 is not UTF-8 text"),
            (b'name = "a"\nnote = "open\n', "line 2, column 13: broken TOML"),
            (b"\x00\x01\x02", "line 1, column 1: broken TOML"),
        ],
    )
    def test_a_file_that_is_no_design(self, run, here, command, content, says):
        Path("bad.toml").write_bytes(content)
        result = run(command, "bad.toml")
        assert result.exit_code == 2
        assert says in result.stderr
        assert list(tree(here)) == ["bad.toml"]

    @pytest.mark.parametrize(
        ("old", "new", "says"),
        [
            ("turns = 3", "turns = nan", "winding.turns: nan"),
            ("turns = 3", "turns = inf", "winding.turns: inf"),
            ("turns = 3", "turns = -3", "winding.turns: -3 is outside"),
            ("turns = 3", "turns = 10000", "winding.turns: 10000 is outside what is allowed, 1 to 1000"),
            ("turns = 3", "turns = 200", "winding"),
            ('"16 mm"', '"-16 mm"', 'winding.outer_size: "-16 mm"'),
            ('"16 mm"', '"16 furlong"', "winding.outer_size: "),
            ("trace_width", "trace_widht", 'winding.trace_widht: no such key; did you mean "trace_width"?'),
            ('"round"', '"rund"', 'winding.shape: "rund"'),
            ('"small"', '"../small"', "name: "),
            ('outer_size = "16 mm"\n', "", "winding.outer_size: not given; four of "),
        ],
    )
    def test_a_value_that_cannot_be(self, run, here, old, new, says):
        Path("bad.toml").write_text(SMALL.replace(old, new))
        for command in TAKES_A_DESIGN:
            result = run(command, "bad.toml")
            assert result.exit_code == 2
            assert any(line.startswith(says) for line in result.stderr.splitlines()), result.stderr
            assert result.stdout == ""
        assert list(tree(here)) == ["bad.toml"]

    def test_all_faults_at_once(self, run, here):
        Path("bad.toml").write_text(SMALL.replace("turns = 3", "turns = 0").replace("round", "rund"))
        told = run("check", "bad.toml").stderr.splitlines()
        assert [line.split(":")[0] for line in told] == ["winding.shape", "winding.turns"]

    def test_a_folder_in_place_of_a_file(self, run, here):
        Path("designs").mkdir()
        result = run("make", "designs")
        assert (result.exit_code, result.stderr) == (
            2,
            "designs: is a folder; name the file in it\n",
        )

    def test_many_megabytes(self, run, here):
        with Path("big.toml").open("wb") as file:
            file.truncate(100 * LARGEST_FILE)
        result = run("check", "big.toml")
        assert result.exit_code == 2
        assert "big.toml: is 25.0 MB" in result.stderr

    def test_a_device(self, run):
        result = run("check", "/dev/zero")
        assert result.exit_code == 2
        assert "is not a regular file" in result.stderr

    def test_a_file_that_may_not_be_read(self, run, small, monkeypatch):
        """As root every file can be read, so the system's refusal is played."""

        def refused(path):
            raise PermissionError(13, "Permission denied", str(path))

        monkeypatch.setattr("pathlib.Path.read_bytes", refused)
        result = run("check", small)
        assert result.exit_code == 2
        assert result.stderr == "small.toml: cannot be read: permission denied; check the name\n"

    @pytest.mark.parametrize("command", ["make", "watch"])
    @pytest.mark.parametrize("given", ["small", "smal.toml", "Small.toml"])
    def test_a_name_that_is_a_little_off(self, run, small, command, given):
        result = run(command, given)
        assert result.exit_code == 2
        assert result.stderr == f"{given}: no such file; did you mean small.toml?\n"

    @pytest.mark.parametrize("command", ["check", "watch"])
    @pytest.mark.parametrize("given", ["other.toml", "nowhere/small.toml", "x" * 300, "x" * 5000, ""])
    def test_a_file_that_is_not_there(self, run, small, command, given):
        result = run(command, given)
        assert result.exit_code == 2
        assert len(result.stderr.splitlines()) == 1
        assert "write" not in result.stderr

    def test_a_name_without_end_to_start(self, run, here):
        result = run("start", "a" * 5000)
        assert result.exit_code == 2
        assert re.fullmatch('"a{60}…" names files; use 1 to 64 of the letters .*\n', result.stderr)

    @pytest.mark.parametrize("command", ["list shapes", "check small.toml", "make small.toml"])
    def test_output_that_is_closed(self, small, command):
        """As `>&-` and `2>&-` start a command: it does its work and shows nothing."""
        line = f"{shlex.quote(sys.executable)} -m coilgen {command} >&- 2>&-"
        ended = subprocess.run(line, shell=True, check=False, env={**os.environ, "PYTHONPATH": str(ROOT)})
        assert ended.returncode == 0
        assert Path("out/small/small.json").is_file() == command.startswith("make")

    def test_the_command_forgotten(self, run, small):
        result = run("small.toml")
        assert result.exit_code == 2
        assert result.stderr == "small.toml is no command; did you mean: coilgen make small.toml\n"

    @pytest.mark.parametrize(
        "arguments",
        [("mke", "small.toml"), ("make",), ("make", "a.toml", "b.toml"), ("make", "small.toml", "--force")],
    )
    def test_words_that_make_no_command(self, run, small, arguments):
        result = run(*arguments)
        assert result.exit_code == 2
        assert "Error: " in result.stderr

    def test_an_interrupt_stops_without_a_trace(self, run, small, monkeypatch):
        def interrupted(design):
            raise KeyboardInterrupt

        monkeypatch.setattr("coilgen.job.check", interrupted)
        result = run("make", small)
        assert (result.exit_code, result.stderr) == (program.STOPPED, "stopped\n")
        assert not Path("out").exists()

    def test_our_own_bug_is_not_hidden(self, run, small, monkeypatch):
        def mistaken(design):
            raise ZeroDivisionError

        monkeypatch.setattr("coilgen.job.check", mistaken)
        with pytest.raises(ZeroDivisionError):
            run("check", small)


def clear(result):
    """A verdict, or at least one line and no trace."""
    assert result.exit_code in (0, 1, 2)
    assert (result.exit_code == 2) == bool(result.stderr)
    assert "Traceback" not in result.output
    assert all(line.strip() for line in result.stderr.splitlines())


def checked(tmp_path, content):
    path = tmp_path / "any.toml"
    path.write_bytes(content)
    return CliRunner().invoke(main, ["check", str(path)], catch_exceptions=False)


quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


class TestAnything:
    @quick
    @given(st.binary(max_size=400))
    def test_any_bytes(self, tmp_path, content):
        clear(checked(tmp_path, content))

    @quick
    @given(place=st.integers(0, len(SMALL) - 1), junk=st.text(max_size=6))
    def test_a_slip_anywhere(self, tmp_path, place, junk):
        text = SMALL[:place] + junk + SMALL[place + 1 :]
        clear(checked(tmp_path, text.encode("utf-8", "surrogatepass")))

    @quick
    @given(
        st.dictionaries(
            st.sampled_from(["turns", "layers", "trace_width", "trace_spacing", "outer_size", "inner_size"]),
            st.integers() | st.floats() | st.sampled_from(['"1 mm"', "[]", "true", '"0.2"', "1979-05-27"]),
            max_size=6,
        ),
        st.sampled_from(["round", "square", "hexagonal", "octagonal"]),
    )
    def test_any_numbers(self, tmp_path, numbers, shape):
        lines = [f"{key} = {value}" for key, value in numbers.items()]
        text = f'name = "any"\n[winding]\nshape = "{shape}"\n' + "\n".join(lines)
        clear(checked(tmp_path, text.encode()))

    @quick
    @given(
        turns=st.floats(1, 60).map(lambda value: round(value, 2)),
        layers=st.integers(1, 8),
        width=st.floats(0.05, 3),
        spacing=st.floats(0.05, 3),
        inner=st.floats(0.1, 40),
        shape=st.sampled_from(["round", "square", "hexagonal", "octagonal"]),
        pocket=st.floats(0.1, 30),
        kind=st.sampled_from(["plated-hole", "surface-pad"]),
    )
    def test_any_plausible_design(self, tmp_path, turns, layers, width, spacing, inner, shape, pocket, kind):
        text = (
            f'name = "any"\n[winding]\nshape = "{shape}"\nlayers = {layers}\nturns = {turns}\n'
            f"trace_width = {width}\ntrace_spacing = {spacing}\ninner_size = {inner}\n"
            f'[pocket]\nsize = {pocket}\n[terminals]\nkind = "{kind}"\n'
        )
        clear(checked(tmp_path, text.encode()))
