"""Variants side by side: rows in order, the figures each column reads, what is left out, faults together."""

import math
import multiprocessing
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_design import SMALL

from coilgen import job
from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.errors import DesignError
from coilgen.processors import processors
from coilgen.result.figure import Quantity
from coilgen.result.figure_text import key_figures
from coilgen.study.compare import BASE, compare
from coilgen.study.comparison_columns import COLUMNS
from coilgen.study.memory import AbandonedError

DRIVEN = SMALL + '[drive]\nvoltage = 0.5\n[probe]\nheights = ["0.8 mm", "3 mm"]\n'
WINDINGS = """
[[variant]]
name = "fewer turns"
[variant.winding]
turns = 2
[[variant]]
name = "clockwise, one volt"
[variant.winding]
direction = "clockwise"
[variant.drive]
voltage = 1.0
"""
CORES = """
[[variant]]
name = "sheet"
[[variant.core]]
material = "ferrite sheet"
form = "disc"
diameter = "16 mm"
thickness = "0.3 mm"
[[variant]]
name = "piece of sheet"
[[variant.core]]
material = "ferrite sheet"
form = "disc"
diameter = "4 mm"
thickness = "0.3 mm"
[[variant]]
name = "plate"
[[variant.core]]
form = "disc"
diameter = "16 mm"
thickness = "1 mm"
"""
PUSHED = """
[magnet]
form = "disc"
diameter = "6 mm"
thickness = "2 mm"
grade = "N42"
gap = "1 mm"
[[variant]]
name = "iron behind"
[[variant.core]]
form = "disc"
diameter = "16 mm"
thickness = "1 mm"
[[variant]]
name = "hot"
[variant.drive]
voltage = 3.0
[[variant]]
name = "narrow"
[variant.winding]
trace_spacing = "0.1 mm"
"""
"""What leads a chooser astray: iron that holds the magnet, a drive too hot, spacing no shop etches."""
CROWDED = 13
"""Turns that leave no room for the pads inside."""


def by_name(comparison):
    return {row.name: row.values for row in comparison.rows}


@pytest.fixture(scope="module")
def windings():
    return compare(read_text(DRIVEN + WINDINGS))


@pytest.fixture(scope="module")
def choice():
    return compare(read_text(DRIVEN + PUSHED))


@pytest.fixture(scope="module")
def cores():
    return compare(read_text(DRIVEN + CORES))


