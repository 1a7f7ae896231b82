"""The stages of one design: each adds to what the one before returned, and the whole is all of them."""

from dataclasses import replace

import pytest
from small_design import SMALL, TABLES, small_with

from coilgen import job
from coilgen.catalogue import names
from coilgen.reading import read_text
from coilgen.study.compare import compare


@pytest.fixture(scope="module")
def design():
    return read_text(SMALL)


@pytest.fixture(scope="module")
def thin():
    return read_text(SMALL.replace('"0.3 mm"', '"0.1 mm"'))


@pytest.fixture(scope="module")
def made(design):
    return job.make(design)


class TestStages:
    def test_checked_has_no_figures_and_no_files(self, design):
        result = job.checked(design)
        assert result.design == design
        assert (result.figures, result.files) == ({}, {})
        assert result.cautions == design.notes + result.coil.says

    def test_each_stage_keeps_what_was_there(self, design, made):
        checked = job.checked(design)
        figured = job.figured(checked)
        assert replace(figured, figures={}, cautions=checked.cautions) == checked
        assert replace(job.filed(figured), files={}) == figured
        assert set(made.files) == set(job.filed(figured).files)

    def test_the_whole_is_the_same_on_every_run(self, design, made):
        assert job.make(design) == made

    def test_every_figure_bears_its_quantitys_name_and_unit(self, made):
        kinds = job.quantities()
        for name, figure in made.figures.items():
            assert (figure.name, figure.unit, figure.group) == (name, kinds[name].unit, kinds[name].group)

    def test_no_two_families_share_a_name(self):
        from coilgen.catalogue import specimens

        families = specimens("coilgen.figures", "FIGURES").values()
        told = [quantity.name for family in families for quantity in family]
        assert len(told) == len(set(told))

    def test_every_export_writes_into_the_designs_name(self, made):
        assert all("small" in path.rpartition("/")[2] for path in made.files)

    def test_no_two_exports_write_one_file(self, design, made):
        from coilgen.catalogue import specimens

        exports = specimens("coilgen.exports", "EXPORT")
        assert tuple(exports) == names("coilgen.exports")
        written = [path for export in exports.values() for path in export.files(made)]
        assert len(written) == len(set(written))
        assert set(written) == set(made.files)


class TestFindings:
    def test_bear_the_names_of_the_rules(self, thin):
        findings = job.checked(thin).findings
        assert {"trace_width", "trace_spacing"} <= {finding.rule for finding in findings}
        assert {finding.rule for finding in findings} <= set(names("coilgen.rules"))

    def test_do_not_stop_figures_and_files(self, thin):
        result = job.make(thin)
        assert result.findings
        assert result.figures
        assert result.files


class TestCautions:
    def test_warnings_come_first_then_what_figures_caution_against_each_once(self, design, monkeypatch):
        from coilgen.figure import Answer, Quantity

        def loud(case):
            return Answer(value=1.0, model="", cautions=("Mind this.",))

        def graver(case):
            return Answer(value=1.0, model="", cautions=("Mind that.", "Warning: it burns."))

        def silent(case):
            return None

        kinds = {
            name: Quantity(name=name, unit="1", says=name, group="winding", compute=compute)
            for name, compute in (("one", loud), ("two", loud), ("three", graver), ("none", silent))
        }
        monkeypatch.setattr(job, "quantities", lambda: kinds)
        result = job.studied(design)
        assert list(result.figures) == ["one", "two", "three"]
        assert result.cautions[:3] == ("Warning: it burns.", "Mind this.", "Mind that.")
        assert len(set(result.cautions)) == len(result.cautions)
        assert result.cautions[-1] == job.ESTIMATE


PLATE = {"width": 60, "thickness": 3}
DISC = {"form": "disc", "thickness": 1}
SURFACE = {"kind": "surface-pad"}


def told(**tables):
    """What is said of metal over copper of the small design with more tables."""
    found = job.checked(small_with(**tables)).cautions
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
