"""The choice of places told: worst first, each layer once at least, near ones merged, few in all."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from coilgen.rules._places import MERGED, MOST, TOLERANCE, Place, places, short_lengths

PLACES = st.lists(
    st.builds(
        Place,
        value=st.floats(-1e-3, 1e-3),
        at=st.builds(complex, st.floats(-0.01, 0.01), st.floats(-0.01, 0.01)),
        layer=st.integers(0, 8),
    ),
    max_size=60,
)
LIMIT = 0.5e-3


def told(found):
    return short_lengths("spacing", LIMIT, places(found), lambda place: "Too near.")


@given(PLACES)
def test_only_places_under_the_limit_and_the_worst_of_each_layer(found):
    findings = told(found)
    short = [place for place in found if place.value < LIMIT - TOLERANCE]
    assert all(finding.value < LIMIT for finding in findings)
    for layer in {place.layer for place in short}:
        worst = min(place.value for place in short if place.layer == layer)
        exact = 0.0 if abs(worst) < TOLERANCE else worst
        assert min(f.value for f in findings if (f.layer or 0) == layer) == exact


@given(PLACES)
def test_few_and_sorted_and_apart(found):
    findings = told(found)
    assert len(findings) <= MOST
    values = [finding.value for finding in findings]
    assert [round(value, 9) for value in values] == sorted(round(value, 9) for value in values)
    for k, one in enumerate(findings):
        for other in findings[:k]:
            assert one.layer != other.layer or abs(one.at - other.at) > MERGED


@given(PLACES)
def test_every_place_left_out_is_near_to_one_told_unless_there_are_too_many(found):
    findings = told(found)
    if len(findings) < MOST:
        for place in found:
            if place.value < LIMIT - TOLERANCE:
                layer = place.layer or None
                assert any(f.layer == layer and abs(f.at - place.at) <= MERGED for f in findings)


def test_places_as_short_as_one_another_stand_by_layers():
    """Two layers drawn alike differ by less than a picometre; their places told in turn would not fold."""
    alike = [Place(value=1e-4 + k * 1e-15, at=complex(k), layer=1 + k % 2) for k in range(6)]
    assert [finding.layer for finding in told(alike)] == [1, 1, 1, 2, 2, 2]


def test_the_first_tells_how_many_there_are():
    many = [Place(value=1e-4, at=complex(x), layer=1) for x in np.linspace(0, 1e-4, 5)]
    (finding,) = told(many)
    assert finding.says == "Too near. The worst of 5 places."
    assert told(many[:1])[0].says == "Too near."
