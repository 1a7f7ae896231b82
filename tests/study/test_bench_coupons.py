"""Coupons of a panel at the bench: they tell apart what boards alone cannot."""

import numpy as np
import pytest
from benches import coil

from coilgen.errors import DesignError
from coilgen.study.bench.bench import bench, problem_of
from coilgen.study.bench.reading import Conditions, Reading
from coilgen.study.panel.panel import coupons_of

ROOM = Conditions(temperature=23.0)
WIDER, THICKER = -18e-6, 1.056


def built():
    """A board and the coupons beside it."""
    design = coil().unchecked(variant=())
    return {"A1": design}, {each.label: each.expects for each in coupons_of([design], 0.15e-3)}


def resistances(*samples):
    """Of boards and coupons that are made narrower and thicker than asked, read to 0.2 %."""
    boards, coupons = built()
    asked = tuple(
        Reading(sample=each, figure="resistance", value=1.0, uncertainty=1.0, at=ROOM) for each in samples
    )
    problem = problem_of(asked, boards, coupons)
    places = np.zeros(len(problem.causes))
    for number, cause in enumerate(problem.causes):
        if cause.name == "trace width":
            places[number] = WIDER / cause.limits[2]
        if cause.name == "copper thickness":
            places[number] = np.log(THICKER) / np.log(cause.limits[2])
    values = [problem.forecast(each, places).value for each in asked]
    return [
        Reading(sample=each.sample, figure="resistance", value=value, uncertainty=2e-3 * value, at=ROOM)
        for each, value in zip(asked, values, strict=True)
    ]


def found(*samples):
    """A bench of these."""
    boards, coupons = built()
    return bench(resistances(*samples), boards["A1"], boards, coupons)


@pytest.mark.slow
def test_a_coupon_tells_apart_what_the_sentence_before_could_not():
    alone, both = found("A1"), found("A1", "T1", "T2")
    (sentence,) = [each for each in alone.remarks if "cannot tell trace width from copper thickness" in each]
    assert "measure coupon T2, resistance (temperature 23.00 °C)" in sentence
    assert not [each for each in both.remarks if "cannot tell trace width" in each]
    told = {each.cause.name: each for each in both.causes}
    assert told["trace width"].pinned
    assert told["trace width"].after[1] == pytest.approx(WIDER, abs=1e-6)
    assert told["copper thickness"].pinned
    # Copper that is thicker and copper that conducts better read alike: their product is what is found.
    product = told["copper thickness"].after[1] * told["conductivity"].after[1]
    assert product == pytest.approx(THICKER, rel=0.005)
    assert both.says == "3 readings of 1 board and 2 coupons of lid-coil"
    (following,) = [each for each in both.remarks if "would tell most next" in each]
    assert not {"T1,", "T2,"} & {*following.split()}


def test_coupons_alone_are_a_bench_and_no_shorted_turn_is_sought_in_them():
    only = found("T1", "T2")
    assert only.says == "2 readings of 2 coupons of lid-coil"
    assert not [each for each in only.remarks if "shorted" in each]


@pytest.mark.parametrize(
    ("figure", "at", "key", "says"),
    [
        ("inductance", Conditions(frequency=1e4), "line 7, figure", "read by its resistance"),
        ("resistance", Conditions(temperature=23.0, frequency=1e4), "line 7, frequency", "direct current"),
        ("resistance", Conditions(temperature=23.0, gap=1e-3), "line 7, gap", "leave it out"),
    ],
)
def test_what_no_coupon_is_read_by_is_refused_with_its_place(figure, at, key, says):
    boards, coupons = built()
    reading = Reading(sample="T1", figure=figure, value=1.0, uncertainty=0.01, at=at, place="line 7")
    with pytest.raises(DesignError) as caught:
        bench([reading], boards["A1"], boards, coupons)
    assert caught.value.faults[0].key == key
    assert says in caught.value.faults[0].says
