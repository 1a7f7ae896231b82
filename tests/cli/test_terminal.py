"""On a terminal: rules, wrapped text, colours unless unwanted, a line for a long step. Elsewhere: none."""

import os
import re
import subprocess
import sys

import pytest
from pseudo_terminal import CONTROL, on_terminal
from small_design import SMALL

from coilgen.cli.terminal import show_table, show_text

COLOUR = re.compile(r"\x1b\[(?:\d+;)*(?:3\d|9\d)(?:;\d+)*m")

SHOW = """
from coilgen.cli.terminal import show_table, show_text
show_table(("name", "value", "what"), [("[group]", "", ""), ("width", "0.15 mm", "narrowest trace " * 9)])
show_text("one word after another " * 6, label="note:", style="yellow")
show_text("the end", style="bold")
"""


class TestOnATerminal:
    @pytest.mark.parametrize("columns", [40, 80, 120])
    def test_no_line_is_wider_than_the_terminal(self, columns):
        lines = CONTROL.sub("", on_terminal(SHOW, columns)).splitlines()
        assert max(map(len, lines)) <= columns
        assert any(set(line) == {"─"} for line in lines)

    def test_names_stay_whole(self):
        code = (
            "from coilgen.cli.terminal import show_table\n"
            "row = ('core_inductance_small_signal', '1.5 mH', '1.2 to 1.8 mH', 'inductance ' * 9)\n"
            "show_table(('figure', 'value', 'band', 'what'), [row])"
        )
        assert "core_inductance_small_signal " in CONTROL.sub("", on_terminal(code, 60))

    def test_names_of_several_words_stay_on_one_line_while_there_is_room_below(self):
        """Of a comparison: its columns go on in tables under one another."""
        code = (
            "from coilgen.cli.terminal import show_table\n"
            "heads = ('variant\\n\\n', *(f'B{k}\\nfront\\nmT' for k in range(9)))\n"
            "names = ('as designed', 'rods of 2 mm in all coils', 'three turns of thin trace, clockwise')\n"
            "show_table(heads, [(name, *['0.123*'] * 9) for name in names])"
        )
        lines = CONTROL.sub("", on_terminal(code, 60)).splitlines()
        for name in ("as designed", "rods of 2 mm in all coils", "three turns of thin trace, clockwise"):
            assert sum(line.startswith(f"{name} ") for line in lines) == 3
        assert max(map(len, lines)) <= 60

    @pytest.mark.parametrize("columns", [40, 60])
    def test_nothing_of_a_table_is_cut_off(self, columns):
        """Of the causes of a band a narrow terminal showed the first letters."""
        cells = (
            "winding_resistances",
            "2.32 to 4.46 mA·m²",
            "1.31 to 1.79 mA·m²",
            "copper thickness, trace width",
        )
        code = (
            "from coilgen.cli.terminal import show_table\n"
            f"show_table(('figure', 'value', 'band', 'mostly from'), [{cells!r}])"
        )
        told = CONTROL.sub("", on_terminal(code, columns))
        assert {word for cell in cells for word in cell.split()} <= set(told.split())
        assert max(map(len, told.splitlines())) <= columns

    def test_a_table_of_many_columns_goes_on_below(self):
        """A comparison: its names stood upright, a letter in each line."""
        heads = ("variant", *(f"figure{k}" for k in range(9)))
        cells = ("a name of four words", *(f"{k}.25*" for k in range(9)))
        code = f"from coilgen.cli.terminal import show_table\nshow_table({heads!r}, [{cells!r}])"
        told = CONTROL.sub("", on_terminal(code, 60))
        assert {word for cell in (*heads, *cells) for word in cell.split()} <= set(told.split())
        assert told.count("variant") == told.count("a name of four words") == 3
        assert max(map(len, told.splitlines())) <= 60

    def test_text_hangs_beside_its_label(self):
        lines = CONTROL.sub("", on_terminal(SHOW, 60)).splitlines()
        first = next(k for k, line in enumerate(lines) if line.startswith("note: "))
        assert re.match(r" {6}\w", lines[first + 1])

    def test_colour_is_there_and_goes_when_unwanted(self):
        assert COLOUR.search(on_terminal(SHOW))
        assert not COLOUR.search(on_terminal(SHOW, NO_COLOR="1"))
        assert not CONTROL.search(on_terminal(SHOW, TERM="dumb"))

    def test_text_is_never_taken_for_markup(self):
        code = (
            "from coilgen.cli.terminal import show_table, show_text\n"
            "show_text('[red]x[/red] :warning:', label='[b]')\n"
            "show_table(('a', 'b'), [('1', '[/red] :smile:')])"
        )
        told = CONTROL.sub("", on_terminal(code))
        assert "[b] [red]x[/red] :warning:" in told
        assert "[/red] :smile:" in told


