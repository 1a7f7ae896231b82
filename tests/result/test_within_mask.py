"""Bodies that the film over the copper would hold off are told of; those beyond it are not."""

import pytest
from small_design import TABLES, small_with

from coilgen.job import check

MAGNET = {"form": "disc", "diameter": 4, "thickness": 2, "grade": "N42"}
FLEX = {"winding": TABLES["winding"], "board": {"stackup": "flex-2-layer"}}


def told(**tables):
    found = check(small_with(**{**FLEX, **tables})).cautions
    return [caution for caution in found if "heights and gaps count" in caution]


@pytest.mark.parametrize("place", ["top", "bottom"])
def test_a_gap_smaller_than_the_coverlay(place):
    (says,) = told(magnet={**MAGNET, "gap": 0.03, "place": place})
    assert says.startswith(
        f"The magnet is told to stand 0.03 mm from the copper on the {place}, where coverlay"
    )
    assert told(magnet={**MAGNET, "gap": 0.05, "place": place}) == []


def test_on_a_core_a_gap_is_to_the_core():
    core = {"form": "disc", "diameter": 6, "thickness": 1, "place": "top", "material": "soft iron"}
    assert told(core=[core], magnet={**MAGNET, "gap": 0.02}) == []


def test_a_single_layer_is_bare_behind():
    single = {"winding": {**TABLES["winding"], "layers": 1}, "board": {"stackup": "flex-1-layer"}}
    assert told(**single, magnet={**MAGNET, "gap": 0.02, "place": "bottom"}) == []
    assert len(told(**single, magnet={**MAGNET, "gap": 0.02})) == 1
