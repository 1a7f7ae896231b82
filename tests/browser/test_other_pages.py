"""Pages of a panel, a bench, a sweep and a search in a real browser: narrow screens, dark, access."""

import pytest
from click.testing import CliRunner
from selenium import webdriver
from test_page_in_browser import emulate

from coilgen.catalogue import templates
from coilgen.cli import main

pytestmark = pytest.mark.browser

COIL = """name = "small"
[winding]
shape = "round"
layers = 2
turns = 10
trace_width = "0.2 mm"
trace_spacing = "0.2 mm"
outer_size = "20 mm"
[drive]
voltage = 1
"""
SOUGHT = """[optimize]
largest = "moment"
smallest = "power"
vary.winding.turns = [8, 9, 10]
vary.winding.trace_width = ["0.2 mm", "0.25 mm"]
"""
READINGS = """sample,figure,value,unit,uncertainty,temperature,frequency
A1,resistance,2.6,ohm,0.3 %,23,
A1,inductance,7.8,uH,1 %,23,10 kHz
A2,resistance,9.9,ohm,0.3 %,23,
"""
KEYS = ("turns = { from = 8, to = 16, step = 1 }", "trace_width = { from = 0.15, to = 0.25, step = 0.01 }")


@pytest.fixture(scope="module")
def addresses(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    folder = tmp_path_factory.mktemp("others")
    (folder / "panel.toml").write_text(templates()["latch-samples"], encoding="utf-8")
    for name, more in (
        ("bench", ""),
        ("search", SOUGHT),
        ("curves", f"[sweep]\nwinding.{KEYS[0]}\n"),
        ("map", f"[sweep]\nwinding.{KEYS[0]}\nwinding.{KEYS[1]}\n"),
    ):
        (folder / f"{name}.toml").write_text(COIL + more, encoding="utf-8")
    (folder / "readings.csv").write_text(READINGS, encoding="utf-8")
    figures = ["--figures", "resistance_20c,inductance"]
    for asked in (
        ["panel", f"{folder}/panel.toml", "--out", f"{folder}"],
        ["bench", f"{folder}/readings.csv", "--design", f"{folder}/bench.toml", "--out", f"{folder}"],
        ["optimize", f"{folder}/search.toml", "--out", f"{folder}", "--seconds", "30"],
        ["sweep", f"{folder}/curves.toml", "--out", f"{folder}/curves.csv", *figures],
        ["sweep", f"{folder}/map.toml", "--out", f"{folder}/map.csv", *figures],
    ):
        result = CliRunner().invoke(main, asked)
        assert result.exit_code in (0, 1), result.output
    files = ("latch-samples/latch-samples", "small-bench", "small-optimize", "curves", "map")
    names = ("panel", "bench", "search", "curves", "map")
    return {name: (folder / f"{file}.html").as_uri() for name, file in zip(names, files, strict=True)}


NAMES = ("panel", "bench", "search", "curves", "map")


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_wider_than_a_phone(
    browser: webdriver.Chrome, addresses: dict[str, str], name: str
) -> None:
    """Wide tables scroll in frames of their own."""
    metrics = {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    browser.get(addresses[name])
    wide = browser.execute_script("return document.documentElement.scrollWidth")
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert wide <= 390


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", NAMES)
def test_has_no_serious_fault_of_access(
    browser: webdriver.Chrome, addresses: dict[str, str], name: str, scheme: str, axe: str
) -> None:
    emulate(browser, scheme)
    browser.get(addresses[name])
    browser.execute_script(axe)
    found = browser.execute_async_script("axe.run().then(arguments[0])")
    emulate(browser, "light")
    assert found["passes"]
    assert [
        (fault["id"], [node["target"] for node in fault["nodes"]])
        for fault in found["violations"]
        if fault["impact"] in ("serious", "critical")
    ] == []
