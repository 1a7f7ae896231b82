"""Packages that are loaded when they are asked for something."""

import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from small_design import SMALL

from coilgen.cli.deferred import defer


@pytest.fixture
def inner(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """Name of a package within a loaded one; loading it leaves a file."""
    name = f"outer_{tmp_path.name}"
    package = tmp_path / name / "inner"
    package.mkdir(parents=True)
    (tmp_path / name / "__init__.py").write_text("")
    loads = f"from pathlib import Path\nPath({str(tmp_path / 'loaded')!r}).touch()\n"
    (package / "__init__.py").write_text(f"{loads}\nlevel = 3\n\ndef twice(x):\n    return 2 * x\n")
    (package / "part.py").write_text("size = 4\n")
    monkeypatch.syspath_prepend(tmp_path)
    import_module(name)
    return f"{name}.inner"


def test_a_deferred_package_is_loaded_when_it_is_asked_for_something(inner: str, tmp_path: Path) -> None:
    defer(inner, "twice")
    stand_in, twice = import_module(inner), import_module(inner).twice
    assert sys.modules[inner.partition(".")[0]].inner is stand_in
    assert not (tmp_path / "loaded").exists()
    assert twice(4) == 8
    assert (tmp_path / "loaded").exists()
    assert stand_in.level == 3
    assert import_module(inner) is not stand_in
    assert sys.modules[inner.partition(".")[0]].inner is import_module(inner)
    defer(inner)
    assert import_module(inner).level == 3


def test_parts_of_a_deferred_package_are_found(inner: str) -> None:
    defer(inner)
    assert import_module(f"{inner}.part").size == 4
    assert import_module(inner).level == 3
    with pytest.raises(AttributeError, match="depth"):
        _ = import_module(inner).depth


def test_a_module_by_itself_may_be_deferred_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    name = f"alone_{tmp_path.name}"
    (tmp_path / f"{name}.py").write_text("level = 3\n")
    monkeypatch.syspath_prepend(tmp_path)
    defer(name)
    stand_in = import_module(name)
    assert "level" not in vars(stand_in)
    assert stand_in.level == 3
    assert "level" in vars(import_module(name))


def test_figures_by_scipy_load_no_tools_of_numpy(tmp_path: Path) -> None:
    (tmp_path / "small.toml").write_text(
        SMALL + '[mounting.base_plate]\nshape = "round"\ndiameter = 20\nthickness = 1\n'
    )
    told = (
        "import sys, atexit\n"
        "from coilgen.cli import main\n"
        "atexit.register(lambda: print(*sorted(sys.modules), file=sys.stderr))\n"
        "main()\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", told, "figures", "small.toml"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = set(ran.stderr.split())
    assert "scipy.sparse.linalg" in loaded
    assert not loaded & {"numpy.f2py.crackfortran", "unittest"}
