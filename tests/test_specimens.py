"""What specimens tell of themselves: none without its files, its README row, its test."""

import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import cast

import pytest

from coilgen.catalogue import specimens
from coilgen.result.export import READERS, Export
from coilgen.result.figure import Quantity
from coilgen.result.figure_text import GROUPS
from coilgen.result.result import Result
from coilgen.result.rule import Rule

TESTS = Path(__file__).parent
README = (TESTS.parent / "README.md").read_text(encoding="utf-8")
EXPORTS = cast(Mapping[str, Export], specimens("coilgen.exports", "EXPORT"))
RULES = cast(Mapping[str, Rule], specimens("coilgen.rules", "RULE"))
FAMILIES = cast(Mapping[str, tuple[Quantity, ...]], specimens("coilgen.figures", "FIGURES"))
ROOMS = {"rules": RULES, "exports": EXPORTS, "layout/shapes": specimens("coilgen.layout.shapes", "SHAPE")}


def texts_of(room: str) -> Iterator[str]:
    """Texts of the tests of a room, and of the laws that run over all of its specimens."""
    for path in (TESTS / room.partition("/")[0]).rglob("*.py"):
        yield path.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def made(whole: Callable[[str], Result]) -> Result:
    """The template that has most of what may be written."""
    return whole("optical-shutter")


@pytest.mark.parametrize("name", EXPORTS)
def test_an_export_writes_what_it_tells_and_nothing_else(name: str, made: Result) -> None:
    export = EXPORTS[name]
    paths = export.files(made)
    assert all(export.writes(path, made.design.name) for path in paths)
    others = [each for each in EXPORTS.values() if each is not export]
    assert not any(each.writes(path, made.design.name) for path in paths for each in others)


@pytest.mark.parametrize("name", EXPORTS)
def test_readme_tells_each_export(name: str) -> None:
    export = EXPORTS[name]
    files = ", ".join(f"`{path}`" for path in export.paths)
    assert f"| {files} | {export.says} | {READERS[export.reader].removeprefix('for ')} |" in README


@pytest.mark.parametrize("name", RULES)
def test_readme_tells_each_rule(name: str) -> None:
    assert f"| `{name}` | {RULES[name].says} |" in README


@pytest.mark.parametrize(("room", "name"), [(room, name) for room, found in ROOMS.items() for name in found])
def test_each_has_a_test_that_names_it(room: str, name: str) -> None:
    """By its module or in a string; shapes by the laws that run over all of them."""
    if room == "layout/shapes":
        assert any(re.search(r"SHAPES|\"SHAPE\"", text) for text in texts_of(room))
        return
    assert any(re.search(rf"\b{name}\b", text) for text in texts_of(room))


@pytest.mark.parametrize("quantity", [each for family in FAMILIES.values() for each in family])
def test_each_figure_has_a_place_and_a_test(quantity: Quantity) -> None:
    assert quantity.group in GROUPS
    assert quantity.says
    assert any(quantity.name in text for room in ("figures", "layout") for text in texts_of(room))
