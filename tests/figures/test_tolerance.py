"""Tolerances carried into figures, held against designs redrawn at the ends of the tolerances."""

from collections.abc import Mapping

import pytest
from small_design import small_with

from coilgen.catalogue import rows, templates
from coilgen.design.design import Design
from coilgen.design.reading import read_text
from coilgen.errors import DesignError
from coilgen.job import case_of, draw

SOURCES = ("trace width", "copper thickness", "dielectric thickness")


def shifts(design: Design, name: str) -> Mapping[str, tuple[float, float]]:
    return case_of(design, *draw(design)).spread(name).shifts


def value(design: Design, name: str) -> float:
    return float(case_of(design, *draw(design)).value(name))


def etched(design: Design, by: float) -> Design:
    """The same middle lines with wider or narrower copper, m."""
    winding = design.winding
    return design.changed(
        {
            "winding.trace_width": (winding.trace_width + by) * 1e3,
            "winding.trace_spacing": (winding.trace_spacing - by) * 1e3,
            "winding.outer_size": (winding.outer_size + by) * 1e3,
            "winding.inner_size": (winding.inner_size - by) * 1e3,
        }
    )


def laminated(design: Design, *, copper: float = 1.0, dielectric: float = 1.0) -> Design:
    """The same art in other thicknesses."""
    stackup = design.board.stackup
    table = {
        "copper": [each * copper * 1e3 for each in stackup.copper],
        "dielectric": [each * dielectric * 1e3 for each in stackup.dielectric],
        "material": stackup.material,
    }
    return design.changed({"board.stackup": table})


DESIGNS = [
    small_with(),
    small_with(tolerance={"trace_width": "40 um"}).changed(
        {"winding.shape": "square", "winding.layers": 1, "winding.turns": 6}
    ),
    small_with().changed({"winding.connection": "parallel"}),
]


@pytest.mark.parametrize("design", DESIGNS)
@pytest.mark.parametrize(
    ("name", "within"), [("resistance_20c", 0.01), ("inductance", 0.4), ("current", 0.01), ("power", 0.01)]
)
def test_what_is_carried_is_what_another_board_would_have(design: Design, name: str, within: float) -> None:
    """Resistance to 1 % of the shift; inductance, which moves by parts in a thousand, to 40 %."""
    told, tolerance = shifts(design, name), design.tolerance
    usual = value(design, name)
    thick = 1 + tolerance.copper_thickness
    ends = {
        "trace width": [etched(design, by) for by in (-tolerance.trace_width, tolerance.trace_width)],
        "copper thickness": [laminated(design, copper=by) for by in (1 / thick, thick)],
    }
    for source, made in ends.items():
        for shift, end in zip(told[source], made, strict=True):
            assert shift == pytest.approx(value(end, name) - usual, rel=within, abs=2e-4 * usual), source


@pytest.mark.parametrize("end", [0, 1])
@pytest.mark.parametrize("design", DESIGNS)
def test_impedance_is_in_its_band_at_every_frequency(design: Design, end: int) -> None:
    """Boards at the ends of width and thickness; inductance, whose shift is told to 40 %, to half more."""
    slack = {"resistance": 0.0, "inductance": 0.5}
    thick, by = 1 + design.tolerance.copper_thickness, design.tolerance.trace_width
    case = case_of(design, *draw(design))
    rows = case.value("impedance")
    for made in (laminated(design, copper=(1 / thick, thick)[end]), etched(design, (-by, by)[end])):
        for row, other in zip(rows, case_of(made, *draw(made)).value("impedance"), strict=True):
            for name, more in slack.items():
                low, high = row[f"{name}_low"], row[f"{name}_high"]
                assert low < row[name] < high
                over = more * (high - low) / 2
                assert low - over < other[name] < high + over, row["frequency"]
    slow = rows[0]
    assert (slow["resistance_low"], slow["resistance_high"]) == pytest.approx(
        case.spread("resistance_20c").band, rel=1e-3
    )


def test_current_density_by_the_section_that_is_etched() -> None:
    """Of one current in one layer: in proportion to one over the width."""
    design = small_with(drive={"current": 1.0})
    usual, width = value(design, "current_density"), design.winding.trace_width
    ends = [usual * width / (width + by * design.tolerance.trace_width) for by in (-1, 1)]
    shifts_told = shifts(design, "current_density")["trace width"]
    assert [usual + shift for shift in shifts_told] == pytest.approx(ends)


