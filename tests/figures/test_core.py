"""Soft cores as figures: laws, the state they are in, cautions, and facts of the trade."""

from dataclasses import replace

import numpy as np
import pytest
from core_cases import FLEX, SMALL, case, core

from coilgen.errors import DesignError
from coilgen.figures.core._cells import MOST_CELLS, MOST_WORK, cell_size
from coilgen.figures.core._magnetics import core_bodies
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.cell_fit import NARROWEST

FIGURES = (
    "core_inductance",
    "core_inductance_at_rest",
    "core_inductance_small_signal",
    "core_inductance_ratio",
    "core_flux_density",
    "core_peak_flux_density",
    "core_state",
    "core_saturation_current",
    "core_mass",
)


@pytest.fixture(scope="module")
def ferrite():
    """A small coil with a Mn-Zn ferrite plate behind it, far from saturation."""
    return case(SMALL, core("Mn-Zn ferrite", width=11, thickness=1.0))


# Laws


def test_without_a_core_there_is_nothing_to_say():
    bare = case(SMALL)
    assert [bare.figure(name) for name in FIGURES] == [None] * len(FIGURES)


@pytest.mark.slow
def test_inductances_agree_far_from_saturation(ferrite):
    whole = ferrite.value("core_inductance")
    assert ferrite.value("core_inductance_at_rest") == pytest.approx(whole, rel=1e-3)
    assert ferrite.value("core_inductance_small_signal") == pytest.approx(whole, rel=1e-3)
    assert ferrite.value("core_inductance_ratio") == pytest.approx(whole / ferrite.value("inductance"))
    ratio, inductance = (ferrite.figure(f"core_inductance{each}") for each in ("_ratio", ""))
    shares = [[end / each.value for end in each.band] for each in (inductance, ratio)]
    # What raises both inductances leaves their ratio as it is.
    assert shares[0][0] < shares[1][0] < 1 < shares[1][1] < shares[0][1]


@pytest.mark.parametrize("permeability", [3.0, 30.0, 3000.0])
def test_one_sided_cores_at_most_double_the_inductance(permeability):
    """L / L0 <= 1 + (mu - 1) / (mu + 1) (W. A. Roshen and D. E. Turcotte, IEEE Trans. Magn. 24, 1988)."""
    coil = case(SMALL, _straight(permeability, width=14, thickness=1.5, gap=0.0))
    ratio = coil.value("core_inductance_ratio")
    assert 1.0 < ratio < 1.0 + (permeability - 1.0) / (permeability + 1.0)


def test_permeability_near_one_gives_nothing():
    coil = case(SMALL, _straight(1.001, width=11, thickness=1.0))
    assert coil.value("core_inductance_ratio") == pytest.approx(1.0, abs=5e-4)
    assert [row["ratio"] for row in coil.value("core_flux_density")] == pytest.approx([1.0] * 4, abs=5e-4)


def _straight(permeability: float, **measures: float) -> str:
    table = f'{{ like = "ferrite sheet", permeability = {permeability} }}'
    return core("held", form="plate", **measures).replace('"held"', table)


@pytest.mark.slow
def test_the_band_holds_the_value_of_a_finer_grid(ferrite, monkeypatch):
    figure = ferrite.figure("core_inductance")
    monkeypatch.setattr("coilgen.figures.core._cells.CELLS", 12_000)
    finer = case(SMALL, core("Mn-Zn ferrite", width=11, thickness=1.0)).value("core_inductance")
    assert figure.band[0] < finer < figure.band[1]
    assert figure.band[1] - figure.band[0] < 0.05 * figure.value


def test_a_mirrored_design_swaps_the_sides():
    """The coil's middle plane mirrors the core on the bottom to one on the top."""
    below, above = (
        case(SMALL, core("ferrite sheet", width=11, thickness=0.5, place=place))
        for place in ("bottom", "top")
    )
    one, other = (coil.value("core_flux_density") for coil in (below, above))
    for front, back in zip(one, [*other[2:], *other[:2]], strict=True):
        assert front["ratio"] == pytest.approx(back["ratio"], rel=0.02)
    assert below.value("core_inductance") == pytest.approx(above.value("core_inductance"), rel=0.02)


