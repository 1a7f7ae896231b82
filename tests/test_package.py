"""The package as others use it: from Python, as a module, as a command, from a wheel."""

import os
import re
import shutil
import subprocess
import sys
import sysconfig
import tomllib
import venv
import zipfile
from importlib.metadata import entry_points
from pathlib import Path

import pytest
from drawing import draw
from drawn_keys import KEYS
from refusal_laws import known_keys
from small_design import SMALL

import coilgen
from coilgen.catalogue import templates

ROOT = Path(coilgen.__file__).parent.parent


def told(*command, **options):
    """Standard output of a program that must succeed."""
    ended = subprocess.run(command, capture_output=True, check=False, text=True, **options)
    assert ended.returncode == 0, ended.stderr
    return ended.stdout


def _tree(text):
    """Paths below coilgen/ that the developers' guide draws as a tree, in its order."""
    drawn = re.search(r"^coilgen/\n(.*?)^```", text, re.MULTILINE | re.DOTALL).group(1)
    paths, above = [], {}
    for indent, name in re.findall(r"^( +)([a-z_]+(?:/|\.py)) +\S", drawn, re.MULTILINE):
        depth = len(indent) // 2
        above[depth] = name.rstrip("/")
        paths.append("/".join(above[each] for each in range(1, depth + 1)))
    return paths


