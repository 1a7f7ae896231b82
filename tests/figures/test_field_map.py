"""The field in a plane, its largest, and where it has fallen to 0.5 mT."""

import numpy as np
import pytest
from core_cases import FLEX, SMALL, case, core
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.figures.core._flux_density import flux_density
from coilgen.figures.field.field_map import COLUMNS, IMPLANT_LEVEL, ROWS
from coilgen.result.caution import warns


@pytest.fixture(scope="module")
def small():
    return case(SMALL)


def test_the_map_is_a_full_grid_over_coil_and_probe_heights(small):
    rows = small.value("flux_density_map")
    x, z = ({row[axis] for row in rows} for axis in "xz")
    assert (len(x), len(z), len(rows)) == (COLUMNS, ROWS, COLUMNS * ROWS)
    outer, stackup = small.design.winding.outer_size, small.design.board.stackup
    assert max(x) == -min(x) > outer / 2
    assert max(z) == pytest.approx(3e-3)
    assert min(z) == pytest.approx(-stackup.thickness - 3e-3)
    assert all(0.0 < row["flux_density"] < 0.1 for row in rows)


def test_the_map_meets_the_field_on_the_axis(small):
    """At the lowest and highest row, which lie on probe heights."""
    rows = [row for row in small.value("flux_density_map") if row["x"] == 0.0]
    axis = {(r["side"], r["height"]): r["flux_density"] for r in small.value("flux_density")}
    assert rows[-1]["flux_density"] == pytest.approx(axis["top", 3e-3], rel=2e-3)
    assert rows[0]["flux_density"] == pytest.approx(axis["bottom", 3e-3], rel=2e-3)


def test_the_peak_is_at_least_what_the_axis_has(small):
    first = max(row["flux_density"] for row in small.value("flux_density") if row["height"] == 1e-3)
    assert first < small.value("peak_flux_density") < 5 * first


LONG = """name = "long"
[winding]
shape = "{shape}"
layers = 2
turns = 4
trace_width = 0.2
trace_spacing = 0.2
outer_size = {size}
[drive]
current = 0.5
"""


@pytest.mark.parametrize(
    ("shape", "size"), [("rectangular", "[20, 10]"), ("racetrack", "[40, 8]"), ("triangular", "16")]
)
def test_no_place_over_the_turns_has_more_field_than_the_peak_and_the_distance_tell(shape, size):
    """Long windings and corners: the largest field lies off every line through the middle."""
    coil = case(LONG.format(shape=shape, size=size))
    ends = [each.end for trace in coil.coil.traces if not trace.is_lead for each in trace.path.segments]
    x, y = (np.linspace(min(part), max(part), 70) for part in (np.real(ends), np.imag(ends)))
    across = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)

    def largest(height):
        return np.linalg.norm(flux_density(coil, np.insert(across, 2, height, axis=1)), axis=1).max()

    bottom = -coil.design.board.stackup.thickness
    assert coil.value("peak_flux_density") > 0.98 * max(largest(0.5e-3), largest(bottom - 0.5e-3))
    assert 0.95 < largest(coil.value("half_millitesla_distance")) / IMPLANT_LEVEL < 1.01


@given(st.floats(0.02, 20.0), st.sampled_from(["clockwise", "counterclockwise"]))
@settings(max_examples=5)
def test_the_field_per_root_watt_is_the_same_at_any_current(current, direction):
    text = SMALL.replace("current = 0.5", f"current = {current:.6g}")
    found = case(text.replace("layers = 2", f'layers = 2\ndirection = "{direction}"')).value(
        "flux_density_per_root_watt"
    )
    row = case(SMALL).value("flux_density")[0]
    assert found == pytest.approx(
        row["flux_density"] / 0.25**0.5 / case(SMALL).value("resistance_20c") ** 0.5
    )


@pytest.mark.parametrize("current", [0.3, 2.0])
def test_beyond_the_distance_the_field_is_weaker_than_the_level(current):
    coil = case(SMALL.replace("current = 0.5", f"current = {current}"))
    distance, bottom = coil.value("half_millitesla_distance"), -coil.design.board.stackup.thickness
    rng = np.random.default_rng(4)
    points = np.column_stack([rng.uniform(-8e-3, 8e-3, (300, 2)), np.zeros(300)])
    for face, outward in ((0.0, 1.0), (bottom, -1.0)):
        points[:, 2] = face + outward * (distance * 1.003 + rng.uniform(0, 5e-3, 300))
        assert np.linalg.norm(flux_density(coil, points), axis=1).max() < IMPLANT_LEVEL
    far = flux_density(coil, np.array([[0, 0, 0.997 * distance], [0, 0, bottom - 0.997 * distance]]))
    assert current < 1.0 or np.linalg.norm(far, axis=1).max() > IMPLANT_LEVEL


def test_a_strong_coil_warns_of_implants_and_a_weak_one_does_not():
    strong, weak = (
        case(SMALL.replace("0.5", str(i))).figure("half_millitesla_distance") for i in (1.0, 0.001)
    )
    assert "pacemakers" in strong.cautions[0]
    assert warns(strong.cautions[0])
    assert "ICNIRP 2009" in strong.cautions[0]
    assert weak.value == 0.0
    assert weak.cautions == ()


def test_a_sine_counts_with_its_crest():
    """As a direct current of the crest's size, whose field does not change."""
    sine = 'current = 0.5\nwaveform = "sine"\nfrequency = 1000'
    alternating, direct = (
        case(SMALL.replace("current = 0.5", drive)).figure("half_millitesla_distance")
        for drive in (sine, f"current = {0.5 * 2**0.5}")
    )
    assert alternating.value == pytest.approx(direct.value, rel=1e-6)
    assert "changing field" in alternating.cautions[0]
    assert "changing field" not in direct.cautions[0]


def test_layers_side_by_side_carry_their_shares():
    """The field and its map are those of the layers' own currents."""
    coil = case(SMALL.replace("layers = 2", 'layers = 2\nconnection = "parallel"'))
    rows = [row for row in coil.value("flux_density_map") if row["x"] == 0.0]
    assert rows[-1]["flux_density"] == pytest.approx(
        abs(coil.value("flux_density")[1]["flux_density"]), rel=5e-3
    )


def test_in_a_core_the_map_shows_its_own_flux_density():
    coil = case(FLEX, core("soft iron", width=17, thickness=2.0))
    state = coil.value("core_state")[0]
    stand = coil.design.stand.standing[0]
    inside = [
        row["flux_density"]
        for row in coil.value("flux_density_map")
        if stand.bottom < row["z"] < stand.top and abs(row["x"]) < 8e-3
    ]
    assert len(inside) > 100
    assert 0.5 * state["mean"] < np.mean(inside) < 2 * state["mean"]
    assert max(inside) < 1.2 * state["peak"]
