"""Files of boards of several windings, read back net by net by readers of their own."""

import csv
import io
import json
import sys
from pathlib import Path

import numpy as np
import pyogrio
import pytest
import shapely
from board_designs import board, winding

import coilgen

sys.path.append(str(Path(__file__).resolve().parent.parent / "random_designs"))

from board_reader import read_board
from several_laws import pieces_by_net

NAMES = ("bucking-pair", "float-drive-and-sense")


@pytest.mark.parametrize("name", NAMES)
def test_each_net_hangs_together_with_its_two_terminals(name, whole):
    result = whole(name)
    found = [(nets, pins) for nets, pins in pieces_by_net(read_board(result.files)) if nets != {""}]
    first, second = (each.name for each in result.windings)
    assert sorted((sorted(nets), sorted(pins)) for nets, pins in found) == [
        ([first], ["1", "2"]),
        ([second], ["3", "4"]),
    ]


@pytest.mark.parametrize("name", NAMES)
def test_the_netlist_names_the_same_nets_and_pins(name, whole):
    result = whole(name)
    text = result.files[f"fab/{name}-netlist.ipc"].decode()
    records = [(line[3:17].strip(), line[27:31].strip()) for line in text.splitlines() if line[:3] == "317"]
    pins = {pin: net for net, pin in records if pin}
    first, second = (each.name for each in result.windings)
    assert pins == {"1": first, "2": first, "3": second, "4": second}
    assert {net for net, _ in records} == {first, second}


@pytest.mark.parametrize("name", NAMES)
def test_pads_of_all_windings_are_listed(name, whole):
    result = whole(name)
    lines = [line for line in result.files[f"{name}-pads.csv"].decode().splitlines() if line[0] != "#"]
    rows = list(csv.DictReader(io.StringIO("\n".join(lines))))
    assert [row["number"] for row in rows][:4] == ["1", "2", "3", "4"]
    wound = {row["net"] for row in rows if not row["number"].startswith("hole")}
    assert wound == {each.name for each in result.windings}


def drawn_areas(content):
    """Closed shapes of each drawing layer as GDAL reads them, mm, overlaps once."""
    options = {"DXF_CLOSED_LINE_AS_POLYGON": "YES", "OGR_ARC_STEPSIZE": "1"}
    before = {name: pyogrio.get_gdal_config_option(name) for name in options}
    pyogrio.set_gdal_config_options(options)
    try:
        _, _, shapes, (layers,) = pyogrio.raw.read(content, columns=["Layer"])
    finally:
        pyogrio.set_gdal_config_options(before)
    found = {}
    for name, shape in zip(layers, shapely.from_wkb(shapes), strict=True):
        ring = shape.exterior if shape.geom_type == "Polygon" else shape
        found.setdefault(name, []).append(shapely.Polygon(ring).buffer(0))
    return {name: shapely.union_all(each) for name, each in found.items()}


@pytest.mark.parametrize("name", NAMES)
def test_drawing_layers_tell_nets_apart(name, whole):
    """Each net's copper on a layer of its own, which a reader that is not ours finds where the net lies."""
    from coilgen.artwork.copper_area import net_union

    result = whole(name)
    art = result.art
    found = drawn_areas(result.files[f"{name}.dxf"])
    ends = {1: "top", art.copper_layers: "bottom"}
    for layer in range(1, art.copper_layers + 1):
        for each in result.windings:
            drawn = found[
                f"copper {layer} of {art.copper_layers} {ends.get(layer, 'inner')} - net {each.name}"
            ]
            own = net_union(art, layer, each.name)
            assert drawn.area == pytest.approx(own.area * 1e6, rel=0.012)
            assert drawn.centroid.x == pytest.approx(own.centroid.x * 1e3, abs=0.02)
    assert not any(layer.startswith("copper") and "net" not in layer for layer in found)


