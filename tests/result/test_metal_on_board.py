"""Metal on the board: over terminals it is warned of, over vias told, elsewhere neither."""

import pytest
from small_design import TABLES, small_with

from coilgen.job import check
from coilgen.study.compare import compare

PLATE = {"width": 60, "thickness": 3}
DISC = {"form": "disc", "thickness": 1}
SURFACE = {"kind": "surface-pad"}


def told(**tables):
    """What is said of metal over copper of the small design with more tables."""
    found = check(small_with(**tables)).cautions
    return [caution for caution in found if " lies over " in caution]


class TestMetalOverCopper:
    def test_a_plate_under_plated_terminals_and_vias(self):
        terminals, vias = told(mounting={"base_plate": PLATE})
        assert terminals == (
            "Warning: The base plate (aluminium) lies over terminals 1 and 2 on the bottom: solder holds it "
            "off the board, and it may short the coil. Keep it clear of them."
        )
        assert vias.startswith("The base plate (aluminium) lies over 1 via on the bottom: solder mask alone")

    @pytest.mark.parametrize(("place", "count"), [("top", 2), ("bottom", 1)])
    def test_surface_pads_stand_out_of_one_face(self, place, count):
        found = told(terminals=SURFACE, mounting={"base_plate": {**PLATE, "place": place}})
        assert len(found) == count
        assert all(f" on the {place}: " in caution for caution in found)

    def test_a_board_of_one_layer_has_no_copper_behind(self):
        single = {"winding": {**TABLES["winding"], "layers": 1}, "board": {"stackup": "rigid-1-layer-1.6mm"}}
        assert told(**single, mounting={"base_plate": PLATE}) == []
        (front,) = told(**single, mounting={"base_plate": {**PLATE, "place": "top"}})
        assert "over terminals 1 and 2 on the top" in front

    def test_what_does_not_conduct_is_no_harm(self):
        assert told(mounting={"base_plate": {**PLATE, "material": "glass"}}) == []
        assert told(core=[{**DISC, "diameter": 60, "material": "ferrite sheet"}]) == []

    def test_a_core_off_the_board_meets_solder_before_vias(self):
        wide = {**DISC, "diameter": 60}
        assert len(told(core=[wide])) == 2
        (solder,) = told(core=[{**wide, "gap": 0.5}])
        assert "Core 1 (soft iron) lies over terminals 1 and 2" in solder
        assert told(core=[{**wide, "gap": 1.5}]) == []

    def test_a_core_behind_a_sheet_is_that_much_farther(self):
        sheet = {**DISC, "diameter": 60, "material": "ferrite sheet", "thickness": "0.3 mm"}
        (solder,) = told(core=[sheet, {**DISC, "diameter": 60}])
        assert solder.startswith("Warning: Core 2 (soft iron) lies over terminals")

    def test_what_is_clear_of_pads_is_no_harm(self):
        """The via stands some 5.6 mm from the middle, inside the winding of 12.6 mm."""
        assert told(core=[{**DISC, "diameter": 8}]) == []
        hollow = {"form": "ring", "thickness": 1, "diameter": 14, "hole_diameter": 12.6}
        assert told(core=[hollow]) == []
        assert len(told(core=[{**hollow, "hole_diameter": 9}])) == 1

    def test_a_pockets_walls_are_bare_of_copper(self):
        assert told(pocket={"size": 4}, core=[{"place": "pocket", "rise": 1, "thickness": 4}]) == []

    def test_variants_tell_their_own(self):
        design = small_with(variant=[{"name": "plate", "mounting": {"base_plate": PLATE}}])
        own, plate = compare(design).rows
        assert [sum(" lies over " in caution for caution in row.cautions) for row in (own, plate)] == [0, 2]
