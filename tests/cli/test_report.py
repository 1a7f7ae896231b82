"""What a reader sees of findings and figures: every value in its unit, every sentence once."""

import re
from dataclasses import replace

import pytest

from coilgen.cli.findings import show_findings, show_remarks
from coilgen.cli.report import show_figures
from coilgen.job import quantities
from coilgen.result.figure import Figure
from coilgen.result.figure_text import GROUPS
from coilgen.result.rule import Finding
from coilgen.result.spread import Spread

SAYS = "Two runs of trace are too near: raise winding.trace_spacing."


def finding(value=0.1e-3, unit="m", layer=1, at=1e-3 - 2.5e-3j, says=SAYS):
    limit = 0.15e-3 if unit == "m" else 8.0
    return Finding(rule="spacing", value=value, limit=limit, unit=unit, layer=layer, at=at, says=says)


def findings_shown(capsys, *findings):
    show_findings(findings)
    return capsys.readouterr().out.splitlines()


class TestFindings:
    def test_none(self, capsys):
        assert findings_shown(capsys) == ["rules: clean"]

    def test_each_with_value_limit_layer_place_and_advice(self, capsys):
        assert findings_shown(capsys, finding()) == [
            "    rule     value   limit    layer  at x, y mm",
            " 1  spacing  0.1 mm  0.15 mm  1      1.000, -2.500",
            f" 1 {SAYS}",
            "rules: 1 finding",
        ]

    def test_no_layer_no_place_no_length(self, capsys):
        lines = findings_shown(capsys, finding(value=8.5, unit="1", layer=None, at=None))
        assert lines[1] == " 1  spacing  8.5    8"

    def test_a_value_a_nanometre_under_its_limit_is_seen_to_be(self, capsys):
        lines = findings_shown(capsys, finding(value=0.149999e-3))
        assert "0.149999 mm  0.15 mm" in lines[1]

    def test_the_same_advice_is_told_once(self, capsys):
        lines = findings_shown(capsys, finding(), finding(layer=2), finding(says="Other."), finding())
        assert lines[5:] == [f" 1 to 2 {SAYS}", " 3 Other.", f" 4 {SAYS}", "rules: 4 findings"]


def alike(count, **changes):
    return [
        Finding(
            **{
                "rule": "trace_spacing",
                "value": 1e-4,
                "limit": 1.5e-4,
                "unit": "m",
                "layer": 1,
                "at": 1e-3 * number,
                "says": "Widen it.",
                **changes,
            }
        )
        for number in range(count)
    ]


def test_many_findings_alike_stand_in_one_row(capsys):
    show_findings([*alike(231), *alike(2, layer=2)])
    told = capsys.readouterr().out.splitlines()
    assert re.match(
        r" 1 to 231 +trace_spacing +0.1 mm +0.15 mm +1 +0.000, 0.000 and 230 more places", told[1]
    )
    assert [line.split()[0] for line in told[2:4]] == ["232", "233"]
    assert told[-1] == "rules: 233 findings"


def test_remarks_that_tell_of_harm_are_warnings(capsys):
    show_remarks(["Warning: it burns.", "It may ring."])
    assert capsys.readouterr().out.splitlines() == ["warning: it burns.", "note: It may ring."]


def figure(name, value, unit, band=None, group="winding"):
    return Figure(
        name=name, unit=unit, says=f"the {name}", group=group, value=value, model="", band=band, cautions=()
    )


class _Shown:
    """A result of which only the figures are seen."""

    def __init__(self, *figures):
        self.figures = {figure.name: figure for figure in figures}
        self.windings = self.kinds = ()


def figures_shown(capsys, *figures):
    show_figures(_Shown(*figures))
    return capsys.readouterr().out


