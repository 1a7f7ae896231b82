"""The winding's table: completion of its sizes and corners."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from coilgen.catalogue import names
from coilgen.design.keys import SI, pair
from coilgen.design.measure import measure_of
from coilgen.design.sizing import NUMBERS, disagreement
from coilgen.design.winding import Winding

FOUR = {"shape": "square", "turns": 10, "trace_width": 0.3, "trace_spacing": 0.2, "outer_size": 24}


def refusal(**changes):
    with pytest.raises(ValidationError) as caught:
        Winding.model_validate({**FOUR, **changes})
    return str(caught.value)


@given(
    shape=st.sampled_from(names("coilgen.layout.shapes")),
    turns=st.integers(4, 200).map(lambda quarters: quarters / 4),
    width=st.floats(0.05, 2),
    spacing=st.floats(0.05, 2),
    inner=st.floats(0.5, 50),
)
def test_a_read_winding_keeps_its_relation(shape, turns, width, spacing, inner):
    """In each direction in which the shape has a size."""
    measure = measure_of(shape)
    asked = {"turns": turns, "trace_width": width, "trace_spacing": spacing}
    sector = {"inner_radius": 10, "angle": 60} if measure.sector else {}
    size = [2 * inner + 5 * (width + spacing), inner] if measure.count == 2 else inner
    winding = Winding.model_validate({"shape": shape, **asked, "inner_size": size, **sector})
    told = {name: getattr(winding, name) for name in NUMBERS}
    for outer, inside in zip(pair(winding.outer_size), pair(winding.inner_size), strict=True):
        numbers = {**told, "outer_size": outer, "inner_size": inside}
        assert abs(disagreement(numbers, measure.form("sharp", 0.0))) < 1e-9
    assert winding.notes == ()


def test_sizes_are_in_metres_and_the_fifth_is_derived():
    winding = Winding.model_validate(FOUR)
    assert (winding.trace_width, winding.outer_size, winding.inner_size) == (0.0003, 0.024, 0.0144)
    assert (winding.layers, winding.direction, winding.corner, winding.corner_size) == (
        1,
        "counterclockwise",
        "sharp",
        0.0,
    )


def test_values_in_si_give_the_same_winding():
    written = Winding.model_validate(FOUR)
    sizes = {name: SI(getattr(written, name)) for name in NUMBERS[:4]}
    assert Winding.model_validate({"shape": "square", **sizes}) == written


def test_five_that_agree_are_taken_and_five_that_do_not_are_told_by_how_much():
    assert Winding.model_validate({**FOUR, "inner_size": "14.4005 mm"}).inner_size == 0.0144005
    says = refusal(inner_size="14.402 mm")
    assert "24 mm is 0.002 mm under the 24.002 mm" in says
    assert "24 mm is 0.4 mm over the 23.6 mm" in refusal(inner_size=14)


def test_rounded_turns_leave_a_note():
    four = {**FOUR, "inner_size": 14}
    del four["turns"]
    winding = Winding.model_validate(four)
    assert (winding.turns, winding.inner_size) == (10, 0.0144)
    assert len(winding.notes) == 1
    assert Winding.model_validate({**four, "inner_size": 14.4}).notes == ()


def test_too_few_numbers_are_told_with_an_example():
    with pytest.raises(
        ValidationError, match=r'2 given: add 2 of trace_width, trace_spacing, inner_size, .*"0.2 mm"'
    ):
        Winding.model_validate({"shape": "square", "turns": 3, "outer_size": 24})


@pytest.mark.parametrize(("corner", "size"), [("chamfered", 0.0003), ("rounded", 0.0003), ("sharp", 0.0)])
def test_a_corner_takes_the_trace_width_unless_told(corner, size):
    assert Winding.model_validate({**FOUR, "corner": corner}).corner_size == size
    if corner != "sharp":
        assert Winding.model_validate({**FOUR, "corner": corner, "corner_size": 1}).corner_size == 0.001


def test_corners_without_sense_are_refused():
    assert "no use on sharp corners" in refusal(corner_size=1)
    assert "leaves its inner edge no radius" in refusal(corner="rounded", corner_size=0.075)
    assert "leaves no chamfer" in refusal(corner="chamfered", corner_size=0)
    assert "over half the inner_size" in refusal(corner="rounded", corner_size="7.3 mm")


def test_corners_of_a_round_winding_are_noted():
    assert "no effect" in Winding.model_validate({**FOUR, "shape": "round", "corner": "rounded"}).notes[0]


def test_faults_hide_no_others():
    says = refusal(shape="rund", turns=10_000, trace_width=-1, trace_spacing=float("nan"), layers=9, colour=1)
    for key in ("shape", "turns", "trace_width", "trace_spacing", "layers", "colour"):
        assert f"\n{key}\n" in says
    assert "\nouter_size\n" not in says
    assert "\ninner_size\n" not in says


def test_a_winding_does_not_change():
    with pytest.raises(ValidationError):
        Winding.model_validate(FOUR).turns = 3


def test_what_cannot_be_derived_says_why_at_its_key():
    with pytest.raises(
        ValidationError, match=r"inner_size\n.*cannot be derived: 100 turns .* at most 24 fit"
    ):
        Winding.model_validate({**FOUR, "turns": 100})