STEP = """
import time
from coilgen.cli import terminal
terminal.PATIENCE = 0.05
with terminal.step("computing figures"):
    time.sleep({seconds})
print("done")
"""


class TestStep:
    def test_a_long_step_says_so_and_clears_its_line(self):
        told = on_terminal(STEP.format(seconds=0.4))
        assert "computing figures" in told
        assert told.index("computing figures") < told.index("\x1b[2K") < told.index("done")

    def test_a_short_step_says_nothing(self):
        assert on_terminal(STEP.format(seconds=0)) == "done\n"

    def test_how_far_a_long_step_has_come_is_told(self):
        code = STEP.format(seconds=0.4).replace(":\n    time", " as far:\n    far('3 of 9')\n    time")
        assert "computing figures, 3 of 9 …" in on_terminal(code)
        ended = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
        assert (ended.stdout, ended.stderr) == (b"done\n", b"")

    def test_a_failing_step_clears_its_line_too(self):
        code = STEP.format(seconds=0.4).replace("print", "    raise SystemExit\nprint")
        told = on_terminal(code)
        assert told.rindex("computing figures") < told.rindex("\x1b[2K")

    def test_nothing_but_the_program_is_said_elsewhere(self):
        program = [sys.executable, "-c", STEP.format(seconds=0.3)]
        ended = subprocess.run(program, capture_output=True, check=True)
        assert (ended.stdout, ended.stderr) == (b"done\n", b"")


class TestElsewhere:
    def test_columns_are_aligned_and_nothing_is_wrapped(self, capsys):
        show_table(("name", "what"), [("a", "x " * 200), ("longer", "y")])
        lines = capsys.readouterr().out.splitlines()
        assert lines == ["name    what", f"a       {'x ' * 200}".rstrip(), "longer  y"]

    def test_heads_of_several_lines(self, capsys):
        show_table(("name\n", "B front\nmT"), [("bare", "1.10")])
        assert capsys.readouterr().out.splitlines() == ["name  B front", "      mT", "bare  1.10"]

    def test_a_label_stands_before_its_text(self, capsys):
        show_text("word " * 60, label="note:", style="yellow")
        show_text("end", style="bold")
        assert capsys.readouterr().out == f"note: {'word ' * 60}\nend\n"

    def test_a_command_writes_no_control_letters_to_a_pipe(self, tmp_path):
        (tmp_path / "small.toml").write_text(SMALL)
        program = [sys.executable, "-m", "coilgen", "figures", "small.toml"]
        forced = {**os.environ, "TERM": "xterm-256color"}
        ended = subprocess.run(program, cwd=tmp_path, capture_output=True, check=True, env=forced)
        assert b"\x1b" not in ended.stdout + ended.stderr

    @pytest.mark.parametrize("closed", [">&-", "2>&-"])
    def test_a_closed_stream_is_no_fault(self, tmp_path, closed):
        (tmp_path / "small.toml").write_text(SMALL)
        line = f"exec '{sys.executable}' -m coilgen check small.toml {closed}"
        ended = subprocess.run(["sh", "-c", line], cwd=tmp_path, capture_output=True)
        assert (ended.returncode, ended.stderr) == (0, b"")


class TestCommandsOnATerminal:
    @pytest.mark.parametrize("columns", [80, 120])
    def test_make_fits(self, tmp_path, columns):
        (tmp_path / "small.toml").write_text(SMALL)
        code = (
            f"import os, sys; os.chdir({str(tmp_path)!r}); sys.argv[1:] = ['make', 'small.toml']\n"
            "from coilgen.cli import main; main()"
        )
        lines = CONTROL.sub("", on_terminal(code, columns)).splitlines()
        assert "rules: clean" in lines
        assert max(map(len, lines)) <= columns
