"""The notes tell the fab what the result says, and only that."""

import re
from dataclasses import replace

import pytest

from coilgen.exports.fab import drill, gerber, gerber_job, netlist
from coilgen.exports.fab.fabrication_notes import EXPORT
from coilgen.result.rule import Finding


def notes(result):
    ((path, content),) = EXPORT.files(result).items()
    assert path == f"fab/{result.design.name}-fabrication-notes.txt"
    return content.decode()


def section(result, title):
    """Lines under a title, without indentation."""
    (found,) = [part for part in notes(result).split("\n\n") if part.startswith(title)]
    return [line.strip() for line in found.splitlines()[1:]]


def test_stackup_adds_up(result):
    rows = [line.split() for line in section(result, "Stack-up")]
    scale = {"um": 1e-6, "mm": 1e-3}
    stackup = result.design.board.stackup
    assert sum(float(row[-2]) * scale[row[-1]] for row in rows) == pytest.approx(stackup.thickness, abs=1e-6)
    assert sum("copper" in row for row in rows) == stackup.layers


def test_hole_table_counts_every_hole(result):
    counted = [int(line.split()[2]) for line in section(result, "Holes") if line != "none"]
    assert sum(counted) == len(result.art.holes)


def test_it_names_every_other_file_and_no_file_that_is_not_there(result):
    written = {
        path.removeprefix("fab/")
        for export in (gerber, drill, netlist, gerber_job)
        for path in export.EXPORT.files(result)
    }
    assert {line.split()[0] for line in section(result, "Files")} == written


def test_resistance_with_its_band(two_layers):
    assert "resistance at 20 degC    765 mΩ, expected 650 mΩ to 880 mΩ" in section(
        two_layers, "Electrical test"
    )


def test_resistance_without_a_band_gets_the_tolerance_of_etching(two_layers):
    """10 to 20 % by etching: common practice, no source."""
    bare = replace(two_layers.figures["resistance_20c"], band=None)
    told = section(replace(two_layers, figures={"resistance_20c": bare}), "Electrical test")
    assert "resistance at 20 degC    765 mΩ, +/- 20% (etching)" in told
    assert not any("inductance" in line for line in told)


def test_without_figures_it_promises_none(two_layers):
    told = section(replace(two_layers, figures={}), "Electrical test")
    assert told == ["The coil is one net; test for turn-to-turn shorts by resistance."]


def test_one_shorted_turn_is_told_as_a_share(two_layers):
    """Six turns: one of them is a sixth of the resistance."""
    assert any("16.7%" in line for line in section(two_layers, "Electrical test"))


def test_tented_vias(two_layers, flexible):
    assert any("Vias are tented" in line for line in section(two_layers, "Solder mask"))
    assert not any("ias" in line for line in section(flexible, "Coverlay"))


def test_a_via_with_an_opening_is_not_called_tented(two_layers):
    opening = replace(two_layers.art.openings[0], at=two_layers.coil.vias[0].at)
    opened = replace(two_layers, art=replace(two_layers.art, openings=(opening,)))
    assert any(
        "Vias left open on at least one side: 1 of 1" in line for line in section(opened, "Solder mask")
    )


def test_cautions_and_accepted_findings_are_repeated(two_layers):
    finding = Finding(
        rule="trace_spacing",
        value=1e-4,
        limit=2e-4,
        unit="m",
        layer=1,
        at=0j,
        says="too near; widen the pitch",
    )
    told = section(replace(two_layers, findings=(finding,)), "Cautions")
    assert "- The coil gets hot." in told
    assert any("trace_spacing: too near; widen the pitch" in line for line in told)


def test_measured_sizes_go_before_asked_ones(two_layers):
    narrow = replace(two_layers.figures["smallest_width"], value=0.15e-3)
    figures = {**two_layers.figures, "smallest_width": narrow}
    assert "smallest trace width     0.150 mm" in section(replace(two_layers, figures=figures), "Conductors")


def test_outline_and_pocket_are_measured(four_layers, flexible):
    assert any(
        re.fullmatch(r"outline +26\.000 mm x 24\.000 mm, .*", line) for line in section(four_layers, "Board")
    )
    assert any(re.fullmatch(r"outline +none", line) for line in section(flexible, "Board"))