class TestRows:
    def test_the_design_comes_first_then_its_variants_in_the_files_order(self, windings):
        names = [row.name for row in windings.rows]
        assert names == [BASE, "fewer turns", "clockwise, one volt"]

    @pytest.mark.parametrize(
        ("taken", "own"),
        [
            ((BASE,), "small"),
            ((BASE, "small"), f"small, {BASE}"),
            (("small",), BASE),
            ((BASE, "small", f"small, {BASE}", f"{BASE} (2)"), f"{BASE} (3)"),
        ],
    )
    def test_a_name_that_a_variant_took_is_not_used_twice(self, taken, own):
        variants = "".join(f'[[variant]]\nname = "{name}"\n' for name in taken)
        assert [row.name for row in compare(read_text(DRIVEN + variants)).rows] == [own, *taken]

    def test_values_are_the_figures_of_the_variants_own_design(self, windings):
        design = read_text(DRIVEN + WINDINGS)
        rows = by_name(windings)
        for name, own in ((BASE, design), *((each.name, each.design) for each in design.variant)):
            figures = job.predict(own).figures
            for column in ("inductance", "resistance_20c", "current", "temperature"):
                assert rows[name][column] == pytest.approx(figures[column].value, rel=1e-9), (name, column)
            field = {(row["side"], row["height"]): row for row in figures["flux_density"].value}
            assert rows[name]["flux_density_front"] == field["top", 0.8e-3]["flux_density"]
            assert rows[name]["flux_density_back"] == field["bottom", 0.8e-3]["flux_density"]

    def test_the_field_follows_the_current_and_its_sense(self, windings):
        rows = by_name(windings)
        twice = rows["clockwise, one volt"]["flux_density_front"]
        assert twice == pytest.approx(-2 * rows[BASE]["flux_density_front"], rel=1e-6)

    def test_all_are_probed_at_the_designs_own_first_height(self):
        other = '[[variant]]\nname = "probed elsewhere"\n[variant.probe]\nheights = [9]\n'
        found = compare(read_text(DRIVEN + other))
        own, elsewhere = found.rows
        assert found.height == 0.8e-3
        assert own.values == elsewhere.values

    def test_progress_counts_the_rows(self):
        told = []
        compare(read_text(DRIVEN + WINDINGS), progress=lambda *far: told.append(far))
        assert told == [(1, 3), (2, 3), (3, 3)]

    def test_the_rows_bear_what_their_figures_caution_against(self, cores):
        cautions = {row.name: " ".join(row.cautions) for row in cores.rows}
        assert "With eddy currents in core 1 a meter reads" in cautions["plate"]
        assert "eddy currents" not in cautions["sheet"] + cautions[BASE]

    def test_and_what_was_rounded_or_led_otherwise(self):
        """A number of turns that follows is rounded down; of one layer the inner end is a pad inside."""
        text = DRIVEN.replace("turns = 3\n", 'inner_size = "9.2 mm"\n').replace("layers = 2", "layers = 1")
        design = read_text(text + '[board]\nstackup = "flex-1-layer"\n[[variant]]\nname = "same"\n')
        said = {*design.notes, *job.draw(design)[0].says}
        assert len(said) == 2
        for row in compare(design).rows:
            assert said <= set(row.cautions)


class TestCores:
    """A sheet or plate behind a coil adds field in front, takes it away behind, and raises the inductance."""

    def test_the_core_raises_the_inductance_no_more_than_an_unbounded_half_space(self, cores):
        """At most twice: image of a coil beside a half space of great permeability."""
        rows = by_name(cores)
        bare = rows[BASE]["inductance"]
        assert bare < rows["piece of sheet"]["inductance"] < 1.1 * bare
        assert 1.2 * bare < rows["sheet"]["inductance"] < 2 * bare
        assert 1.2 * bare < rows["plate"]["inductance"] < 2 * bare

    def test_field_in_front_and_behind(self, cores):
        rows = by_name(cores)
        for name in ("sheet", "plate"):
            assert 1.0 < rows[name]["ratio_front"] < 2.0
            assert 0.0 < rows[name]["ratio_back"] < 0.6
        assert (
            rows["plate"]["ratio_back"] < rows["sheet"]["ratio_back"] < rows["piece of sheet"]["ratio_back"]
        )

    def test_the_ratio_in_front_is_to_the_bare_coil_where_nothing_stands_in_front(self, cores):
        rows = by_name(cores)
        for name in ("sheet", "piece of sheet", "plate"):
            found = rows[name]["flux_density_front"] / rows[BASE]["flux_density_front"]
            assert found == pytest.approx(rows[name]["ratio_front"], rel=1e-3)

    def test_mass_is_volume_times_density(self, cores):
        mass = by_name(cores)["plate"]["core_mass"]
        assert mass == pytest.approx(7870.0 * math.pi / 4 * 16e-3**2 * 1e-3, rel=1e-9)

    def test_what_does_not_apply_to_a_row_is_blank(self, cores):
        blank = {name for name, value in by_name(cores)[BASE].items() if value is None}
        assert blank == {"ratio_front", "ratio_back", "core_peak_flux_density", "core_mass", "core_saturated"}


