"""What there is: specimens bear their file's name, data rows have a source, suggestions are near."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen import catalogue
from coilgen.catalogue import names, nearest, rows, specimens, unknown


def test_specimens_are_in_order_and_bear_their_files_names():
    shapes = specimens("coilgen.layout.shapes", "SHAPE")
    assert list(shapes) == sorted(shapes) == list(names("coilgen.layout.shapes"))
    assert {"round", "square", "hexagonal"} <= set(shapes)
    for name, shape in shapes.items():
        assert shape.name == name


def test_specimens_are_found_without_a_list(tmp_path, monkeypatch):
    package = tmp_path / "menagerie"
    package.mkdir()
    (package / "zebra.py").write_text("ANIMAL = 'striped'")
    (package / "ape.py").write_text("ANIMAL = 'hairy'")
    (package / "_shared.py").write_text("raise AssertionError('not a specimen')")
    monkeypatch.syspath_prepend(str(tmp_path))
    assert dict(specimens("menagerie", "ANIMAL")) == {"ape": "hairy", "zebra": "striped"}
    with pytest.raises(AttributeError):
        specimens("menagerie", "PLANT")


@pytest.mark.parametrize("kind", ["stackups", "shops", "materials", "magnets"])
def test_every_row_says_what_it_is_and_where_its_numbers_come_from(kind):
    assert rows(kind)
    for row in rows(kind).values():
        assert row["says"]
        known = ("practice", "from memory", "EN 12524", "IEC 60028")
        assert any(word in row["source"] for word in known)


def test_rows_cannot_be_changed():
    with pytest.raises(TypeError):
        rows("shops")["rigid-standard"]["trace_width"] = 0


@pytest.mark.parametrize("folder", ["templates", "coilgen/templates"])
def test_templates_are_found_in_a_checkout_and_in_an_installed_package(tmp_path, monkeypatch, folder):
    (tmp_path / "coilgen").mkdir()
    (tmp_path / folder).mkdir()
    (tmp_path / folder / "two-layers.toml").write_text("[winding]")
    (tmp_path / folder / "notes.txt").write_text("none")
    monkeypatch.setattr(catalogue, "_PACKAGE", tmp_path / "coilgen")
    assert catalogue.templates.__wrapped__() == {"two-layers": "[winding]"}


@pytest.mark.parametrize(
    ("word", "near"),
    [
        ("trace_widht", "trace_width"),
        ("Trace_Width", "trace_width"),
        ("zzz", None),
        ("", None),
        ("x" * 10**6, None),
    ],
)
def test_nearest_word(word, near):
    assert nearest(word, ["turns", "trace_width", "trace_spacing"]) == near


@given(st.text())
def test_every_known_word_is_nearest_to_itself(word):
    assert nearest(word, ["other", word]) == word or not word or word.lower() == "other" or len(word) > 80


def test_without_a_near_word_all_are_told():
    assert unknown("zzz", ["turns", "layers"]) == "use one of turns, layers"