@pytest.mark.parametrize("design", DESIGNS)
def test_a_band_that_is_wide_has_its_causes(design: Design) -> None:
    case = case_of(design, *draw(design))
    for name in ("resistance_20c", "inductance", "current", "power", "current_density", "copper_mass"):
        figure = case.figure(name)
        assert figure is not None
        assert figure.band is not None
        low, high = figure.band
        assert low < figure.value < high
        sizes = [up - down for _, down, up in figure.contributions]
        assert sizes == sorted(sizes, reverse=True)
        assert max(sizes) <= high - low <= sum(sizes)


WARM = {"drive": {"voltage": 1.2, "pulse": 2.0}, "board": {"stackup": "rigid-2-layer-0.8mm"}}
HEAT = (
    *("temperature", "hot_resistance", "hot_current", "hot_power", "largest_current", "largest_voltage"),
    *("largest_pulse_current", "duty_limit", "pulse_temperature", "thermal_time_constant", "switch_off_time"),
)


NEAR = {"thermal_time_constant": 0.35}
"""By the slowest time constant of small changes, whose share of the whole rise's is taken to stay."""


@pytest.mark.parametrize("end", [0, 1])
def test_heat_follows_copper_supply_air_and_convection(end: int) -> None:
    """Against coils made, driven and cooled so; copper's thickness changes the board a little, too."""
    spread = {"voltage": "4 %", "ambient": 10.0, "convection": "20 %", "copper_thickness": "10 %"}
    design = small_with(**WARM, tolerance=spread)
    case, sign = case_of(design, *draw(design)), (-1, 1)[end]
    made = {
        "copper thickness": laminated(design, copper=1.1**sign),
        "voltage": design.changed({"drive.voltage": 1.2 * (1 + 0.04 * sign)}),
        "ambient": design.changed({"drive.ambient": 25.0 + 10 * sign}),
    }
    for source, other in made.items():
        redrawn = case_of(other, *draw(other))
        for name in HEAT:
            change = redrawn.value(name) - case.value(name)
            told = case.spread(name).shifts[source][end]
            near = pytest.approx(change, rel=NEAR.get(name, 0.2), abs=4e-3 * abs(case.value(name)))
            assert told == near, (source, name)
            low, high = case.spread(name).band
            assert low < redrawn.value(name) < high or change == 0


def test_a_coil_that_the_fab_may_make_is_inside_its_band_of_heat() -> None:
    """Thin copper or little wind at its end: each alone stays inside."""
    design = small_with(drive={"current": 1.6}, tolerance={"copper_thickness": "15 %"})
    thin = laminated(design, copper=1 / 1.15)
    band = case_of(design, *draw(design)).spread("temperature").band
    assert value(design, "temperature") + 3 < value(thin, "temperature") < band[1]
    assert "joints" not in shifts(design, "temperature")
    assert "convection" in shifts(design, "temperature")


@pytest.mark.parametrize("end", [0, 1])
def test_the_field_follows_the_current_and_the_layers_depth(end: int) -> None:
    """Against boards at the ends of each tolerance; eight layers of 1.6 mm driven by a current."""
    thick = small_with(
        board={"stackup": "rigid-8-layer-1.6mm"}, drive={"current": 1.0}, probe={"heights": [2]}
    ).changed({"winding.layers": 8})
    stretch = (1 - thick.tolerance.dielectric_thickness, 1 + thick.tolerance.dielectric_thickness)[end]
    made = laminated(thick, dielectric=stretch)
    for name in ("peak_flux_density", "flux_density_per_root_watt"):
        shift = shifts(thick, name)["dielectric thickness"][end]
        assert shift == pytest.approx(value(made, name) - value(thick, name), rel=0.35)
    row = case_of(thick, *draw(thick)).value("flux_density")[0]
    assert row["flux_density_low"] < row["flux_density"] < row["flux_density_high"]


@pytest.mark.parametrize("end", [0, 1])
def test_the_half_millitesla_reaches_farther_with_more_current(end: int) -> None:
    design = small_with(drive={"voltage": 1.0}, tolerance={"voltage": "5 %"})
    shift = shifts(design, "half_millitesla_distance")["voltage"][end]
    other = small_with(drive={"voltage": (0.95, 1.05)[end]})
    change = value(other, "half_millitesla_distance") - value(design, "half_millitesla_distance")
    assert shift == pytest.approx(change, rel=0.1)


