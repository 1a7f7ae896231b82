"""Bodies told on a face that touch nothing of the board: it is said, and no heat passes between them."""

import pytest
from small_design import TABLES, small_with

import coilgen
from coilgen.job import case_of, check

POCKET = {"size": 6}
DISC = {"form": "disc", "thickness": 1}
STUCK = {"form": "disc", "diameter": 4, "thickness": 2, "gap": 0.1, "grade": "N42", "contact": "solid"}
SQUARE = {"outline": "square", "size": 30}
DRIVE = {"voltage": 0.3}
TWO = [{**TABLES["winding"], "name": name, "centre": [at, 0]} for name, at in (("left", 0), ("right", 20))]
LONG = {"outline": "rectangle", "width": 70, "height": 20}
ROW = {"arrangement": "row", "count": 3, "pitch": 20, "phases": 1}


def told(**tables):
    """What is said of bodies off the board of the small design with more tables."""
    found = check(small_with(**tables)).cautions
    return [caution for caution in found if "over the pocket" in caution or "nothing of the board" in caution]


@pytest.mark.parametrize("place", ["top", "bottom"])
@pytest.mark.parametrize(
    ("body", "across"), [("disc", 6.01), ("ring", 6.01), ("plate", 4.25)], ids=["disc", "ring", "plate"]
)
def test_told_exactly_where_only_the_pocket_is_under_it(place, body, across):
    """A plate's half diagonal is 0.7071 of its width."""

    def core(size):
        if body == "plate":
            return {"form": "plate", "width": size, "thickness": 1, "place": place}
        return {
            **DISC,
            "form": body,
            "diameter": size,
            "place": place,
            **({"hole_diameter": 3} if body == "ring" else {}),
        }

    (says,) = told(pocket=POCKET, core=[core(across - 0.02)])
    assert says.startswith(
        f"Core 1 (soft iron) on the {place} lies over the pocket alone: it touches no board."
    )
    assert told(pocket=POCKET, core=[core(across)]) == []
    assert told(core=[core(across - 0.02)]) == []


def test_one_core_of_a_face_on_the_board_holds_the_others():
    small, wide = {**DISC, "diameter": 4}, {**DISC, "diameter": 10}
    assert told(pocket=POCKET, core=[wide, small]) == []
    (says,) = told(pocket=POCKET, core=[small, small])
    assert says.startswith(
        "Core 1 (soft iron) and core 2 (soft iron) on the bottom lie over the pocket alone"
    )


def test_a_base_plate_and_a_stuck_magnet():
    (plate,) = told(pocket=POCKET, mounting={"base_plate": {"width": 4, "thickness": 2}})
    assert plate.startswith("The base plate (aluminium) on the bottom lies over the pocket alone")
    (magnet,) = told(board=SQUARE, magnet={**STUCK, "offset": [40, 0]})
    assert magnet.startswith("The magnet is told to be stuck to the board, but nothing of the board's top")
    assert told(board=SQUARE, magnet={**STUCK, "offset": [16, 0]}) == []


BOARDS = {
    "one winding": {"board": SQUARE},
    "two windings": {"board": LONG, "winding": TWO},
    "an array": {"board": LONG, "array": ROW},
}


@pytest.mark.parametrize("road", BOARDS)
@pytest.mark.parametrize("body", ["core", "base plate", "magnet"])
def test_no_heat_passes_to_it(road, body):
    """The board is as warm as without it, on every road of heat, but for cells that go by its edge."""
    over = {
        "core": {"core": [{**DISC, "diameter": 5, "place": "top"}]},
        "base plate": {"mounting": {"base_plate": {"width": 4, "thickness": 2}}},
        "magnet": {"magnet": STUCK},
    }
    alone, beside = (_temperature(**BOARDS[road], **more) for more in ({}, over[body]))
    assert alone > 35
    assert beside == pytest.approx(alone, abs=0.02 * (alone - 25))


def _temperature(**tables):
    found = check(small_with(pocket=POCKET, drive=DRIVE, **tables))
    return case_of(found.design, found.coil, found.art).value("temperature")


def test_a_stiffener_needs_some_of_the_board():
    over = {"thickness": 0.2, "beneath": [-2, -2, 2, 2]}
    with pytest.raises(coilgen.DesignError) as caught:
        check(small_with(board={**SQUARE, "stackup": "flex-2-layer"}, pocket=POCKET, stiffener=[over]))
    ((key, says),) = [(fault.key, fault.says) for fault in caught.value.faults]
    assert key == "stiffener 1.beneath"
    assert says.startswith("lies over the pocket alone")