@pytest.mark.parametrize("name", NAMES)
def test_layers_of_the_other_drawings_tell_nets_too(name, whole):
    import ezdxf

    result = whole(name)
    for file, told in ((f"{name}-polylines.dxf", "-{}"), (f"{name}-centrelines.dxf", " - net {} - width ")):
        document = ezdxf.read(io.StringIO(result.files[file].decode("cp1252")))
        used = {entity.dxf.layer for entity in document.modelspace() if entity.dxf.layer.startswith("copper")}
        for each in result.windings:
            assert any(told.format(each.name) in layer for layer in used)
        assert all(any(each.name in layer for each in result.windings) for layer in used)
        assert all(len(layer) <= 31 for layer in used) or "centrelines" in file


def test_the_tests_of_the_board_stand_for_each_net(whole):
    notes = whole("bucking-pair").files["fab/bucking-pair-fabrication-notes.md"].decode()
    assert "### Net left, from terminal 1 to terminal 2" in notes
    assert "### Net right, from terminal 3 to terminal 4" in notes
    assert "against every other net" in notes


def test_the_json_tells_windings_and_matrix(whole):
    document = json.loads(whole("bucking-pair").files["bucking-pair.json"])
    assert [each["name"] for each in document["windings"]] == ["left", "right"]
    assert set(document["windings"][0]["figures"]) >= {"inductance", "resistance_20c", "self_resonance"}
    matrix = np.array(document["figures"]["inductance_matrix"]["value"])
    assert matrix.shape == (2, 2)
    assert "inductance" not in document["figures"]
    assert {"temperature", "power", "copper_mass", "flux_density"} <= set(document["figures"])
    assert isinstance(document["design"]["winding"], list)


def test_the_page_s_key_figures_tell_what_each_winding_has(whole):
    text = whole("float-drive-and-sense").files["float-drive-and-sense.html"].decode()
    keys = text[text.index('id="key-figures"') : text.index("</dl>")]
    for name in ("winding resistances", "winding inductances", "winding currents", "power", "temperature"):
        assert f"<dt>{name}</dt>" in keys
    assert "root mean square" not in keys


def test_the_page_s_key_figures_tell_that_currents_beside_a_mover_are_effective(whole):
    text = whole("fan-stator").files["fan-stator.html"].decode()
    keys = text[text.index('id="key-figures"') : text.index("</dl>")]
    assert "root mean square, mover held" in keys[keys.index("<dt>winding currents</dt>") :]


def test_the_picture_tells_windings_apart(whole):
    picture = whole("bucking-pair").files["bucking-pair.svg"].decode()
    for name in ("left", "right"):
        assert f'data-net="{name}"' in picture
        assert f">{name}</text>" in picture


def test_the_cut_tells_whose_copper_a_layer_is(whole):
    cut = whole("float-drive-and-sense").files["float-drive-and-sense-cross-section.svg"].decode()
    for layer, name in ((1, "drive"), (2, "drive"), (3, "sense"), (4, "sense")):
        assert f"copper {layer} of {name}, " in cut
    assert "copper 1, " in whole("bucking-pair").files["bucking-pair-cross-section.svg"].decode()


def test_the_cut_passes_as_many_windings_as_it_can():
    """Two in a row beat one at the centre; of equals the nearest to it."""
    from coilgen.layout.seen import section_level

    row = [winding("a", centre=[-8, 16]), winding("b", centre=[8, 16.5]), winding("c")]
    for windings, level in ((row, 16e-3), (row[1:], 0.0), (row[1:2], 16.5e-3)):
        assert section_level(board(*windings)) == pytest.approx(level)


def test_three_windings_have_three_ports_with_rows_of_their_own():
    windings = [winding(f"w{k}", centre=[16 * k, 0], turns=3) for k in range(3)]
    result = coilgen.make(board(*windings))
    lines = [line for line in result.files["several.s3p"].decode().splitlines() if line[0] not in "!#"]
    assert [len(line.split()) for line in lines[:3]] == [7, 6, 6]
    assert len(lines) == 3 * 81
    values = np.array([float(x) for line in lines[:3] for x in line.split()][1:]).reshape(3, 3, 2)
    waves = values[..., 0] + 1j * values[..., 1]
    assert waves == pytest.approx(waves.T, abs=1e-12)
    assert np.linalg.svd(waves, compute_uv=False).max() <= 1.0