@pytest.mark.slow
def test_parallel_layers_with_a_core_have_a_quarter_of_the_inductance_in_series():
    """Two like layers that couple well: half the turns."""
    plate = core("ferrite sheet", width=17, thickness=0.5)
    series = case(FLEX, plate).value("core_inductance")
    text = FLEX.replace("layers = 2", 'layers = 2\nconnection = "parallel"')
    assert case(text, plate).value("core_inductance") == pytest.approx(series / 4, rel=0.05)


def test_heights_count_from_the_outermost_face(ferrite):
    """Behind the plate the nearest point is a height under the plate, not in it."""
    rows = ferrite.value("core_flux_density")
    assert [(row["side"], row["height"]) for row in rows] == [
        ("top", 1e-3),
        ("top", 3e-3),
        ("bottom", 1e-3),
        ("bottom", 3e-3),
    ]
    assert rows[0]["ratio"] > 1.2
    assert rows[2]["ratio"] < 0.3
    for row in rows:
        assert row["per_ampere"] == pytest.approx(row["flux_density"] / 0.5)


# State


def test_state_of_two_cores():
    sheets = core("ferrite sheet", width=12, thickness=0.3) + core("soft iron", width=12, thickness=1.0)
    coil = case(SMALL, sheets)
    first, second = coil.value("core_state")
    assert (first["material"], second["material"]) == ("ferrite sheet", "soft iron")
    assert first["mass"] + second["mass"] == pytest.approx(coil.value("core_mass"))
    assert first["mass"] == pytest.approx(12e-3**2 * 0.3e-3 * 4700)
    assert coil.value("core_peak_flux_density") == max(first["peak"], second["peak"])
    for row in (first, second):
        assert 0.0 < row["mean"] < row["peak"]
        assert row["saturated"] == 0.0


@pytest.mark.slow
def test_a_thin_sheet_saturates_at_a_large_current():
    plate = core("ferrite sheet", width=11, thickness=0.1, gap=0.02)
    onset = case(SMALL, plate).figure("core_saturation_current")
    strong = case(SMALL.replace("current = 0.5", f"current = {2 * onset.value:.4g}"), plate)
    assert onset.cautions == ()
    assert "saturates" in strong.figure("core_saturation_current").cautions[0]
    assert strong.value("core_inductance_small_signal") < 0.9 * strong.value("core_inductance_at_rest")
    assert strong.value("core_inductance_small_signal") < strong.value("core_inductance")
    assert strong.value("core_state")[0]["saturated"] > 0.05


@pytest.mark.slow
def test_a_sine_saturates_a_core_at_its_crest():
    plate = core("ferrite sheet", width=11, thickness=0.1, gap=0.02)
    onset = case(SMALL, plate).value("core_saturation_current")
    for current, told in ((0.8, True), (0.6, False)):
        driven = f'current = {current * onset:.4g}\nwaveform = "sine"\nfrequency = 1000'
        cautions = (
            case(SMALL.replace("current = 0.5", driven), plate).figure("core_saturation_current").cautions
        )
        assert bool(cautions) == told
        assert all("at the sine crest" in caution for caution in cautions)


def test_metals_tell_what_a_meter_reads_and_ferrites_do_not(ferrite):
    assert ferrite.figure("inductance_in_place").cautions == ()
    iron = case(SMALL, core("soft iron", width=11, thickness=1.0))
    (caution,) = iron.figure("inductance_in_place").cautions
    assert "eddy currents in core 1 a meter reads" in caution
    assert "100 kHz" in caution


# Grids


