"""The README: its pictures and numbers are what the program makes, and its design files read."""

import re
import subprocess
import sys
from pathlib import Path

import pytest
from designs import SHAPES
from readme_pictures import FOLDER, example, pictures, shape_row

from coilgen.catalogue import templates
from coilgen.cli.listing import KINDS
from coilgen.design.design import Design
from coilgen.design.reading import json_schema, read_text
from coilgen.study.bench.bench import bench
from coilgen.study.bench.form import form_of_csv
from coilgen.study.bench.text import better_rows, cause_rows, reading_rows

HERE = Path(__file__).parent.parent
README = (HERE / "README.md").read_text(encoding="utf-8")
WHOLE, MORE = re.findall(r"^```toml\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)[:2]
TABLES = re.findall(r"^\[.+?(?=^\[|\Z)", MORE, re.MULTILINE | re.DOTALL)
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def test_every_shape_stands_in_the_table_with_what_its_size_measures() -> None:
    told = [line for line in README.split("\n") if "pictures/shape-" in line]
    assert told == [shape_row(shape) for shape in SHAPES]


@pytest.fixture(scope="module")
def drawn() -> dict[str, bytes]:
    """The README's pictures by their names."""
    return pictures()


@pytest.mark.parametrize("name", sorted(path.name for path in FOLDER.iterdir()))
def test_each_picture_is_what_the_program_draws(name: str, drawn: dict[str, bytes]) -> None:
    """To a tenth of a unit of the picture, as the last digits of a solver differ between machines."""
    kept, made = (FOLDER / name).read_text(encoding="utf-8"), drawn[name].decode()
    assert NUMBER.sub("#", kept) == NUMBER.sub("#", made)
    numbers = [[float(found) for found in NUMBER.findall(text)] for text in (kept, made)]
    assert numbers[0] == pytest.approx(numbers[1], abs=0.15)


def test_the_example_tells_what_the_program_computes() -> None:
    assert "\n".join(example()) in README


def test_its_design_file_reads() -> None:
    assert read_text(WHOLE).name == "optical-shutter"


@pytest.mark.parametrize("table", TABLES)
def test_each_further_table_reads_beside_it(table: str) -> None:
    assert isinstance(read_text(f"{WHOLE}\n{table}"), Design)


def test_so_does_what_is_commented_out() -> None:
    (core,) = (table for table in TABLES if table.startswith("[[core]]"))
    others = re.findall(r"^# (material = .*)$", core, re.MULTILINE)
    assert len(others) == 2
    for other in others:
        assert read_text(f"{WHOLE}\n{re.sub('^material = .*$', other, core, flags=re.MULTILINE)}").core
    lines = re.findall(r"^# ((?:offset|contact_resistance|forced_convection) = .*)$", WHOLE, re.MULTILINE)
    assert len(lines) == 3
    own = WHOLE.replace('contact = "thin-tape"', "").replace("# contact_res", "contact_res")
    mounting = read_text(own.replace("# forced", "forced").replace("# offset", "offset")).mounting
    assert (mounting.forced_convection, mounting.contact_resistance) == (25.0, (2e-4, 5e-4, 1e-3))


def test_every_key_of_what_stands_at_the_coil_is_told() -> None:
    tables = json_schema()["$defs"]
    for name in ("Core", "Magnet", "Target", "Mounting", "BasePlate", "Drive", "Order"):
        for key in tables[name]["properties"]:
            assert re.search(rf"\b{key}\b", WHOLE + MORE), f"{name}.{key}"


def test_every_kind_that_can_be_listed_is_told() -> None:
    assert all(re.search(rf"\b{kind}\b", README) for kind in KINDS)


@pytest.mark.slow
def test_its_python_runs() -> None:
    """In a process of its own, in the folder of the README."""
    (code,) = re.findall(r"^```python\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=HERE, timeout=600
    )
    assert run.returncode == 0, run.stderr
    assert run.stdout.splitlines()[-1].startswith("True ")


@pytest.mark.slow
def test_its_bench_finds_what_is_told() -> None:
    """Every number of the excerpt stands in the row of the reading, the cause or the figure."""
    form, excerpt = (
        re.search(rf"^```\n({begin}.*?)^```$", README, re.MULTILINE | re.DOTALL)[1]
        for begin in ("sample,figure", "A1  ")
    )
    found = bench(form_of_csv(form).readings, read_text(templates()["optical-shutter"]))
    rows = {f"{row[0]} {row[1].partition(' ')[0]}": row for row in reading_rows(found)}
    rows |= {row[0]: row for row in cause_rows(found)}
    rows |= {f"boards to come: {row[0]}": row for row in better_rows(found)}
    lines = [" ".join(line.split()) for line in excerpt.split("\n") if NUMBER.search(line)]
    for line in lines:
        (name,) = [name for name in rows if line.startswith(name)]
        known = [float(number) for number in NUMBER.findall(" ".join(rows[name]))]
        for number in NUMBER.findall(line.removeprefix(name)):
            near = 0.5 if "." not in number else 0.06
            assert any(abs(float(number) - other) <= near for other in known), (line, number)
    assert len(lines) == 6
