"""The coil page: one file that needs nothing else, holds what the result does, and is well formed."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from samples import TABLES, sample
from test_drawing import finding, strokes

from coilgen.design.design import Design
from coilgen.design.reading import read_tables
from coilgen.exports.page import page
from coilgen.exports.page._design_tables import design_rows
from coilgen.exports.page._summary import change_text
from coilgen.exports.page._words import words
from coilgen.result.figure import Figure
from coilgen.result.result import Result
from coilgen.result.spread import Spread

VOID = {"meta", "link", "input"}


def figure(name: str, value: object, unit: str, band: tuple[float, float] | None = None) -> Figure:
    return Figure(
        name=name,
        unit=unit,
        says=f"says {name}",
        group="electrical",
        value=value,
        model=f"model of {name}",
        band=band,
        cautions=(),
    )


FIGURES = {
    each.name: each
    for each in (
        figure("resistance_20c", 1.25, "ohm", (1.0, 1.5)),
        figure("inductance", 1.2345e-5, "H", (1.2344e-5, 1.2346e-5)),
        figure("layer_inductances", [[1e-6, 5e-7], [5e-7, 1e-6]], "H"),
        figure(
            "impedance",
            [
                {"frequency": 10.0**k, "resistance": 1.0 + k, "inductance": 1e-5, "quality": k}
                for k in range(3, 7)
            ],
            "table(frequency Hz, resistance ohm, inductance H, quality 1)",
        ),
    )
}


@pytest.fixture(params=TABLES)
def result(request: pytest.FixtureRequest) -> Result:
    return replace(sample(request.param), figures=FIGURES)


def text_of(result: Result) -> str:
    (content,) = page.files(result).values()
    return content.decode()


class Reader(HTMLParser):
    """Tags that open and close in order, their attributes, and the text between them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("script", "style"):
            self.texts.append(data)


def test_is_one_file_named_after_the_design(result: Result) -> None:
    assert list(page.files(result)) == [f"{result.design.name}.html"]


def test_is_well_formed_with_unique_names(result: Result) -> None:
    reader = Reader(text_of(result))
    assert reader.open == []
    names = [attributes["id"] for _, attributes in reader.tags if "id" in attributes]
    assert len(names) == len(set(names))
    used = [attributes["href"] for tag, attributes in reader.tags if tag == "use"]
    assert all((name or "").removeprefix("#") in names for name in used)


def test_reaches_for_nothing_outside(result: Result) -> None:
    text = text_of(result)
    assert re.findall(r'(?:src|href)="(?!#|data:,)[^"]*"', text) == []
    assert not re.search(r"https?://|@import|url\(", text)


def test_is_the_same_each_time_and_small(result: Result) -> None:
    assert page.files(result) == page.files(result)
    assert len(text_of(result)) < 3e6


def test_the_picture_s_traces_are_the_art_s(result: Result) -> None:
    paths = [attributes for tag, attributes in Reader(text_of(result)).tags if "data-start" in attributes]
    drawn = sorted(sum(length for *_, length in strokes(each["d"] or "")) for each in paths)
    assert drawn == pytest.approx(sorted(t.path.length * 1e3 for t in result.art.traces), rel=1e-5)


def test_lengths_along_the_current_follow_each_other(result: Result) -> None:
    paths = [attributes for tag, attributes in Reader(text_of(result)).tags if "data-start" in attributes]
    starts = sorted(float(each["data-start"] or "") for each in paths)
    lengths = [trace.path.length * 1e3 for trace in result.coil.traces]
    assert starts == pytest.approx([sum(lengths[:k]) for k in range(len(lengths))], abs=1e-4)


def test_every_figure_is_there_with_unit_band_and_model(result: Result) -> None:
    text = text_of(result)
    for name, each in FIGURES.items():
        assert words(name).lower() in text.lower()
        assert each.model in text
    assert "1.25 Ω" in text
    assert "1.00 to 1.50 Ω" in text
    assert "± 0.008 %" in text


def test_what_bands_come_from_is_told_of_key_figures(result: Result) -> None:
    spread = Spread(1.25, {"trace width": (-0.1, 0.15), "copper thickness": (-0.05, 0.05)})
    wide = replace(FIGURES["resistance_20c"], spread=spread)
    shown = text_of(replace(result, figures={**FIGURES, wide.name: wide}))
    told = shown[shown.index("where the bands come from") :]
    assert "trace width −8 to +12 %" in told
    assert "copper thickness ± 4 %" in told
    assert "where the bands come from" not in text_of(result)


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [(2.0, 2.5, "+25 %"), (0.2, 2.34, "× 11.7"), (-2.0, 50.0, "× -25"), (2.0, 1.0, "-50 %"), (0.0, 1.0, "")],
)
def test_a_change_is_told_in_per_cent_and_from_ten_times_on_as_how_often(before, after, told):
    change = change_text(figure("power", before, "W"), figure("power", after, "W"))
    assert change == told.replace(" ", "\N{NO-BREAK SPACE}")