class TestColumns:
    def test_those_of_cores_are_left_out_without_any(self, windings):
        told = [column.name for column in windings.columns]
        assert told == [
            "inductance",
            "flux_density_front",
            "flux_density_back",
            "resistance_20c",
            "current",
            "temperature",
            "rules_broken",
        ]
        assert all(list(row.values) == told for row in windings.rows)

    def test_pull_is_there_with_a_target_in_any_row_and_says_whether_it_lifts(self):
        target = '[variant.target]\nform = "disc"\ndiameter = "5 mm"\nthickness = "1 mm"\ngap = "0.3 mm"\n'
        text = DRIVEN
        for name, mass in (("light", "1e-6 g"), ("heavy", "100 g")):
            text += f'[[variant]]\nname = "{name}"\n{target}mass = "{mass}"\n'
        rows = by_name(compare(read_text(text)))
        assert (rows[BASE]["pull_on_target"], rows[BASE]["lifts"]) == (None, None)
        assert rows["light"]["pull_on_target"] == rows["heavy"]["pull_on_target"] > 0
        assert (rows["light"]["lifts"], rows["heavy"]["lifts"]) == (True, False)

    def test_force_constant_is_there_with_a_magnet_in_any_row(self):
        magnet = (
            '[[variant]]\nname = "magnet"\n[variant.magnet]\nform = "disc"\ndiameter = "4 mm"\n'
            'thickness = "2 mm"\ngrade = "N42"\ngap = "1 mm"\n'
        )
        design = read_text(DRIVEN + magnet)
        rows = by_name(compare(design))
        own = design.variant[0].design
        figure = job.case_of(own, *job.draw(own)).value("force_constant")
        assert rows[BASE]["force_constant"] is None
        assert rows["magnet"]["force_constant"] == pytest.approx(figure, rel=1e-9)

    def test_no_other_figure_is_computed(self, monkeypatch):
        """Impedance and capacitance take long and are not compared."""

        def asked(case):
            pytest.fail("a figure that is not compared was computed")

        kinds = dict(job.quantities())
        for name in ("impedance", "winding_capacitance", "flux_density_map", "core_saturation_current"):
            kinds[name] = Quantity(name=name, unit="1", says="", group="field", compute=asked)
        monkeypatch.setattr(job, "quantities", lambda: kinds)
        assert len(compare(read_text(DRIVEN + WINDINGS)).rows) == 3

    def test_every_column_has_a_unit_that_figures_have(self):
        units = {quantity.unit for quantity in job.quantities().values()}
        assert {column.unit for column in COLUMNS} <= {*units, ""}
        assert len({column.name for column in COLUMNS}) == len(COLUMNS)


class TestWorkers:
    @pytest.mark.slow
    def test_rows_agree_whoever_computes_them_and_come_in_the_same_order(self, windings):
        told = []
        shared = compare(read_text(DRIVEN + WINDINGS), workers=2, progress=lambda *far: told.append(far))
        assert told == [(1, 3), (2, 3), (3, 3)]
        assert shared.columns == windings.columns
        for row, alone in zip(shared.rows, windings.rows, strict=True):
            assert (row.name, row.cautions) == (alone.name, alone.cautions)
            assert row.values == alone.values

    def test_there_is_a_processor(self):
        assert processors() >= 1


class TestFaults:
    def test_no_variants(self):
        with pytest.raises(DesignError, match=r"variant: none given; add a \[\[variant\]\] table") as caught:
            compare(read_text(SMALL))
        assert len(caught.value.faults) == 1

    def test_no_room_in_the_design_itself_is_told_once(self):
        text = SMALL.replace("turns = 3", f"turns = {CROWDED}")
        text += '[[variant]]\nname = "sheet"\n[[variant.core]]\nwidth = "9 mm"\nthickness = "1 mm"\n'
        with pytest.raises(DesignError) as caught:
            compare(read_text(text))
        assert [fault.key for fault in caught.value.faults] == ["winding.inner_size"]

    @settings(max_examples=20)
    @given(st.lists(st.sampled_from([2, 4, CROWDED]), min_size=1, max_size=5), st.sampled_from([1, 2]))
    def test_all_variants_without_room_are_told_together_by_name(self, turns, workers):
        turns = [*turns, CROWDED]
        text = SMALL + "".join(
            f'[[variant]]\nname = "number {k}"\n[variant.winding]\nturns = {count}\n'
            for k, count in enumerate(turns)
        )
        with pytest.raises(DesignError) as caught:
            compare(read_text(text), workers=workers)
        crowded = [k for k, count in enumerate(turns) if count == CROWDED]
        assert [fault.key for fault in caught.value.faults] == [
            f'variant "number {k}": winding.inner_size' for k in crowded
        ]
        assert all("is missing" in line for line in str(caught.value).splitlines())


