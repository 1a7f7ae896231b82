"""A folder of its own for every test of the command line, and a way to run a command in it."""

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from small_design import SMALL

from coilgen.cli import main

Run = Callable[..., Result]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def small(here: Path) -> Path:
    """The small design in the working folder."""
    path = Path("small.toml")
    path.write_text(SMALL)
    return path


@pytest.fixture
def broken(here: Path) -> Path:
    """A design that reads well and breaks a rule of its shop."""
    path = Path("broken.toml")
    path.write_text(SMALL.replace('"small"', '"broken"').replace('"0.3 mm"', '"0.1 mm"'))
    return path


@pytest.fixture
def run(here: Path) -> Run:
    """Runs a command in this process: an exception that is no exit is a bug and is raised."""

    def invoke(*arguments: object) -> Result:
        return CliRunner().invoke(main, [str(argument) for argument in arguments], catch_exceptions=False)

    return invoke