def test_developers_are_told_what_every_room_holds():
    """Every folder and every module beside them, once, in the order of the layers that are held."""
    drawn = _tree((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    package = ROOT / "coilgen"
    folders = {str(path.parent.relative_to(package)) for path in package.rglob("__init__.py")} | {"data"}
    rooms = {folder for folder in folders if folder != "." and "/_" not in folder}
    modules = {path.name for path in package.glob("*.py")} - {"__init__.py", "__main__.py"}
    assert sorted(drawn) == sorted(rooms | modules)
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    layers = project["tool"]["importlinter"]["contracts"][0]["layers"]
    level = {name: at for at, layer in enumerate(layers) for name in re.findall(r"\w+", layer)}
    levels = [level[path.removesuffix(".py")] for path in drawn if "/" not in path and path != "data"]
    assert levels == sorted(levels)


def test_only_a_few_modules_stand_beside_the_rooms():
    beside = {path.stem for path in (ROOT / "coilgen").glob("*.py")}
    assert beside == {"__init__", "__main__", "job", "units", "catalogue", "errors", "frozen", "processors"}


@pytest.mark.skipif(not ((ROOT / ".git").exists() and shutil.which("git")), reason="not a checkout")
def test_nothing_stray_is_kept():
    """Beside files with a dot; links would point into one machine."""
    kept = told("git", "-c", "safe.directory=*", "ls-files", "-s", cwd=ROOT).splitlines()
    top = {line.split("\t")[1].split("/")[0] for line in kept}
    assert {name for name in top if not name.startswith(".")} <= {
        *("README.md", "DEVELOPERS.md", "pyproject.toml"),
        *("coilgen", "tests", "templates", "out"),
    }
    assert not [line for line in kept if line.startswith("120000")]


class TestInterface:
    def test_from_file_to_files(self, tmp_path):
        path = tmp_path / "small.toml"
        path.write_text(SMALL)
        design = coilgen.read(path)
        assert isinstance(design, coilgen.Design)
        result = coilgen.make(design)
        assert isinstance(result, coilgen.Result)
        assert result.design == design
        assert result.findings == ()
        assert result.figures["turns_total"].value == 6
        assert all(isinstance(content, bytes) for content in result.files.values())
        assert "small-fab.zip" in result.files

    def test_text_and_file_are_the_same_design(self, tmp_path):
        path = tmp_path / "small.toml"
        path.write_text(SMALL)
        assert coilgen.read(path) == coilgen.read_text(SMALL)

    def test_faults_are_raised_as_one_error(self):
        with pytest.raises(coilgen.DesignError) as caught:
            coilgen.read_text(SMALL.replace("turns = 3", "turns = 0").replace("round", "rund"))
        assert [fault.key for fault in caught.value.faults] == ["winding.shape", "winding.turns"]

    def test_all_that_is_announced_is_there(self):
        for name in coilgen.__all__:
            assert getattr(coilgen, name) is not None

    def test_a_name_that_is_not_there_is_refused_as_usual(self):
        with pytest.raises(AttributeError, match="module 'coilgen' has no attribute 'windings'"):
            coilgen.windings  # noqa: B018 - the attribute's absence is the test

    def test_the_version_is_the_project_s(self):
        project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
        assert coilgen.__version__ == project["version"]

    def test_is_typed(self):
        assert (Path(coilgen.__file__).parent / "py.typed").is_file()

    @pytest.mark.slow
    def test_types_are_seen_from_outside(self, tmp_path):
        """A caller's mistake is found by mypy: the public names are typed, though imported late."""
        caller = tmp_path / "caller.py"
        caller.write_text("import coilgen\nreveal_type(coilgen.make(coilgen.read('a.toml')))\n")
        shown = told(sys.executable, "-m", "mypy", "--cache-dir", str(tmp_path / "cache"), str(caller))
        assert 'Revealed type is "coilgen.result.result.Result"' in shown


class TestStart:
    def test_as_a_module_and_as_a_command(self):
        command = Path(sysconfig.get_path("scripts"), "coilgen")
        assert told(sys.executable, "-m", "coilgen", "--help") == told(command, "--help")

    def test_the_command_is_announced(self):
        (script,) = entry_points(group="console_scripts", name="coilgen")
        assert script.value == "coilgen.cli:main"

    def test_help_imports_nothing_heavy(self):
        """What takes long to import is imported where it is needed."""
        heavy = "numpy scipy shapely ezdxf gerber_writer pydantic rich numba matplotlib jinja2 magpylib"
        code = (
            "import sys; from coilgen.cli import main; main(['--help'], standalone_mode=False); "
            f"print('imported:', sorted(set({heavy.split()!r}) & set(sys.modules)))"
        )
        assert told(sys.executable, "-c", code).splitlines()[-1] == "imported: []"

    def test_a_check_imports_nothing_that_figures_files_or_large_boards_alone_need(self, tmp_path):
        (tmp_path / "small.toml").write_text(SMALL)
        heavy = "numpy.ma scipy shapely ezdxf gerber_writer rich numba coilgen.result.figure"
        code = (
            "import sys; from coilgen.cli import main; from click.testing import CliRunner; "
            "print(CliRunner().invoke(main, ['check', 'small.toml']).output); "
            f"print('imported:', sorted(set({heavy.split()!r}) & set(sys.modules)))"
        )
        shown = told(sys.executable, "-c", code, cwd=tmp_path).splitlines()
        assert "rules: clean" in shown
        assert shown[-1] == "imported: []"

    def test_importing_the_package_imports_nothing_heavy(self):
        code = "import sys, coilgen; print('numpy' in sys.modules or 'pydantic' in sys.modules)"
        assert told(sys.executable, "-c", code) == "False\n"

    def test_works_where_output_is_not_utf_8(self, tmp_path):
        (tmp_path / "small.toml").write_text(SMALL)
        plain = {**os.environ, "PYTHONIOENCODING": "ascii"}
        command = (sys.executable, "-m", "coilgen", "figures", "small.toml")
        assert "resistance_20c" in told(*command, cwd=tmp_path, env=plain)
        assert '"unit": "ohm"' in told(*command, "--json", cwd=tmp_path, env=plain)

    def test_a_reader_that_leaves_early_gets_no_trace(self):
        program = subprocess.Popen(
            [sys.executable, "-m", "coilgen", "schema"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
        )
        program.stdout.close()
        assert program.stderr.read() == b""
        program.stderr.close()
        program.wait()

    def test_a_full_disk_behind_a_redirect_is_told(self):
        with Path("/dev/full").open("wb") as full:
            ended = subprocess.run(
                [sys.executable, "-m", "coilgen", "schema"], stdout=full, stderr=subprocess.PIPE, check=False
            )
        assert ended.returncode != 0
        assert b"Traceback" not in ended.stderr


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """A wheel built from a copy of the sources."""
    source, built = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("built")
    ignored = shutil.ignore_patterns(".*", "__pycache__", "out", "tests")
    shutil.copytree(ROOT, source / "coilgen", ignore=ignored)
    told(sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", built, source / "coilgen")
    (found,) = built.glob("*.whl")
    return found


@pytest.mark.slow
class TestWheel:
    def test_holds_code_data_templates_and_types(self, wheel):
        held = zipfile.ZipFile(wheel).namelist()
        assert {f"coilgen/templates/{name}.toml" for name in templates()} <= set(held)
        assert {"coilgen/py.typed", "coilgen/data/shops.toml", "coilgen/cli/commands.py"} <= set(held)
        assert not [path for path in held if path.startswith("tests") or "__pycache__" in path]

    def test_starts_and_makes_a_design_wherever_it_is_installed(self, wheel, tmp_path):
        venv.create(tmp_path / "venv", with_pip=True, system_site_packages=False)
        python = tmp_path / "venv" / "bin" / "python"
        told(python, "-m", "pip", "install", "-q", wheel)
        told(python, "-m", "coilgen", "start", "blade", cwd=tmp_path)
        shown = told(python, "-m", "coilgen", "make", "blade.toml", cwd=tmp_path)
        assert "rules: clean" in shown
        assert (tmp_path / "out" / "blade" / "blade-fab.zip").is_file()


def test_every_key_of_the_design_file_is_drawn_in_random_designs():
    """A new key needs a line in `random_designs/drawn_keys.py` that tells how it is drawn.

    A calibration is a file of its own, which random designs have none of: tests of the bench read one.
    """
    drawn = {"calibration", *(key.path for key in KEYS)}
    assert sorted(known_keys() - drawn) == []
    assert sorted(drawn - known_keys()) == []


def test_a_seed_always_draws_the_same_design():
    assert draw(KEYS, 7) == draw(KEYS, 7) != draw(KEYS, 8)


def test_a_relative_tolerance_of_a_test_is_all_that_it_allows():
    """Of picofarads too, which the checker's own 1e-12 would swallow."""
    assert pytest.approx(1.0e-12, rel=0.1) != 1.2e-12
    assert pytest.approx([1.0e-12], rel=0.1) != [1.2e-12]
    assert pytest.approx(0.0) == 1e-13
