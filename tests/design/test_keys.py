"""Values of the design file's keys: their ranges, their refusals, their schema."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.design.keys import SI, Quantity, Refused, Row, Series, Whole, filled, one_of, si_of
from coilgen.units import DIMENSIONS, quantity

SIZE = Quantity(dimension="length", least=1e-3, most=0.1)


@given(st.floats(1.0, 100.0))
def test_a_number_in_si_is_taken_as_it_stands(millimetres):
    assert SIZE.value(SI(quantity(millimetres, "length"))) == SIZE.value(millimetres)


@pytest.mark.parametrize("edge", ["1 mm", "100 mm"])
def test_both_ends_of_a_range_are_allowed(edge):
    assert SIZE.value(edge) in (SIZE.least, SIZE.most)


@pytest.mark.parametrize("outside", [0.999, 100.1, "1 m", -5, 0])
def test_what_is_outside_is_told_with_the_range(outside):
    with pytest.raises(ValueError, match=r"outside what is allowed, 1 mm to 100 mm$"):
        SIZE.value(outside)


def test_a_refused_value_gives_its_reason():
    with pytest.raises(ValueError, match="no room"):
        SIZE.value(Refused("no room"))


def test_a_series_names_the_entry():
    series = Series(of=SIZE, least=1, most=3)
    assert series.values([1, "2 mm"]) == (0.001, 0.002)
    with pytest.raises(ValueError, match="entry 2: 0 mm is outside"):
        series.values([1, 0])
    for wrong in ([], [1, 1, 1, 1], "1 mm", 3, {}):
        with pytest.raises(ValueError, match="list"):
            series.values(wrong)


def test_a_series_of_one_length_tells_it():
    with pytest.raises(ValueError, match=r"^a list of 1 entries; only 2 are allowed$"):
        Series(of=SIZE, least=2, most=2).values([1])


@pytest.mark.parametrize(
    ("given", "told"), [(1.3, True), (2, True), (0.01, False), ("3 T", False), (-1, False)]
)
def test_a_number_that_would_be_right_in_tesla_is_told_so(given, told):
    with pytest.raises(ValueError, match="outside what is allowed, 20 mT to 2000 mT") as caught:
        Quantity(dimension="flux density", least=0.02, most=2.0).value(given)
    assert str(caught.value).endswith(f'in mT, for tesla write "{given} T"') == told


@pytest.mark.parametrize("wrong", [0, 9, True, 2.0, "2", None, [2]])
def test_whole_numbers(wrong):
    whole = Whole(least=1, most=8)
    assert whole.value(8) == 8
    with pytest.raises(ValueError, match="1 to 8"):
        whole.value(wrong)


@pytest.mark.parametrize("wrong", ["rund", 3, None, [], True])
def test_words(wrong):
    assert one_of("round", ("round", "square")) == "round"
    with pytest.raises(ValueError, match="round"):
        one_of(wrong, ("round", "square"))


def test_rows_of_one_sort():
    assert set(Row("materials", "laminate").names()).isdisjoint(Row("materials", "conductor").names())


@pytest.mark.parametrize("dimension", sorted(DIMENSIONS))
@given(number=st.floats(-1e9, 1e9))
def test_the_schema_takes_every_spelling_that_is_read(dimension, number):
    schema = Quantity(dimension=dimension, least=-1.0, most=1.0).schema()
    kind = DIMENSIONS[dimension]
    if set(kind.units) == {""}:
        assert schema == {"type": "number", "minimum": -1.0, "maximum": 1.0}
        return
    for unit in kind.units:
        text = f"{number!r} {unit}"
        quantity(text, dimension)
        assert re.search(schema["anyOf"][1]["pattern"], text)
    assert not re.search(schema["anyOf"][1]["pattern"], f"{number!r} furlong")


def test_the_schema_tells_bounds_in_the_written_unit():
    assert SIZE.schema()["anyOf"][0] == {"type": "number", "minimum": 1.0, "maximum": 100.0}
    assert SIZE.schema()["x-unit"] == "mm"


def test_filling_leaves_what_is_written():
    assert filled({"a": 1}, {"a": 2, "b": 3}) == {"a": 1, "b": 3}
    assert filled("text", {"a": 2}) == "text"


def test_a_faulty_key_has_no_si_value():
    table = {"drill": "0.3 mm", "pad": "wide", "known": SI(0.5)}
    assert si_of(table, "drill", "length") == 0.0003
    assert si_of(table, "known", "length") == 0.5
    assert si_of(table, "pad", "length") is si_of(table, "size", "length") is si_of(3, "a", "length") is None