class TestFigures:
    def test_every_group_of_figures_has_its_place(self):
        assert {quantity.group for quantity in quantities().values()} <= set(GROUPS)

    def test_stand_in_their_groups(self, capsys):
        told = figures_shown(
            capsys,
            figure("heat_of_it", 300.0, "degC", group="heat"),
            figure("length", 1.25, "m"),
            figure("mass", 2e-3, "kg"),
        )
        assert [line.split()[0] for line in told.splitlines() if line][1:] == [
            "[winding]",
            "length",
            "mass",
            "[heat]",
            "heat_of_it",
        ]

    @pytest.mark.parametrize(
        ("value", "band", "shown"),
        [
            (21.0, (17.8, 24.1), "17.8 to 24.1 Ω"),
            (1.0, (0.811, 1.1), "811 mΩ to 1.10 Ω"),
            (111.0, (110.9889, 111.0111), "± 0.01 %"),
            (0.0, (0.0, 0.0), "± 0 %"),
        ],
    )
    def test_bands_are_short_and_never_two_equal_numbers(self, capsys, value, band, shown):
        told = figures_shown(capsys, figure("r", value, "ohm", band)).splitlines()
        (line,) = (line for line in told if line.startswith("r "))
        assert re.split(r" {2,}", line)[2:] == [shown, "the r"]

    def test_no_band_leaves_its_place_empty(self, capsys):
        told = figures_shown(capsys, figure("r", 21.0, "ohm"))
        assert "figure     value   band  mostly from  what\n" in told
        assert "r          21.0 Ω                     the r\n" in told

    def test_a_band_names_its_two_largest_causes(self, capsys):
        shifts = {"trace width": (-1.0, 1.0), "copper thickness": (-0.5, 0.5), "plating": (-0.4, 0.4)}
        spread = Spread(21.0, {**shifts, "model of r": (-2.0, 2.0)})
        told = figures_shown(capsys, replace(figure("r", 21.0, "ohm"), band=spread.band, spread=spread))
        assert " model, trace width  the r" in told

    def test_a_matrix_is_told_by_layer(self, capsys):
        told = figures_shown(capsys, figure("m", [[1e-6, 2e-7], [2e-7, 1e-6]], "H"))
        assert "m: the m\n    L1       L2\nL1  1.00 µH  200 nH\nL2  200 nH   1.00 µH\n" in told

    def test_a_table_is_told_by_its_columns_in_their_units(self, capsys):
        rows = [{"side": "top", "height": 0.5e-3, "flux_density": 2.5e-3}]
        unit = "table(side, height m, flux_density T)"
        told = figures_shown(capsys, figure("field", rows, unit))
        assert "field: the field\nside  height  flux density\ntop   500 µm  2.50 mT\n" in told

    def test_a_row_may_tell_its_own_unit(self, capsys):
        rows = [{"element": "R0", "value": 3.2, "unit": "ohm"}, {"element": "C", "value": 3e-11, "unit": "F"}]
        told = figures_shown(capsys, figure("circuit", rows, "table(element, value, unit)"))
        assert "element  value\nR0       3.20 Ω\nC        30.0 pF\n" in told

    def test_an_empty_table_says_so(self, capsys):
        assert "field: the field\nno value applies\n" in figures_shown(capsys, figure("field", [], "T"))


class TestLongTables:
    def shown(self, capsys, rows):
        unit = "table(time s, current A)"
        value = [{"time": float(k), "current": k / 10} for k in range(rows)]
        show_figures(_Shown(figure("current_against_time", value, unit, group="drive")))
        return capsys.readouterr().out

    def test_a_long_table_is_thinned_from_first_to_last_row(self, capsys):
        lines = self.shown(capsys, 50).splitlines()
        seconds = [line.split()[0] for line in lines if line.endswith(" A") and line[0].isdigit()]
        assert seconds[0] == "0"
        assert seconds[-1] == "49.0"
        assert 10 < len(seconds) <= 16
        assert "14 of 50 rows; all with --json" in lines

    def test_a_circuit_is_never_thinned(self, capsys):
        """Every second element of a circuit is another circuit."""
        value = [{"element": f"R{k}", "value": 1.0 + k, "unit": "ohm"} for k in range(33)]
        show_figures(_Shown(figure("equivalent_circuit", value, "table(element, value)", group="electrical")))
        told = capsys.readouterr().out.splitlines()
        assert sum(bool(re.match(r"R\d+ ", line)) for line in told) == 33

    def test_a_map_is_only_named(self, capsys):
        assert "2000 rows: on the page, and with --json" in self.shown(capsys, 2000)

    def test_a_short_table_is_whole(self, capsys):
        assert "--json" not in self.shown(capsys, 15)
