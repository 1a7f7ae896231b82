"""The relation of a winding's five numbers: any four give the fifth."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from coilgen.design.sizing import NUMBERS, UnfitError, band, derived, disagreement

LENGTH = st.floats(5e-5, 5e-3)
WINDINGS = st.fixed_dictionaries(
    {
        "turns": st.integers(4, 400).map(lambda quarters: quarters / 4),
        "trace_width": LENGTH,
        "trace_spacing": LENGTH,
        "inner_size": st.floats(1e-4, 0.1),
    }
)


def complete(four):
    across = band(four["turns"], four["trace_width"], four["trace_spacing"])
    return {**four, "outer_size": four["inner_size"] + 2 * across}


def without(numbers, name):
    return {key: value for key, value in numbers.items() if key != name}


@pytest.mark.parametrize("missing", ["trace_width", "trace_spacing", "outer_size", "inner_size"])
@given(four=WINDINGS.filter(lambda four: four["turns"] > 1))
def test_a_left_out_length_is_found_again(missing, four):
    five = complete(four)
    values, notes = derived(without(five, missing))
    assert set(values) == {missing}
    assert values[missing] == pytest.approx(five[missing], abs=2e-12 * five["turns"])
    assert notes == ()


@given(four=WINDINGS)
def test_derived_turns_are_the_most_whole_ones_and_keep_the_outer_size(four):
    five = complete(four)
    values, notes = derived(without(five, "turns"))
    assert values["turns"] == math.floor(five["turns"])
    assert abs(disagreement({**five, **values})) < 1e-11
    assert values["inner_size"] >= five["inner_size"] - 1e-9
    assert bool(notes) == (five["turns"] != math.floor(five["turns"]))


@given(four=WINDINGS)
def test_a_whole_number_of_turns_is_not_lost_to_rounding(four):
    five = complete({**four, "turns": float(math.ceil(four["turns"]))})
    assert derived(without(five, "turns"))[0]["turns"] == five["turns"]


@given(four=WINDINGS, missing=st.sampled_from(NUMBERS), scale=st.floats(0.5, 2.0))
def test_lengths_scale(four, missing, scale):
    five = complete({**four, "turns": float(math.ceil(four["turns"])) + 1})
    larger = {name: value if name == "turns" else value * scale for name, value in five.items()}
    small, large = derived(without(five, missing))[0], derived(without(larger, missing))[0]
    factor = 1.0 if missing == "turns" else scale
    assert large[missing] == pytest.approx(small[missing] * factor, abs=1e-11 * five["turns"])


def test_the_note_on_rounding_tells_both_sizes():
    four = {"trace_width": 1e-3, "trace_spacing": 1e-3, "outer_size": 0.02, "inner_size": 0.0045}
    values, notes = derived(four)
    assert values == {"turns": 4.0, "inner_size": 0.006}
    assert notes == (
        "4.38 turns would fit; rounded down to 4, which makes inner_size 6 mm instead of 4.5 mm.",
    )


BASE = {"turns": 10.0, "trace_width": 1e-3, "trace_spacing": 1e-3, "outer_size": 0.06, "inner_size": 0.022}


@pytest.mark.parametrize(
    ("missing", "change", "says"),
    [
        ("inner_size", {"turns": 20.0}, "at most 15 fit"),
        ("inner_size", {"trace_width": 0.04}, "not even one turn fits"),
        ("turns", {"inner_size": 0.06}, "not over inner_size"),
        ("turns", {"trace_width": 0.04}, "do not hold one turn"),
        ("turns", {"trace_width": 1e-6, "trace_spacing": 1e-6}, "1000 are allowed"),
        ("trace_width", {"trace_spacing": 0.01}, "gaps between 10 turns"),
        ("trace_spacing", {"trace_width": 0.01}, "no gap between 10 turns"),
        ("trace_spacing", {"turns": 1.0}, "one turn has no neighbour"),
    ],
)
def test_what_does_not_fit_says_what_to_change(missing, change, says):
    with pytest.raises(UnfitError, match=says):
        derived(without({**BASE, **change}, missing))


@given(four=WINDINGS, room=st.floats(0.05, 0.99))
@example({"turns": 70.5, "trace_width": 5e-5, "trace_spacing": 5e-5, "inner_size": 0.015625}, 0.05)
def test_the_most_turns_told_do_fit_and_one_more_does_not(four, room):
    five = complete(four)
    given_four = {
        **without(five, "inner_size"),
        "outer_size": room * (five["outer_size"] - five["inner_size"]),
    }
    with pytest.raises(UnfitError) as refusal:
        derived(given_four)
    if "at most" not in str(refusal.value):
        assert given_four["outer_size"] <= 2 * five["trace_width"]
        return
    most = int(str(refusal.value).split("at most ")[1].split(" ")[0])
    assert given_four["outer_size"] > 2 * band(most, five["trace_width"], five["trace_spacing"])
    assert given_four["outer_size"] <= 2 * band(most + 1, five["trace_width"], five["trace_spacing"]) + 1e-9
