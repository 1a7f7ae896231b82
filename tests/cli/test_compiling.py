"""Compiled code: the one run that makes it says so, where a design needs it and somebody reads along."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from pseudo_terminal import CONTROL, on_terminal
from small_design import SMALL

from coilgen.cli import compiling, main
from coilgen.cli.compiling import NOTICE

CORE = '[[core]]\nform = "disc"\ndiameter = 6\nthickness = 1\n'
TARGET = "[target]\nwidth = 4\nthickness = 1\ngap = 3\n"
MAGNET = '[magnet]\ndiameter = 3\nthickness = 1\ngap = 1\ngrade = "N42"\n'
VARIANT = '[[variant]]\nname = "bare"\nwithout = ["core"]\n'
ASK = """
from pathlib import Path
from coilgen.cli.compiling import announce_compilation
from coilgen.design.reading import read_text
announce_compilation(*(read_text(text) for text in {texts!r}))
"""


def told(cache, *more):
    """What is said of the small design with more tables, each a design of its own."""
    texts = [SMALL + each for each in more]
    return on_terminal(ASK.format(texts=texts), NUMBA_CACHE_DIR=str(cache))


def run(folder, cache, *command):
    """What a command writes to a terminal, without control letters."""
    code = (
        "import os, sys\n"
        "if __name__ == '__main__':\n"
        f"    os.chdir({str(folder)!r}); sys.argv[1:] = {list(command)!r}\n"
        "    from coilgen.cli import main\n"
        "    main()"
    )
    return CONTROL.sub("", on_terminal(code, NUMBA_CACHE_DIR=str(cache)))


class TestAnnouncement:
    @pytest.mark.parametrize("more", [("", MAGNET)])
    def test_nothing_for_coils_and_magnets(self, tmp_path, more):
        assert told(tmp_path, *more) == ""

    @pytest.mark.parametrize("more", [("", CORE), (TARGET,)])
    def test_a_line_for_cores_and_targets(self, tmp_path, more):
        assert told(tmp_path, *more) == f"{NOTICE}\n"

    def test_nothing_where_nobody_reads_along(self, tmp_path):
        program = [sys.executable, "-c", ASK.format(texts=[SMALL + CORE])]
        fresh = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
        ended = subprocess.run(program, capture_output=True, check=True, env=fresh)
        assert (ended.stdout, ended.stderr) == (b"", b"")


class ToldError(Exception):
    """Ends a command when it says so, before it computes."""


@pytest.mark.parametrize("command", ["figures", "make", "compare", "watch"])
def test_commands_that_compute_say_so_before(here, monkeypatch, command):
    def tell(text):
        assert text == NOTICE
        raise ToldError

    monkeypatch.setattr(compiling, "_due", lambda: True)
    monkeypatch.setattr(compiling, "show_notice", tell)
    Path("design.toml").write_text(SMALL + CORE + VARIANT)
    with pytest.raises(ToldError):
        CliRunner().invoke(main, [command, "design.toml"], catch_exceptions=False)


@pytest.mark.slow
def test_only_the_first_run_says_so(tmp_path):
    (tmp_path / "design.toml").write_text(SMALL + CORE + VARIANT)
    first, second = (run(tmp_path, tmp_path / "cache", "compare", "design.toml") for _ in range(2))
    assert first.count(NOTICE) == 1
    assert NOTICE not in second