def test_each_table_with_a_plot_is_drawn(result: Result) -> None:
    tags = Reader(text_of(result)).tags
    drawn = [attributes for tag, attributes in tags if tag == "figure" and "data-figure" in attributes]
    assert [each["data-figure"] for each in drawn] == ["impedance"] * 3


def test_plots_of_the_bare_impedance_point_out_the_self_resonance_within_them(result: Result) -> None:
    def shown(hertz: float) -> int:
        resonance = figure("self_resonance", hertz, "Hz")
        return text_of(replace(result, figures={**result.figures, resonance.name: resonance})).count(
            "self resonance, "
        )

    rows = FIGURES["impedance"].value
    assert shown(rows[-1]["frequency"] * 0.9) == 3
    assert shown(rows[-1]["frequency"] * 1.1) == 0


def test_a_map_s_thousand_rows_are_drawn_and_not_written() -> None:
    rows = [{"x": x * 1e-3, "z": z * 1e-3, "flux_density": x + z} for x in range(40) for z in range(30)]
    whole = figure("flux_density_map", rows, "table(x m, z m, flux_density T)")
    text = text_of(replace(sample("shutter"), figures={whole.name: whole}))
    assert "1200 rows: drawn under Plots" in text
    assert text.count("<tr>") < 200
    assert 'data-figure="flux_density_map"' in text


def test_cautions_and_findings_come_first() -> None:
    bad = replace(sample("latch"), findings=(finding(1), finding(2)), cautions=("Gets <hot>.",))
    texts = Reader(text_of(bad)).texts
    under = texts.index("Cut through the board", texts.index("Before you order") + 2)
    assert texts.index("it breaks 1 rule of rigid-standard") < texts.index("Gets <hot>.") < under
    assert "! rules: 2 findings" in texts
    assert texts.count("Widen <spacing> & check.") == 2


def test_what_tells_of_harm_stands_apart_from_the_rest() -> None:
    cautions = ("Warning: it burns.", "Warning: it pinches.", "It may ring.")
    text = text_of(replace(sample("latch"), cautions=cautions))
    grave, rest = re.findall(r'<ul class="(?:grave|rest)">(.*?)</ul>', text, re.S)
    assert grave.count("<li>") == 2
    assert "<strong>Warning:</strong> it burns." in grave
    assert rest.count("<li>") == 1
    assert "It may ring." in rest


def test_a_long_warning_is_told_in_short_with_the_rest_to_unfold() -> None:
    long = (
        "Warning: Hot to touch: the copper reaches 66 °C (58 to 73 °C). At 60 °C: bare metal touched for 1 s."
    )
    text = text_of(replace(sample("latch"), cautions=(long,)))
    (folded,) = re.findall(r"<li><details><summary>(.*?)</summary><p>(.*?)</p>", text, re.S)
    assert folded == (
        "<strong>Warning:</strong> Hot to touch: the copper reaches 66 °C",
        "(58 to 73 °C). At 60 °C: bare metal touched for 1 s.",
    )


def test_whether_to_order_is_told_in_a_sentence() -> None:
    def told(**changes: object) -> str:
        found = re.search(r'id="in-short"[^>]*>(.*?)</p>', text_of(replace(sample("latch"), **changes)), re.S)
        assert found is not None
        return re.sub("<.*?>", "", found[1])

    assert told(cautions=(), findings=()) == "Keeps every rule of rigid-standard."
    assert told(cautions=("Warning: it burns.",), findings=()).endswith("; read the warning first.")
    assert told(cautions=("Warning: it burns.",), findings=(finding(1),)) == (
        "Not to be ordered as it is: it breaks 1 rule of rigid-standard."
    )
    fire = "Warning: Danger of fire: the copper reaches 260 °C (231 to 285 °C). At 230 °C: paper may ignite."
    assert told(cautions=(fire,), findings=()) == (
        "Keeps every rule of rigid-standard, but not to be used as it is: danger of fire; "
        "read the warning first."
    )
    assert told(cautions=(fire,), findings=(finding(1),)).endswith(
        "of rigid-standard; besides, danger of fire."
    )
    burning = text_of(replace(sample("latch"), cautions=(fire,), findings=()))
    assert re.search(r'class="verdict bad">! rules: clean; danger of fire<', burning)


def test_every_section_is_reached_by_a_link() -> None:
    page = text_of(sample("latch"))
    links = re.findall(r'href="#([^"]+)"', page[page.index('<nav class="jump"') : page.index("</nav>")])
    assert links[:2] == ["notes-section", "cut-section"]
    assert all(f'id="{link}"' in page for link in links)


def test_no_frame_of_harm_where_there_is_none() -> None:
    assert 'class="grave"' not in text_of(replace(sample("latch"), cautions=("It may ring.",)))