MAGNET = {"diameter": 6, "thickness": 2, "remanence": "1.2 T", "gap": 1.0}
PLATE = {"width": 16, "thickness": 1}
PUSHED = {
    "bare": small_with(magnet=MAGNET, drive={"current": 1.0}),
    "with a plate": small_with(magnet=MAGNET, drive={"current": 1.0}, core=[PLATE]),
}


@pytest.mark.parametrize("end", [0, 1])
@pytest.mark.parametrize("pushed", PUSHED)
def test_forces_follow_gap_and_remanence(pushed: str, end: int) -> None:
    """Against the magnet at the end of its gap, and against a weaker or a stronger one."""
    design, names = PUSHED[pushed], ("force_on_magnet", "force_reversed", "force_at_rest", "force_constant")
    share = design.tolerance.remanence
    assert share is not None
    case, moved, other = (
        case_of(each, *draw(each))
        for each in (
            design,
            design.changed({"magnet.gap": (0.95, 1.05)[end]}),
            design.changed({"magnet.remanence": 1200 * (1 - share, 1 + share)[end]}),
        )
    )
    for name in names:
        told, usual = case.spread(name).shifts, case.value(name)
        gap = told.get("gap of the magnet", (0.0, 0.0))[end]
        assert gap == pytest.approx(moved.value(name) - usual, rel=0.2, abs=1e-5)
        assert told["remanence"][end] == pytest.approx(other.value(name) - usual, rel=0.2, abs=1e-5)


@pytest.mark.slow
@pytest.mark.parametrize("end", [0, 1])
def test_forces_over_a_core_follow_its_gap_and_material(end: int) -> None:
    """Against plates nearer and farther off, and of other permeability."""
    tolerances = {"core.1.gap": 0.3, "core.1.gap_tolerance": 0.1, "tolerance.permeability": 0.5}
    design = PUSHED["with a plate"].changed(tolerances)
    material = design.core[0].material
    assert material.permeability is not None
    mu = 1 + (material.permeability - 1) * (1 / 1.5, 1.5)[end]
    usual, moved, other = (
        case_of(each, *draw(each))
        for each in (
            design,
            design.changed({"core.1.gap": (0.2, 0.4)[end]}),
            design.changed({"core.1.material": {"like": material.name, "permeability": mu}}),
        )
    )
    for name in ("force_at_rest", "force_constant"):
        told, value = usual.spread(name).shifts, usual.value(name)
        assert told["gap of core 1"][end] == pytest.approx(moved.value(name) - value, rel=0.35)
        assert told["permeability"][end] == pytest.approx(
            other.value(name) - value, rel=0.35, abs=3e-3 * abs(value)
        )


def test_a_gap_of_its_own_tolerance() -> None:
    design = PUSHED["bare"].changed({"magnet.gap_tolerance": "0.2 mm"})
    wide, usual = (shifts(each, "force_constant")["gap of the magnet"] for each in (design, PUSHED["bare"]))
    assert abs(wide[0]) > 3 * abs(usual[0])


def test_a_graded_magnet_keeps_its_sides_apart() -> None:
    design = PUSHED["bare"].changed({"magnet.remanence": None, "magnet.grade": "N42"})
    low, high = shifts(design, "force_constant")["remanence"]
    assert abs(low) > 0.0
    assert high == 0.0


def test_an_etched_micrometre_counts_more_on_a_fine_trace() -> None:
    fine = small_with(tolerance={"copper_thickness": 0, "conductivity": 0})
    band = case_of(fine, *draw(fine)).figure("resistance_20c")
    assert band is not None
    wide = fine.changed({"winding.trace_width": 1.5, "winding.outer_size": 40})
    other = case_of(wide, *draw(wide)).figure("resistance_20c")
    assert other is not None
    assert band.band is not None and other.band is not None
    share = [(each.band[1] - each.band[0]) / each.value for each in (band, other)]
    assert share[0] > 3 * share[1]


def test_a_supply_told_to_five_per_cent() -> None:
    exact, told = small_with(), small_with(tolerance={"voltage": "5 %"})
    assert "voltage" not in shifts(exact, "current")
    low, high = shifts(told, "current")["voltage"]
    assert (-low, high) == pytest.approx((0.05 * value(told, "current"),) * 2)


