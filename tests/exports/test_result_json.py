"""The JSON document: its keys, its units, and that it is plain JSON."""

import json
from dataclasses import replace

import pytest
from samples import TABLES, sample

import coilgen
from coilgen.design.reading import read_tables
from coilgen.exports.data import result_json
from coilgen.result.figure import Figure
from coilgen.result.result import Result
from coilgen.result.rule import Finding

FINDINGS = (
    Finding(
        rule="trace_spacing",
        value=0.12e-3,
        limit=0.15e-3,
        unit="m",
        layer=1,
        at=complex(1.5e-3, -2e-3),
        says="widen it",
    ),
    Finding(
        rule="drill_aspect_ratio", value=9.5, limit=8.0, unit="1", layer=None, at=None, says="drill wider"
    ),
)
INDUCTANCE = Figure(
    name="inductance",
    unit="H",
    says="self inductance",
    group="electrical",
    value=1.2e-5,
    model="current sheet",
    band=(1.1e-5, 1.3e-5),
    cautions=(),
)
MATRIX = replace(INDUCTANCE, name="layer_inductances", value=[[1.0, 0.5], [0.5, 1.0]], band=None)


@pytest.fixture
def result() -> Result:
    figures = {figure.name: figure for figure in (INDUCTANCE, MATRIX)}
    return replace(sample("shutter"), findings=FINDINGS, figures=figures)


def strict(content: bytes) -> dict[str, object]:
    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is not JSON")

    read = json.loads(content.decode("utf-8"), parse_constant=refuse)
    assert isinstance(read, dict)
    return read


def test_file_is_the_document(result: Result) -> None:
    (path, content), *others = result_json.files(result).items()
    assert (path, others) == ("shutter.json", [])
    assert strict(content) == result_json.document(result)
    assert content.endswith(b"}\n")


def test_top_level(result: Result) -> None:
    document = result_json.document(result)
    assert list(document) == ["coilgen", "name", "design", "figures", "findings", "cautions"]
    assert document["coilgen"] == coilgen.__version__
    assert document["name"] == "shutter"
    assert document["cautions"] == ["Hot when driven."]


@pytest.mark.parametrize("name", TABLES)
def test_design_is_resolved_in_si(name: str) -> None:
    (content,) = result_json.files(sample(name)).values()
    design = strict(content)["design"]
    assert design["winding"]["trace_width"] == sample(name).design.winding.trace_width == 0.2e-3
    assert design["rules"]["trace_spacing"] > 0
    assert set(design) >= {"name", "note", "winding", "board", "via", "terminals", "rules", "drive", "probe"}


def test_figures_in_si(result: Result) -> None:
    assert result_json.document(result)["figures"] == {
        "inductance": {
            "value": 1.2e-5,
            "unit": "H",
            "says": "self inductance",
            "model": "current sheet",
            "band": [1.1e-5, 1.3e-5],
            "contributions": [],
        },
        "layer_inductances": {
            "value": [[1.0, 0.5], [0.5, 1.0]],
            "unit": "H",
            "says": "self inductance",
            "model": "current sheet",
            "band": None,
            "contributions": [],
        },
    }


def test_findings_in_millimetres_where_they_are_lengths(result: Result) -> None:
    assert result_json.document(result)["findings"] == [
        {
            "rule": "trace_spacing",
            "value": 0.12,
            "limit": 0.15,
            "unit": "mm",
            "layer": 1,
            "at": [1.5, -2.0],
            "says": "widen it",
        },
        {
            "rule": "drill_aspect_ratio",
            "value": 9.5,
            "limit": 8.0,
            "unit": "1",
            "layer": None,
            "at": None,
            "says": "drill wider",
        },
    ]


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_refuses_what_json_cannot_say(result: Result, value: float) -> None:
    broken = replace(result, figures={"inductance": replace(INDUCTANCE, value=value)})
    with pytest.raises(ValueError, match="JSON"):
        result_json.files(broken)


def test_what_stands_at_the_coil_is_told_in_si(result: Result) -> None:
    tables: dict[str, object] = {
        "core": [{"place": "pocket", "material": "silicon steel"}, {"width": 10, "thickness": 1}],
        "magnet": {"diameter": "5 mm", "thickness": 2, "gap": 1, "remanence": "1.3 T"},
        "mounting": {"base_plate": {"width": 40, "thickness": 0.8, "place": "top"}},
        "drive": {"current": "0.2 A", "pulse": "20 ms"},
        "variant": [{"name": "bare", "without": ["core"]}],
    }
    design = read_tables({"name": "shutter", **TABLES["shutter"], **tables})
    (content,) = result_json.files(replace(result, design=design)).values()
    told = json.loads(content)["design"]
    assert told == design.resolved()
    assert [(core["place"], core["material"]["name"]) for core in told["core"]] == [
        ("pocket", "silicon steel"),
        ("bottom", "soft iron"),
    ]
    assert told["core"][0]["material"]["saturation"] == 2.0
    assert (told["magnet"]["remanence"], told["magnet"]["offset"]) == (1.3, [0.0, 0.0])
    assert told["mounting"]["base_plate"]["depth"] == 0.04
    assert (told["drive"]["pulse"], told["target"], told["variant"]) == (0.02, None, ["bare"])