def test_any_note_is_shown_as_it_was_written() -> None:
    note = '</script><script>alert(1)</script> & "so" µ'
    design = Design.model_validate({"name": "shutter", **TABLES["shutter"], "note": note})
    text = text_of(replace(sample("shutter"), design=design))
    assert "<script>alert" not in text
    assert note in Reader(text).texts


def test_the_design_is_told_as_people_write_it(result: Result) -> None:
    tables = {name: dict(rows) for name, rows in design_rows(result.design)}
    assert tables["winding"]["trace_width"] == "0.2 mm"
    assert tables["drive"]["voltage"] == "5 V"
    assert "stackup" not in tables["board"]
    assert tables["board.stackup"]["name"] == result.design.board.stackup.name
    assert tables["probe"]["heights"] == "0.5 mm, 1 mm, 2 mm, 5 mm"


STANDING: dict[str, object] = {
    "core": [
        {"width": 10, "thickness": 1, "material": "silicon steel", "contact": "solid"},
        {"place": "pocket", "rise": "-0.1 mm", "thickness": 1, "material": {"permeability": 900}},
        {
            "width": 10,
            "thickness": "0.5 mm",
            "material": {"field_strength": list(range(20)), "flux_density": [k / 10 for k in range(20)]},
        },
    ],
    "magnet": {"diameter": "5 mm", "thickness": 2, "gap": 1, "remanence": "1.3 T", "offset": [1, 0]},
    "target": {"width": 20, "depth": 3, "thickness": 1, "gap": 2, "mass": "12 g", "place": "bottom"},
    "mounting": {
        "contact_resistance": [1e-4, 2e-4, 3e-4],
        "forced_convection": 25,
        "base_plate": {"width": 40, "thickness": 0.5, "place": "top"},
    },
    "drive": {"voltage": 3, "pulse": "20 ms", "clamp": "24 V"},
    "variant": [{"name": "bare", "without": ["core"]}, {"name": "<wide> gap", "magnet": {"gap": 2}}],
}


@pytest.fixture
def standing() -> Result:
    """A result with cores, magnet, target, base plate and variants."""
    design = read_tables({"name": "shutter", **TABLES["shutter"], **STANDING})
    return replace(sample("shutter"), design=design)


def test_what_stands_at_the_coil_is_told_as_people_write_it(standing: Result) -> None:
    tables = {name: dict(rows) for name, rows in design_rows(standing.design)}
    assert tables["core 1"]["gap"] == "0.05 mm"
    assert tables["core 1.material"]["name"] == "silicon steel"
    assert "like" not in tables["core 1.material"]
    assert tables["core 1.material"]["density"] == "7650 kg/m³"
    assert (tables["core 2"]["diameter"], tables["core 2"]["rise"]) == ("6.1 mm", "-0.1 mm")
    assert "gap" not in tables["core 2"]
    assert tables["core 3.material"]["field_strength"] == "0, 1, 2, 3, 4, 5, 6, 7, 8, 9, …, 19 A/m"
    assert tables["core 3.material"]["flux_density"].endswith("0.9 T, …, 1.9 T")
    assert tables["magnet"]["remanence"] == "1300 mT"
    assert tables["magnet"]["offset"] == "1 mm, 0 mm"
    assert tables["target"]["mass"] == "12 g"
    assert tables["mounting"]["forced_convection"] == "25 W/(m²·K)"
    assert tables["mounting"]["contact_resistance"] == "0.0001, 0.0002, 0.0003 m²·K/W"
    assert "contact" not in tables["mounting"]
    assert tables["mounting.base_plate"]["material"] == "aluminium"
    assert (tables["drive"]["pulse"], tables["drive"]["clamp"]) == ("0.02 s", "24 V")
    assert tables["variants"] == {"1": "bare", "2": "<wide> gap"}
    assert not any("variant " in name or "design" in name for name in tables)
    assert all(value and "=" not in value for rows in tables.values() for value in rows.values())


def test_tables_that_are_left_out_are_not_shown(result: Result) -> None:
    names = [name for name, _ in design_rows(result.design)]
    assert not any(name.startswith(("core", "magnet", "target", "variant")) for name in names)
    assert "mounting" in names


def test_the_page_is_well_formed_with_all_that_stands_at_the_coil(standing: Result) -> None:
    texts = Reader(text_of(standing)).texts
    assert {"core 3.material", "magnet", "target.material", "mounting.base_plate", "variants"} <= set(texts)
    assert "<wide> gap" in texts


@pytest.mark.parametrize("name", TABLES)
def test_switches_name_the_parts_they_show(name: str) -> None:
    tags = Reader(text_of(sample(name))).tags
    names = {attributes["id"] for _, attributes in tags if "id" in attributes}
    shown = {attributes["data-shows"] for _, attributes in tags if "data-shows" in attributes}
    assert {f"copper-{k}" for k in range(1, sample(name).art.copper_layers + 1)} <= shown
    assert shown - {"openings"} <= names