class TestTable:
    def test_what_is_left_out_is_the_datas(self) -> None:
        design = small_with()
        row = rows("shops")[design.rules.shop]["tolerance"]
        assert design.tolerance.copper_thickness == row["copper_thickness"]
        assert design.tolerance.trace_width == pytest.approx(30e-6)
        assert small_with(tolerance={"trace_width": "5 um"}).tolerance.trace_width == pytest.approx(5e-6)

    def test_every_row_tells_its_source(self) -> None:
        for kind in ("shops", "stackups"):
            assert all(row["tolerance"]["source"] for row in rows(kind).values())
        assert all(
            row["tolerance"]["source"]
            for row in rows("materials").values()
            if row["sort"] != "laminate"
            if "tolerance" in row
        )

    @pytest.mark.parametrize("name", templates())
    def test_bodies_bring_theirs(self, name: str) -> None:
        design = read_text(templates()[name])
        assert (design.tolerance.permeability is not None) == bool(design.core or design.target)
        magnetic = design.magnet is not None or design.mover is not None
        assert (design.tolerance.remanence is not None) == magnetic

    @pytest.mark.parametrize(
        ("table", "key"),
        [
            ({"voltage": "5 V"}, "tolerance.voltage"),
            ({"copper_thickness": 1.5}, "tolerance.copper_thickness"),
            ({"plating": ["25 um", "20 um"]}, "tolerance.plating"),
            ({"plating": "20 um"}, "tolerance.plating"),
            ({"etching": 0.1}, "tolerance.etching"),
            ({"gap": -1}, "tolerance.gap"),
        ],
    )
    def test_faults_are_told_at_their_key(self, table: Mapping[str, object], key: str) -> None:
        with pytest.raises(DesignError) as caught:
            small_with(tolerance=table)
        assert [fault.key for fault in caught.value.faults] == [key]


def dielectrics(design: Design, **more: object) -> Design:
    """The same art in other dielectrics; more: keys of the stack-up."""
    stackup = design.board.stackup
    table = {
        "copper": [each * 1e3 for each in stackup.copper],
        "dielectric": [each * 1e3 for each in stackup.dielectric],
        "material": stackup.material,
        **more,
    }
    return design.changed({"board.stackup": table})


@pytest.mark.parametrize(
    "name", ["small", "one layer", "flex-2-layer", pytest.param("optical-shutter", marks=pytest.mark.slow)]
)
def test_capacitance_and_resonance_follow_section_and_dielectrics(name: str) -> None:
    """By few turns: within a third of a shift; one layer's and the mask's told up to twice as large."""
    design = {
        "small": small_with(),
        "one layer": small_with().changed({"winding.layers": 1, "winding.turns": 7}),
        "flex-2-layer": small_with(board={"stackup": "flex-2-layer"}, rules={"shop": "flex-standard"}),
    }.get(name) or read_text(templates()[name])
    tolerance, stackup = design.tolerance, design.board.stackup
    case, more = case_of(design, *draw(design)), 1 + tolerance.permittivity
    made = {
        "trace width": etched(design, tolerance.trace_width),
        "dielectric thickness": laminated(design, dielectric=1 + tolerance.dielectric_thickness),
        "permittivity": dielectrics(
            design,
            permittivity=[each * more for each in stackup.permittivity],
            mask_permittivity=stackup.mask_permittivity * more,
        ),
        "solder mask": dielectrics(
            design, mask_thickness=stackup.mask_thickness * (1 + tolerance.mask_thickness) * 1e3
        ),
    }
    for figure in ("winding_capacitance", "self_resonance"):
        usual, told = case.value(figure), case.spread(figure).shifts
        for source, other in made.items():
            change = value(other, figure) - usual
            rough = design.winding.layers == 1 or source == "solder mask"
            less, much = (0.65, 2.1) if rough else (0.65, 1.35)
            shift, slack = told[source][1], 3e-3 * usual
            assert min(less * change, much * change) - slack < shift, (figure, source)
            assert shift < max(less * change, much * change) + slack, (figure, source)


def test_capacitance_is_known_far_nearer_than_a_third() -> None:
    figure = case_of(small_with(), *draw(small_with())).figure("winding_capacitance")
    assert figure is not None
    assert figure.band is not None
    assert figure.band[1] - figure.band[0] < 0.3 * figure.value
    assert {source for source, *_ in figure.contributions} >= {"permittivity", "dielectric thickness"}
