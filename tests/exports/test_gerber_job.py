"""The job file agrees with the files it lists (Gerber Job File Format Specification, 2020.08)."""

import json
import re
from dataclasses import replace

import pytest
from gerber_reader import read

from coilgen.design.order import FINISHES, Order
from coilgen.exports.fab import drill, fabrication_notes, gerber, gerber_job, netlist
from coilgen.exports.fab.gerber_job import EXPORT


def job(result):
    (content,) = EXPORT.files(result).values()
    return json.loads(content)


def test_its_name_and_sections(result):
    assert set(EXPORT.files(result)) == {f"fab/{result.design.name}.gbrjob"}
    sections = ["Header", "GeneralSpecs", "DesignRules", "FilesAttributes", "MaterialStackup"]
    assert list(job(result)) == sections


def test_it_lists_exactly_the_other_files_of_the_set(result):
    others = (gerber, drill, netlist, fabrication_notes)
    written = {path for each in others for path in each.EXPORT.files(result)}
    assert {f"fab/{entry['Path']}" for entry in job(result)["FilesAttributes"]} == written


def test_functions_and_polarities_are_those_inside_the_files(result):
    told = {
        f"fab/{e['Path']}": (e["FileFunction"], e.get("FilePolarity")) for e in job(result)["FilesAttributes"]
    }
    for path, content in gerber.EXPORT.files(result).items():
        attributes = read(content).attributes
        assert told[path] == (attributes[".FileFunction"], attributes[".FilePolarity"])
    assert {path.rpartition(".")[2] for path, (_, polarity) in told.items() if polarity is None} == {
        "ipc",
        "md",
    }
    for path, content in drill.EXPORT.files(result).items():
        assert f"TF.FileFunction,{told[path][0]}\n" in content.decode()


def test_thicknesses_are_the_stackups(result):
    stackup = result.design.board.stackup
    layers = [entry for entry in job(result)["MaterialStackup"] if entry["Type"] in ("Copper", "Dielectric")]
    general = job(result)["GeneralSpecs"]
    assert sum(entry["Thickness"] for entry in layers) == pytest.approx(stackup.thickness * 1e3, abs=1e-6)
    assert general["LayerNumber"] == sum(entry["Type"] == "Copper" for entry in layers) == stackup.layers


def test_board_thickness_is_nominal_or_that_over_the_coverlays(four_layers, flexible):
    """35 um copper, 25 um film and one coverlay of 50 um make 0.11 mm; rigid boards are named 1.6 mm."""
    assert job(four_layers)["GeneralSpecs"]["BoardThickness"] == pytest.approx(1.6)
    assert job(flexible)["GeneralSpecs"]["BoardThickness"] == pytest.approx(0.11)
    whole = sum(entry.get("Thickness", 0.0) for entry in job(flexible)["MaterialStackup"])
    assert whole == pytest.approx(0.11)


def test_one_copper_layer_has_one_film(flexible, two_layers):
    types = [[entry["Type"] for entry in job(each)["MaterialStackup"]] for each in (flexible, two_layers)]
    assert types[0] == ["Legend", "Coverlay", "Copper", "Dielectric"]
    assert types[1] == ["Legend", "SolderMask", "Copper", "Dielectric", "Copper", "SolderMask"]


def ordered(result, **keys):
    design = result.design.unchecked(order=Order(**keys))
    return replace(result, design=design)


def test_it_follows_the_order(two_layers, flexible):
    plain = job(two_layers)["GeneralSpecs"]
    assert "Finish" not in plain
    assert (plain["ViaProtection"], plain["IPC-6012-Class"]) == ("Ib", "2")
    asked = job(ordered(two_layers, finish="enig", vias="filled", ipc_class=3, soldermask_colour="black"))
    assert asked["GeneralSpecs"]["Finish"] == "ENIG"
    assert asked["GeneralSpecs"]["ViaProtection"] == "VI"
    assert asked["GeneralSpecs"]["IPC-6012-Class"] == "3"
    assert [e.get("Color") for e in asked["MaterialStackup"] if e["Type"] == "SolderMask"] == ["Black"] * 2
    assert "ViaProtection" not in job(flexible)["GeneralSpecs"]


def test_every_finish_has_its_word():
    assert gerber_job.FINISHES.keys() == FINISHES.keys()


def test_size_is_the_outlines(four_layers, two_layers):
    assert job(four_layers)["GeneralSpecs"]["Size"] == {"X": 26.0, "Y": 24.0}
    assert job(two_layers)["GeneralSpecs"]["Size"] == {"X": 24.0, "Y": 24.0}


def test_design_rules_are_the_measured_ones(four_layers):
    rules = job(four_layers)["DesignRules"]
    assert [rule["Layers"] for rule in rules] == ["Outer", "Inner"]
    assert all(rule["MinLineWidth"] == rule["TrackToTrack"] == 0.2 for rule in rules)


def guid(result):
    return job(result)["GeneralSpecs"]["ProjectId"]["GUID"]


def test_identity_follows_from_name_revision_and_content(two_layers, four_layers):
    """Two boards of one name but of other copper, films or finish must not pass for each other."""
    traces = (replace(two_layers.art.traces[0], width=0.21e-3), *two_layers.art.traces[1:])
    others = [
        four_layers,
        replace(two_layers, art=replace(two_layers.art, traces=traces)),
        replace(two_layers, design=two_layers.design.unchecked(revision="B")),
        ordered(two_layers, finish="enig"),
    ]
    assert guid(two_layers) == guid(two_layers)
    assert len({guid(two_layers), *map(guid, others)}) == 5


def test_identity_is_that_of_every_gerber_and_drill_file(two_layers):
    told = job(two_layers)["GeneralSpecs"]["ProjectId"]
    line = f"TF.ProjectId,{told['Name']},{told['GUID']},{told['Revision']}"
    for export in (gerber, drill):
        assert all(line in content.decode() for content in export.EXPORT.files(two_layers).values())


def test_the_number_has_the_form_of_a_guid(two_layers):
    """RFC 4122: version 4, variant 10."""
    assert re.fullmatch(
        r"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}", guid(two_layers)
    )