class TestChoice:
    def test_each_variant_tells_what_it_cannot_do(self, choice):
        told = {row.name: row.cannot for row in choice.rows}
        assert told[BASE] == ()
        assert told["iron behind"][0].startswith("cannot push: held at rest with ")
        assert told["hot"][0].startswith("cannot stay on: ")
        assert "trace_spacing broken at" in told["narrow"][0]

    def test_the_strongest_is_not_the_best_when_it_cannot_push(self, choice):
        rows = by_name(choice)
        assert abs(rows["iron behind"]["force_constant"]) > abs(rows[BASE]["force_constant"])
        assert "iron behind" not in choice.best["force_constant"]
        assert rows["iron behind"]["force_on_magnet"] * rows["iron behind"]["force_reversed"] > 0

    def test_forces_are_told_at_rest_and_either_way(self, choice):
        for values in by_name(choice).values():
            mean = (values["force_on_magnet"] + values["force_reversed"]) / 2
            assert mean == pytest.approx(values["force_at_rest"], rel=0.05, abs=1e-9)
        assert by_name(choice)["narrow"]["rules_broken"] > 0

    def test_the_best_of_each_column_that_has_a_direction(self, windings):
        assert windings.best["temperature"] == ("fewer turns",) or windings.best["temperature"] == (BASE,)
        assert set(windings.best) <= {column.name for column in COLUMNS if column.best}


@pytest.mark.slow
def test_workers_end_once_nobody_waits_and_with_a_parent_that_is_killed(tmp_path):
    """What is left is not computed to its end; a killed parent leaves no process that waits for tasks."""
    begun = time.monotonic()
    with pytest.raises(AbandonedError):
        compare(
            read_text(templates()["specimen-drawer-latch"]),
            workers=2,
            wanted=lambda: time.monotonic() < begun + 4.0,
        )
    assert multiprocessing.active_children() == []
    file = tmp_path / "latch.toml"
    file.write_text(templates()["specimen-drawer-latch"], encoding="utf-8")
    with subprocess.Popen([sys.executable, "-m", "coilgen", "compare", str(file)], cwd=tmp_path) as run:
        until(lambda: len(children(run.pid)) >= 2)
        workers = children(run.pid)
        run.kill()
    until(lambda: not any(Path(f"/proc/{pid}").exists() for pid in workers))


def children(parent):
    """Processes begun by a process."""
    try:
        return Path(f"/proc/{parent}/task/{parent}/children").read_text().split()
    except FileNotFoundError:
        return []


def until(true):
    """Waits, two minutes at most, until something is so."""
    end = time.monotonic() + 120
    while not true():
        assert time.monotonic() < end
        time.sleep(0.05)


def test_what_a_told_pulse_heats_is_compared_and_among_the_key_figures() -> None:
    variants = '[[variant]]\nname = "pulsed"\ndrive.pulse = "20 ms"\n'
    design = read_text(DRIVEN + variants)
    own, pulsed = compare(design).rows
    assert own.values["pulse_temperature"] is None  # nobody asks for one
    case = job.case_of(design.variant[0].design, *job.draw(design.variant[0].design))
    assert pulsed.values["pulse_temperature"] == pytest.approx(case.value("pulse_temperature"), rel=1e-9)
    for one, told in ((design, False), (design.variant[0].design, True)):
        figure = job.case_of(one, *job.draw(one)).figure("pulse_temperature")
        assert bool(key_figures({"pulse_temperature": figure})) is told
