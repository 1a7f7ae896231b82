"""Figures as text: values and bands, and tables whose columns have their units."""

from coilgen.result.figure import Figure
from coilgen.result.figure_text import band_text, cause_shifts, causes_text, cells, key_figures, value_text
from coilgen.result.spread import Spread


def test_a_force_at_rest_is_looked_at_first_where_something_draws_the_magnet():
    """Else a magnet that the coil cannot turn round looks as if the current pushed it."""
    held, free = (
        {
            "force_at_rest": Figure(
                name="force_at_rest",
                unit="N",
                says="",
                group="force",
                value=value,
                model="",
                band=None,
                cautions=(),
            )
        }
        for value in (-2.0, 0.0)
    )
    assert [figure.value for figure in key_figures(held)] == [-2.0]
    assert key_figures(free) == []


def figure(
    value: object, unit: str, band: tuple[float, float] | None = None, spread: Spread | None = None
) -> Figure:
    return Figure(
        name="x",
        unit=unit,
        says="",
        group="electrical",
        value=value,
        model="",
        band=band,
        cautions=(),
        spread=spread,
    )


def test_values_have_units_and_bands_share_them() -> None:
    assert value_text(figure(1.2345e-5, "H")) == "12.3 µH"
    assert band_text(figure(1.25, "ohm", (1.0, 1.5))) == "1.00 to 1.50 Ω"
    assert band_text(figure(0.95, "A", (0.9, 1.1))) == "900 mA to 1.10 A"
    assert band_text(figure(1.2345e-5, "H", (1.2344e-5, 1.2346e-5))) == "± 0.008 %"
    assert band_text(figure(25.001, "degC", (24.998, 25.004))) == "± 0.003 K"
    assert band_text(figure(2.0, "W")) == ""


def test_columns_have_the_units_of_the_table() -> None:
    rows = [
        {"side": "top", "height": 5e-4, "flux_density": 4.1e-3},
        {"side": "top", "height": 1e-3, "flux_density": None},
    ]
    heads, shown = cells(figure(rows, "table(side, height m, flux_density T)"))
    assert heads == ("side", "height", "flux_density")
    assert shown == [("top", "500 µm", "4.10 mT"), ("top", "1.00 mm", "–")]


def test_a_row_s_own_unit_goes_into_its_value() -> None:
    rows = [{"element": "R0", "value": 3.21, "unit": "ohm"}, {"element": "L0", "value": 1e-5, "unit": "H"}]
    assert cells(figure(rows, "table(element, value, unit)")) == (
        ("element", "value"),
        [("R0", "3.21 Ω"), ("L0", "10.0 µH")],
    )
    rows = [
        {"element": "R5", "value": 1060.0, "unit": "ohm"},
        {"element": "C", "value": 2.8e-11, "unit": "F"},
    ]
    assert cells(figure(rows, "table(element, value, unit)"))[1][1] == ("C", "28.0 pF")


def test_matrices_are_by_layer() -> None:
    heads, shown = cells(figure([[1e-6, 5e-7], [5e-7, 1e-6]], "H"), 4)
    assert heads == ("", "L1", "L2")
    assert shown[0] == ("L1", "1.000 µH", "500.0 nH")


def test_causes_are_told_with_their_shares_of_the_size() -> None:
    force = Spread(-2.0, {"remanence": (0.0, 0.06), "model of force": (-0.02, 0.02), "gap": (-1e-4, 1e-4)})
    shown = figure(-2.0, "N", force.band, force)
    assert cause_shifts(shown, 3) == ["remanence -3 to +0 %", "model ± 1 %"]
    assert causes_text(shown) == "remanence, model"
    warm = Spread(60.0, {"convection": (-5.0, 3.5)})
    assert cause_shifts(figure(60.0, "degC", warm.band, warm), 3) == ["convection -5 to +3.5 K"]
    none = Spread(0.0, {"gap": (-0.1, 0.2)})
    assert cause_shifts(figure(0.0, "N", none.band, none), 3) == ["gap -100 mN to 200 mN"]


def test_what_is_rounding_beside_the_others_is_nothing() -> None:
    """A force that two windings of one plane have across it, and a harmonic that three phases cancel."""
    rows = [{"winding": "a", "z": 3.2e-8}, {"winding": "b", "z": -9.3e-25}]
    assert [row[1] for row in cells(figure(rows, "table(winding, z N)"))[1]] == ["32.0 nN", "0 N"]
    assert cells(figure([[1.0, 1.4e-17], [1.4e-17, 1.0]], "1"))[1][0] == ("L1", "1", "0")
    assert cells(figure([[1.0, 1e-9], [1e-9, 1.0]], "1"))[1][0][2] == "1.00e-09"


def test_parts_of_a_vector_are_told_beside_one_another() -> None:
    rows = [{"part": "forward", "x": 1e-7, "y": -2e-7, "z": -1.35e-21}]
    told = figure(rows, "table(part, x N m, y N m, z N m)")
    assert cells(told)[1] == [("forward", "100 nN m", "-200 nN m", "0 N m")]
