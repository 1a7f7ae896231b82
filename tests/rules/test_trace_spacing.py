"""Every fault put into sound copper is found at its place, and sound copper has none."""

from dataclasses import replace

import pytest
from boards import blank_art, coil_of, mm, pad, polygon_spiral, read_design, round_spiral, straight

from coilgen.design.reading import read_text
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.job import check as check_design
from coilgen.layout.coil import Trace
from coilgen.rules._places import MOST
from coilgen.rules.trace_spacing import RULE

SPIRALS = [round_spiral, polygon_spiral]


def check(**fields):
    art = blank_art(**fields)
    return list(RULE.check(read_design(), coil_of(art.traces), art))


@pytest.mark.parametrize("spiral", SPIRALS)
def test_turns_at_the_limit_pass(spiral):
    assert check(traces=(spiral(pitch=0.45, width=0.3),)) == []


@pytest.mark.parametrize("spiral", SPIRALS)
def test_turns_two_nanometres_under_the_limit_are_found(spiral):
    found = check(traces=(spiral(pitch=0.45 - 2e-6, width=0.3),))
    assert found[0].value == pytest.approx(0.15 * mm - 2e-9, abs=1e-12)
    assert found[0].limit == pytest.approx(0.15 * mm)
    assert len(found) <= MOST
    assert "places" in found[0].says


@pytest.mark.parametrize("spiral", SPIRALS)
def test_one_layer_at_fault_among_sound_ones_is_named(spiral):
    traces = (spiral(layer=1), spiral(layer=2, pitch=0.4), spiral(layer=3))
    assert {finding.layer for finding in check(copper_layers=4, traces=traces)} == {2}


def test_touching_turns_are_a_short():
    found = check(traces=(polygon_spiral(pitch=0.29, width=0.3),))
    assert found[0].value == pytest.approx(-0.01 * mm, abs=1e-9)
    assert "a short" in found[0].says


def test_a_side_moved_towards_the_next_turn_is_found_there():
    spiral = polygon_spiral()
    at = 9.5j * mm
    bump = Trace(
        layer=1, path=Path((Line(at - 1 * mm + 0.42j * mm, at + 1 * mm + 0.42j * mm),)), width=0.05 * mm
    )
    (found,) = check(traces=(spiral, bump))
    assert found.value < 0
    assert abs(found.at - (at + 0.45j * mm)) < 1.2 * mm


@pytest.mark.parametrize("at", [9.5, -9.75j, 9.2 + 4j])
def test_a_foreign_via_on_the_winding_is_found(at):
    found = check(traces=(polygon_spiral(),), pads=(pad(at, 0.6),))
    assert found[0].value < 0
    assert abs(found[0].at - at * mm) < 0.5 * mm
    assert "pad" in found[0].says


def test_near_pads_are_found_between_them():
    (found,) = check(pads=(pad(0), pad(1.1)))
    assert (found.value, found.at) == (pytest.approx(0.1 * mm), pytest.approx(0.55 * mm))
    assert "Two pads" in found.says


def test_a_lead_that_passes_a_turn_too_near_is_found():
    lead = straight(-10.4 - 5j, -10.4 + 5j)
    (found,) = [f for f in check(traces=(polygon_spiral(), lead)) if f.layer == 1][:1]
    assert found.value == pytest.approx(0.1 * mm)
    assert found.at.real == pytest.approx(-10.2 * mm)


def test_copper_of_different_layers_has_no_gap():
    assert check(traces=(straight(0, 5), replace(straight(0, 5), layer=2)), pads=(pad(2.5, layer=4),)) == []


@pytest.mark.parametrize(
    ("shape", "arrangement", "remedy"),
    [
        ("square", '"grid"\ncolumns = 1\nrows = 2\npitch = 11', "array.pitch"),
        ("round", '"ring"\ncount = 6\nradius = 9.05', "array.radius"),
    ],
)
def test_coils_of_an_array_come_apart_by_what_places_them(shape, arrangement, remedy):
    winding = "turns = 8\ntrace_width = 0.15\ntrace_spacing = 0.15\nouter_size = 9\nlayers = 2\n"
    placed = f'[array]\narrangement = {arrangement}\ncoils = "open"\n'
    found = check_design(read_text(f'name = "a"\n[winding]\nshape = "{shape}"\n{winding}{placed}'))
    told = [each.says for each in found.findings if each.rule == "trace_spacing"]
    assert any(f": raise {remedy}." in says for says in told), told
