"""The whole design: every default filled in, tables that contradict one another refused."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from small_design import faults_with

from coilgen.catalogue import names, rows
from coilgen.design.capability import LIMITS, Rules
from coilgen.design.design import Design
from coilgen.design.drive import Drive, Probe
from coilgen.design.measure import measure_of
from coilgen.design.reading import read_tables

WINDING = {
    "shape": "round",
    "turns": 14,
    "trace_width": "0.15 mm",
    "trace_spacing": 0.15,
    "outer_size": "24 mm",
}


def design(winding=None, **tables):
    return Design.model_validate({"name": "coil", "winding": {**WINDING, **(winding or {})}, **tables})


def sized(shape):
    """Keys that tell a shape of about 24 mm."""
    measure = measure_of(shape)
    if measure.sector:
        return {"shape": shape, "inner_radius": 20, "angle": 60}
    return {"shape": shape, "outer_size": [30, 24] if measure.count == 2 else 24}


def refused(key, **tables):
    with pytest.raises(ValidationError) as caught:
        design(**tables)
    assert f"{key}: " in str(caught.value)
    return str(caught.value)


def test_name_and_winding_make_a_design():
    made = design({"layers": 2})
    assert made.board.stackup.name == "rigid-2-layer-1.6mm"
    assert (made.board.outline, made.board.size, made.pocket) == ("round", None, None)
    assert made.rules.shop == "rigid-standard"
    assert (made.via.drill, made.via.pad, made.via.count) == (0.0003, 0.0006, 1)
    assert (made.terminals.kind, made.terminals.pad, made.terminals.drill) == ("plated-hole", 0.0018, 0.001)
    assert (made.terminals.pitch, made.terminals.side, made.terminals.distance) == (0.0035, "south", None)
    assert (made.drive.voltage, made.drive.current, made.drive.waveform, made.drive.ambient) == (
        5.0,
        None,
        "dc",
        25.0,
    )
    assert made.probe.heights == (0.0005, 0.001, 0.002, 0.005)
    assert made.notes == (
        "No drive is told: 5 V is taken, and current, fields, forces, power and temperature are those at it. "
        "Tell voltage or current in [drive].",
    )


@settings(max_examples=60)
@given(
    shape=st.sampled_from(names("coilgen.layout.shapes")),
    layers=st.integers(1, 8),
    shop=st.sampled_from([None, *rows("shops")]),
    stackup=st.sampled_from([None, *rows("stackups")]),
)
def test_a_design_is_whole_finite_and_plain(shape, layers, shop, stackup):
    tables = {"rules": {"shop": shop} if shop else {}, "board": {"stackup": stackup} if stackup else {}}
    if stackup and int(stackup.split("-")[1]) < layers:
        assert "or use one of" in refused(
            "winding.layers", winding={**sized(shape), "layers": layers}, **tables
        )
        return
    made = design({**sized(shape), "layers": layers}, **tables)
    assert made.board.stackup.layers >= layers
    assert made.via.pad >= made.via.drill + 2 * made.rules.limit("annular_ring") - 1e-12
    assert made.via.drill >= made.rules.limit("drill_diameter")
    assert json.loads(json.dumps(made.resolved(), allow_nan=False)) == made.resolved()
    limits = dict(made.rules.limits)
    assert (limits.pop("coverlay_hold") > 0) == made.board.stackup.flexible or shop is not None
    assert all(math.isfinite(value) and value > 0 for value in limits.values())


@pytest.mark.parametrize("shop", rows("shops"))
def test_limits_are_the_shops_unless_overridden(shop):
    rules = Rules.model_validate({"shop": shop, "trace_spacing": "4 mil", "layer_count": 2})
    assert tuple(rules.limits) == LIMITS
    assert (rules.limit("trace_spacing"), rules.limit("layer_count")) == (0.0001016, 2)
    untouched = Rules.model_validate({"shop": shop}).limits
    assert {name for name in LIMITS if untouched[name] != rules.limits[name]} == {
        "trace_spacing",
        "layer_count",
    }
    with pytest.raises(KeyError):
        rules.limit("shop")
    with pytest.raises(ValidationError, match="did you mean"):
        Rules.model_validate({"shop": shop + "s"})


def test_a_finer_shop_has_no_coarser_limit():
    for coarse, fine in (("rigid-standard", "rigid-fine"), ("flex-standard", "flex-fine")):
        least = [name for name in LIMITS if name not in ("drill_aspect_ratio", "board_size", "layer_count")]
        wide, narrow = (Rules.model_validate({"shop": shop}).limits for shop in (coarse, fine))
        assert all(narrow[name] <= wide[name] for name in least)
        assert any(narrow[name] < wide[name] for name in least)


@pytest.mark.parametrize(
    ("stackup", "shop"),
    [
        ("rigid-4-layer-1.6mm", "rigid-standard"),
        ("heavy-2-layer-1.6mm", "heavy-copper"),
        ("flex-1-layer", "flex-standard"),
        ({"copper": ["52 um", "52 um"], "dielectric": [1]}, "rigid-standard"),
        ({"copper": ["53 um", "53 um"], "dielectric": [1]}, "heavy-copper"),
        ({"copper": ["53 um"], "dielectric": [0.05], "material": "polyimide"}, "flex-standard"),
    ],
)
def test_the_shop_follows_the_stackup(stackup, shop):
    assert design(board={"stackup": stackup}).rules.shop == shop
    assert design(board={"stackup": stackup}, rules={"shop": "flex-fine"}).rules.shop == "flex-fine"


def test_defaults_follow_what_is_given():
    assert design(via={"drill": 0.5}).via.pad == pytest.approx(0.0008)
    assert design(terminals={"drill": 1.5}).terminals.pad == pytest.approx(0.0023)
    assert design(terminals={"kind": "surface-pad"}).terminals.drill == 0
    assert design(pocket={"shape": "square", "size": 4}).pocket.corner_radius == 0.0005
    assert design(pocket={"shape": "square", "size": 4, "corner_radius": 1}).pocket.corner_radius == 0.001
    assert design(pocket={"size": 4}).pocket.corner_radius == 0


def test_without_a_ring_a_vias_pad_must_be_given():
    (fault,) = faults_with(rules={"annular_ring": 0})
    assert fault.startswith("via.pad: not given, and rules.annular_ring leaves no copper")
    assert design(rules={"annular_ring": 0}, via={"pad": 0.5}).via.pad == pytest.approx(0.0005)


def test_a_pocket_too_small_for_the_shops_corners_is_told_by_its_size():
    """The radius was never written: it is not what the designer can mend."""
    (fault,) = faults_with(pocket={"shape": "hexagonal", "size": 0.9})
    assert fault.startswith(
        "pocket.size: 0.9 mm is too small for corners of 0.5 mm, the shop's least; give 1 mm"
    )
    assert design(pocket={"shape": "hexagonal", "size": 1}).pocket.corner_radius == 0.0005


def test_one_copper_layer_takes_surface_pads():
    single = {"stackup": "flex-1-layer"}
    assert design(board=single).terminals.kind == "surface-pad"
    assert "has one copper layer" in refused(
        "terminals.kind", board=single, terminals={"kind": "plated-hole"}
    )


@pytest.mark.parametrize(
    ("key", "tables"),
    [
        ("winding.layers", {"winding": {"layers": 4}, "board": {"stackup": "flex-2-layer"}}),
        ("pocket.size", {"pocket": {"size": "15.9 mm"}}),
        ("board.size", {"board": {"size": 24}}),
        ("board.width", {"board": {"outline": "rectangle", "width": 20, "height": 40}}),
        ("drive.current", {"drive": {"voltage": 5, "current": 1}}),
        ("drive.frequency", {"drive": {"waveform": "sine"}}),
        ("drive.frequency", {"drive": {"frequency": 50}}),
        ("drive.duty", {"drive": {"waveform": "sine", "frequency": 50, "duty": 0.5}}),
    ],
)
def test_contradictions_name_the_key(key, tables):
    refused(key, **tables)


def test_drives():
    assert Drive.model_validate({"ambient": 40}).voltage == 5
    assert Drive.model_validate({"current": "300 mA"}).voltage is None
    assert Drive.model_validate({"waveform": "square", "frequency": "20 kHz"}).duty == 0.5
    assert Drive.model_validate({"waveform": "square", "frequency": 1, "duty": 0.2}).duty == 0.2


@pytest.mark.parametrize(
    ("given", "seconds"), [("20 ms", 0.02), (3, 3.0), ("5e2 us", 5e-4), (1e-9, 1e-9), (1e6, 1e6)]
)
def test_pulses(given, seconds):
    assert Drive.model_validate({"pulse": given}).pulse == seconds
    assert Drive.model_validate({}).pulse == 1.0


@pytest.mark.parametrize(("given", "volts"), [("700 mV", 0.7), (24, 24.0), (1e-3, 1e-3), ("10 kV", 1e4)])
def test_clamps(given, volts):
    assert Drive.model_validate({"clamp": given}).clamp == pytest.approx(volts)
    assert Drive.model_validate({}).clamp == 0.7


_PULSE = 'write a number in s or a string with a unit such as "20 ms"'
_CLAMP = 'write a number in V or a string with a unit such as "5 V"'
_PULSES = "is outside what is allowed, 1e-09 s to 1e+06 s"
_CLAMPS = "is outside what is allowed, 0.001 V to 10000 V"


@pytest.mark.parametrize(
    ("drive", "line"),
    [
        ({"pulse": 0}, f"drive.pulse: 0 s {_PULSES}"),
        ({"pulse": -1}, f"drive.pulse: -1 s {_PULSES}"),
        ({"pulse": 2e6}, f"drive.pulse: 2e+06 s {_PULSES}"),
        ({"pulse": "20 V"}, 'drive.pulse: "20 V": "V" is not a unit of time; use one of s, ms, us, µs'),
        ({"pulse": "fast"}, f'drive.pulse: "fast" is not a time; {_PULSE}'),
        ({"pulse": True}, f"drive.pulse: true is not a time; {_PULSE}"),
        ({"pulse": [1]}, f"drive.pulse: a list is not a time; {_PULSE}"),
        ({"pulse": math.nan}, f"drive.pulse: nan is not a finite number; {_PULSE}"),
        ({"pulse": math.inf}, f"drive.pulse: inf is not a finite number; {_PULSE}"),
        ({"pulses": 1}, 'drive.pulses: no such key; did you mean "pulse"?'),
        ({"clamp": 0}, f"drive.clamp: 0 V {_CLAMPS}"),
        ({"clamp": "-0.7 V"}, f'drive.clamp: "-0.7 V" {_CLAMPS}'),
        ({"clamp": "20 kV"}, f'drive.clamp: "20 kV" {_CLAMPS}'),
        ({"clamp": "0.7 A"}, 'drive.clamp: "0.7 A": "A" is not a unit of voltage; use one of V, mV, kV'),
        ({"clamp": "diode"}, f'drive.clamp: "diode" is not a voltage; {_CLAMP}'),
        ({"clamp": {"voltage": 1}}, f"drive.clamp: a table is not a voltage; {_CLAMP}"),
        ({"clamp": math.nan}, f"drive.clamp: nan is not a finite number; {_CLAMP}"),
        ({"clmp": 1}, 'drive.clmp: no such key; did you mean "clamp"?'),
    ],
)
def test_faults_of_pulse_and_clamp_are_one_line_at_their_key(drive, line):
    assert faults_with(drive=drive) == [line]


def test_probes():
    assert Probe.model_validate({"heights": [0, "1 cm"]}).heights == (0.0, 0.01)


@pytest.mark.parametrize("name", ["", "a b", "../up", "ä", "x" * 65, "a\n", 3])
def test_a_name_must_do_for_files(name):
    with pytest.raises(ValidationError):
        Design.model_validate({"name": name, "winding": WINDING})


def test_notes_of_all_tables():
    winding = {**WINDING, "corner": "rounded"}
    pocket = {"size": 4, "corner_radius": 1}
    made = read_tables({"name": "coil", "winding": winding, "pocket": pocket, "drive": {"voltage": 3}})
    assert [note.split(" ")[0] for note in made.notes] == ["winding.corner", "pocket.corner_radius"]
