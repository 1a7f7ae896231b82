"""Free boards in dead still air, whole designs: an own solution of the flow, computed and not measured.

Axisymmetric, steady, Boussinesq, with a conducting disc, radiation, air of 25 degC, no pads or leads; a wider
source is wanted. The value is to err on the warm side, the band to hold what was found.
"""

import pytest
from heat_designs import case

BOARD = {
    "winding": {
        "shape": "round",
        "layers": 2,
        "turns": 14,
        "trace_width": 0.2,
        "trace_spacing": 0.15,
        "outer_size": 16,
    },
}


def free(thickness=0.2, current=0.5, **mounting):
    stackup = {"copper": ["35 um", "35 um"], "dielectric": [f"{thickness} mm"], "material": "FR-4"}
    tables = {"board": {"stackup": None, "size": 22}, "board.stackup": stackup, "mounting": mounting}
    return case(**BOARD, **tables, drive={"voltage": None, "current": current})


@pytest.mark.parametrize(
    ("own", "hottest"),
    [
        (free(current=0.3), 60.2),
        (free(), 123.2),
        (free(emissivity=0.2), 181.6),
        (free(thickness=1.53), 91.1),
    ],
    ids=["0.3 A", "0.5 A", "emissivity 0.2", "1.6 mm"],
)
def test_lying_board(own, hottest):
    found = own.figure("temperature")
    assert found.band[0] < hottest < found.band[1]
    assert hottest - 25 < found.value - 25 < 1.06 * (hottest - 25)


def test_largest_current_of_that_board():
    # By the flow some 0.5 A lead to 130 degC.
    assert free().value("largest_current") == pytest.approx(0.51, abs=0.015)


def test_a_designs_own_tolerance_of_convection_goes_first():
    wide, narrow = (
        case(**BOARD, tolerance={"convection": share}).figure("temperature").band for share in (0.5, 0.1)
    )
    usual = case(**BOARD).figure("temperature").band
    assert wide[0] < usual[0] < narrow[0] < narrow[1] < usual[1] < wide[1]


def test_which_way_it_lies_does_not_matter_and_on_edge_it_is_cooler():
    lying, turned, edge = (
        free(orientation=each).value("temperature") for each in ("face-up", "face-down", "vertical")
    )
    assert turned == pytest.approx(lying, abs=0.1)
    assert 5 < lying - edge < 20
