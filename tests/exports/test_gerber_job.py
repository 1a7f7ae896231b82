"""The job file agrees with the files it lists (Gerber Job File Format Specification, 2020.08)."""

import json

import pytest
from gerber_reader import dark_area, read

from coilgen.exports.fab import drill, gerber
from coilgen.exports.fab.gerber_job import EXPORT

STACKUP_TYPES = {"Legend", "SolderMask", "Copper", "Dielectric"}


def job(result):
    (content,) = EXPORT.files(result).values()
    return json.loads(content)


def test_its_name_and_sections(result):
    assert set(EXPORT.files(result)) == {f"fab/{result.design.name}.gbrjob"}
    sections = ["Header", "GeneralSpecs", "DesignRules", "FilesAttributes", "MaterialStackup"]
    assert list(job(result)) == sections


def test_it_lists_exactly_the_files_that_show_the_board(result):
    written = {*gerber.EXPORT.files(result), *drill.EXPORT.files(result)}
    assert {f"fab/{entry['Path']}" for entry in job(result)["FilesAttributes"]} == written


def test_functions_and_polarities_are_those_inside_the_files(result):
    told = {
        f"fab/{e['Path']}": (e["FileFunction"], e["FilePolarity"]) for e in job(result)["FilesAttributes"]
    }
    for path, content in gerber.EXPORT.files(result).items():
        attributes = read(content).attributes
        assert told[path] == (attributes[".FileFunction"], attributes[".FilePolarity"])
    for path, content in drill.EXPORT.files(result).items():
        assert f"TF.FileFunction,{told[path][0]}\n" in content.decode()


def test_thicknesses_are_the_stackups(result):
    stackup = result.design.board.stackup
    layers = [entry for entry in job(result)["MaterialStackup"] if entry["Type"] in ("Copper", "Dielectric")]
    general = job(result)["GeneralSpecs"]
    assert sum(entry["Thickness"] for entry in layers) == pytest.approx(stackup.thickness * 1e3, abs=1e-6)
    assert general["BoardThickness"] == pytest.approx(stackup.thickness * 1e3, abs=1e-6)
    assert general["LayerNumber"] == sum(entry["Type"] == "Copper" for entry in layers) == stackup.layers
    assert {entry["Type"] for entry in job(result)["MaterialStackup"]} == STACKUP_TYPES


def test_size_is_the_outlines(four_layers, two_layers):
    assert job(four_layers)["GeneralSpecs"]["Size"] == {"X": 26.0, "Y": 24.0}
    assert job(two_layers)["GeneralSpecs"]["Size"] == {"X": 24.0, "Y": 24.0}


def test_without_an_outline_size_is_the_coppers(flexible):
    image = read(gerber.EXPORT.files(flexible)["fab/stator-pole-copper-L1.gbr"])
    left, low, right, high = dark_area(image).bounds
    size = job(flexible)["GeneralSpecs"]["Size"]
    assert (size["X"], size["Y"]) == pytest.approx(((right - left) * 1e3, (high - low) * 1e3), abs=1e-3)


def test_design_rules_are_the_measured_ones(four_layers):
    rules = job(four_layers)["DesignRules"]
    assert [rule["Layers"] for rule in rules] == ["Outer", "Inner"]
    assert all(rule["MinLineWidth"] == rule["TrackToTrack"] == 0.2 for rule in rules)


def test_identity_follows_the_name_alone(two_layers, four_layers):
    ids = [
        job(result)["GeneralSpecs"]["ProjectId"]["GUID"] for result in (two_layers, two_layers, four_layers)
    ]
    assert ids[0] == ids[1] != ids[2]
