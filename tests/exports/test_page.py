"""The coil page: one file that needs nothing else, holds what the result does, and is well formed."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from samples import TABLES, sample
from test_drawing import finding, strokes

from coilgen.design import Design
from coilgen.exports import page
from coilgen.exports._page.design_tables import design_rows
from coilgen.exports._page.sections import words
from coilgen.figure import Figure
from coilgen.result import Result

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


def test_each_table_with_a_plot_is_drawn(result: Result) -> None:
    tags = Reader(text_of(result)).tags
    drawn = [attributes for tag, attributes in tags if tag == "figure" and "data-figure" in attributes]
    assert [each["data-figure"] for each in drawn] == ["impedance"] * 3


def test_cautions_and_findings_come_first() -> None:
    bad = replace(sample("latch"), findings=(finding(1), finding(2)), cautions=("Gets <hot>.",))
    texts = Reader(text_of(bad)).texts
    assert texts.index("2 places break the shop's rules") < texts.index("Board")
    assert texts.index("Gets <hot>.") < texts.index("Board")
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


@pytest.mark.parametrize("name", TABLES)
def test_switches_name_the_parts_they_show(name: str) -> None:
    tags = Reader(text_of(sample(name))).tags
    names = {attributes["id"] for _, attributes in tags if "id" in attributes}
    shown = {attributes["data-shows"] for _, attributes in tags if "data-shows" in attributes}
    assert {f"copper-{k}" for k in range(1, sample(name).art.copper_layers + 1)} <= shown
    assert shown - {"openings"} <= names
