"""The whole design: every default filled in, tables that contradict one another refused."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from coilgen.catalogue import names, rows
from coilgen.design import LIMITS, Design, Drive, Probe, Rules

WINDING = {
    "shape": "round",
    "turns": 14,
    "trace_width": "0.15 mm",
    "trace_spacing": 0.15,
    "outer_size": "24 mm",
}


def design(winding=None, **tables):
    return Design.model_validate({"name": "coil", "winding": {**WINDING, **(winding or {})}, **tables})


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
    assert made.notes == ()


@settings(max_examples=60)
@given(
    shape=st.sampled_from(names("coilgen.shapes")),
    layers=st.integers(1, 8),
    shop=st.sampled_from([None, *rows("shops")]),
    stackup=st.sampled_from([None, *rows("stackups")]),
)
def test_a_design_is_whole_finite_and_plain(shape, layers, shop, stackup):
    tables = {"rules": {"shop": shop} if shop else {}, "board": {"stackup": stackup} if stackup else {}}
    if stackup and int(stackup.split("-")[1]) < layers:
        assert "or use one of" in refused(
            "winding.layers", winding={"shape": shape, "layers": layers}, **tables
        )
        return
    made = design({"shape": shape, "layers": layers}, **tables)
    assert made.board.stackup.layers >= layers
    assert made.via.pad >= made.via.drill + 2 * made.rules.limit("annular_ring") - 1e-12
    assert made.via.drill >= made.rules.limit("drill_diameter")
    assert json.loads(json.dumps(made.resolved(), allow_nan=False)) == made.resolved()
    assert all(math.isfinite(value) and value > 0 for value in made.rules.limits.values())


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
    assert design({"shape": "square"}).board.outline == "square"


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


def test_probes():
    assert Probe.model_validate({"heights": [0, "1 cm"]}).heights == (0.0, 0.01)


@pytest.mark.parametrize("name", ["", "a b", "../up", "ä", "x" * 65, "a\n", 3])
def test_a_name_must_do_for_files(name):
    with pytest.raises(ValidationError):
        Design.model_validate({"name": name, "winding": WINDING})


def test_notes_of_all_tables():
    made = design({"corner": "rounded"}, pocket={"size": 4, "corner_radius": 1})
    assert [note.split(" ")[0] for note in made.notes] == ["winding.corner", "pocket.corner_radius"]
