"""The stages of one design: each adds to what the one before returned, and the whole is all of them."""

from dataclasses import replace

import pytest
from small_design import SMALL

from coilgen import job
from coilgen.catalogue import names, templates
from coilgen.design.reading import read_text
from coilgen.result.figures import Figures


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
        result = job.check(design)
        assert result.design == design
        assert (result.figures, result.files) == ({}, {})
        assert result.cautions == design.notes + result.coil.says

    def test_each_stage_keeps_what_was_there(self, design, made):
        checked = job.check(design)
        figured = job.with_figures(checked)
        assert replace(figured, figures={}, cautions=checked.cautions) == checked
        assert set(made.files) == set(job.files_of(figured, job.drawn(figured)))
        assert replace(made, files={}) == figured

    def test_the_whole_is_the_same_on_every_run(self, design, made):
        assert job.make(design) == made

    @pytest.mark.parametrize("workers", [2, 3])
    def test_the_whole_is_the_same_by_any_number_of_processes(self, design, made, workers):
        assert job.completed(job.check(design), workers=workers) == made

    @pytest.mark.parametrize("name", ["optical-shutter", "specimen-drawer-latch", "fan-stator"])
    def test_drawn_files_need_no_figures(self, name):
        checked = job.check(read_text(templates()[name]))
        told = replace(checked, cautions=("told",), figures=Figures({"power": None}))
        assert job.drawn(told) == job.drawn(checked)

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
        findings = job.check(thin).findings
        assert {"trace_width", "trace_spacing"} <= {finding.rule for finding in findings}
        assert {finding.rule for finding in findings} <= set(names("coilgen.rules"))

    def test_do_not_stop_figures_and_files(self, thin):
        result = job.make(thin)
        assert result.findings
        assert result.figures
        assert result.files


class TestCautions:
    def test_warnings_come_first_then_what_figures_caution_against_each_once(self, design, monkeypatch):
        from coilgen.result.figure import Answer, Quantity

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
        result = job.predict(design)
        assert list(result.figures) == ["one", "two", "three"]
        assert result.cautions[:3] == ("Warning: it burns.", "Mind this.", "Mind that.")
        assert len(set(result.cautions)) == len(result.cautions)
        assert result.cautions[-1] == job.ESTIMATE