@pytest.mark.parametrize(
    "tables",
    [
        [core("ferrite sheet", width=25, thickness=0.2)],
        [core("soft iron", width=40, thickness=3.0)],
        [
            core("soft iron", width=30, thickness=2.0),
            core("soft iron", form="disc", diameter=2.0, thickness=1.0),
        ],
        [core("soft iron", form="ring", diameter=20, hole_diameter=18, thickness=1.0)],
    ],
)
def test_grids_stay_bounded_and_every_body_has_cells_across(tables):
    coil = case(SMALL, *tables)
    bodies = core_bodies(coil)
    grid = brick_grid(bodies, cell_size(bodies))
    assert 1000 < grid.filled.sum() < 1.3 * MOST_CELLS
    assert all(min(body.size) / grid.cell[0] > 3.5 for body in bodies)


def test_a_long_rod_beside_a_wide_ring_keeps_the_work_bounded():
    ring = core("Mn-Zn ferrite", form="ring", diameter=30, hole_diameter=8, thickness=0.5)
    rod = core("soft iron", place="pocket", diameter=3, thickness=12, rise=6)
    coil = case(SMALL.replace("outer_size = 10", "outer_size = 12"), "[pocket]\nsize = 3.2\n", ring, rod)
    bodies = core_bodies(coil)
    grid = brick_grid(bodies, cell_size(bodies))
    layers, wide, deep = grid.body.shape
    # Cells may be fitted narrower than asked for; the work grows with the fourth power of that.
    assert (4 * layers) ** 2 * wide * deep < MOST_WORK / NARROWEST**4


def scaled(body, by):
    lengths = {key: by * getattr(body, key) for key in ("thickness", "bottom", "hole")}
    return replace(body, size=(by * body.size[0], by * body.size[1]), **lengths)


@pytest.mark.parametrize("by", [3.0, 0.07, 1 + 1e-7])
def test_cells_grow_with_the_bodies(by):
    ring = core("Mn-Zn ferrite", form="ring", diameter=20, hole_diameter=18, thickness=1.0)
    bodies = core_bodies(case(SMALL, ring))
    grown = cell_size(tuple(scaled(body, by) for body in bodies))
    assert grown == pytest.approx(by * cell_size(bodies), rel=1e-8, abs=0)


# Facts of the trade: common practice, no source; the geometry is invented.


def test_a_flex_coil_without_a_core_at_5_volts():
    """1 to 1.5 mT near its face."""
    fine = FLEX.replace("0.12", "0.1").replace("turns = 25", "turns = 50").replace("= 16", "= 28")
    assert 1.0e-3 < case(fine).value("flux_density")[0]["flux_density"] < 1.5e-3


def test_ferrite_sheet_behind_a_flex_coil():
    """Over the whole coil it raises the inductance by about 1.7 times, in the middle by under 1.1 times."""
    whole, piece = (
        case(FLEX, core("ferrite sheet", width=width, thickness=0.2)).value("core_inductance_ratio")
        for width in (17, 4)
    )
    assert 1.5 < whole < 1.95
    assert 1.0 < piece < 1.1


@pytest.mark.parametrize("material", ["soft iron", "low-carbon steel"])
def test_iron_behind_a_flex_coil(material):
    """It raises the field in front by about 2 to 2.5 times, and shields what is behind."""
    rows = case(FLEX, core(material, width=18, thickness=1.5)).value("core_flux_density")
    assert 1.8 < rows[0]["ratio"] < 2.6
    assert all(row["ratio"] < 0.3 for row in rows if row["side"] == "bottom")
    assert np.all(np.diff([row["flux_density"] for row in rows if row["side"] == "top"]) < 0.0)


def test_a_wall_too_thin_for_cells_is_a_fault_of_the_design():
    """The solver would leave such a body out and say nothing."""
    ring = '[[core]]\nform = "ring"\nthickness = 5\ndiameter = 14\nhole_diameter = 13.98\n'
    with pytest.raises(DesignError, match="core: cannot be computed: a ring is too narrow"):
        case(SMALL + ring).figure("core_inductance")
