"""The live page in a real browser: follows the file, shows faults, tries numbers, saves on request."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

from coilgen.catalogue import templates
from coilgen.cli.watching import served

pytestmark = pytest.mark.browser


@pytest.fixture
def design(tmp_path: Path) -> Path:
    path = tmp_path / "shutter.toml"
    path.write_text(templates()["optical-shutter"], encoding="utf-8")
    return path


@pytest.fixture
def live(browser: webdriver.Chrome, design: Path) -> Iterator[webdriver.Chrome]:
    with served(design, 0) as port:
        browser.get(f"http://127.0.0.1:{port}/")
        yield browser
        browser.get("about:blank")


PATIENCE = 60
"""Seconds, for a machine that has much else to do."""


def wait(browser: webdriver.Chrome, script: str) -> None:
    WebDriverWait(browser, PATIENCE, poll_frequency=0.05).until(
        lambda b: b.execute_script(f"return {script}")
    )


def key_figures(browser: webdriver.Chrome) -> dict[str, str]:
    """By name, read in one go: the page may put new ones in their place at any time."""
    found: dict[str, str] = browser.execute_script(
        "return Object.fromEntries([...document.querySelectorAll('#key-figures > div')]"
        ".map((entry) => [entry.querySelector('dt').innerText, entry.querySelector('dd').innerText]))"
    )
    return found


def turns(browser: webdriver.Chrome, count: str) -> None:
    """Waits for a coil of so many turns in all."""
    WebDriverWait(browser, PATIENCE, poll_frequency=0.05).until(
        lambda b: key_figures(b).get("turns total") == count
    )


def whole(browser: webdriver.Chrome) -> None:
    """Waits for the slow figures."""
    wait(browser, "document.querySelector('.plots') !== null")


def set_number(browser: webdriver.Chrome, name: str, value: str) -> None:
    browser.execute_script(
        "const box = document.querySelector(`[name='${arguments[0]}']`); box.value = arguments[1];"
        "box.dispatchEvent(new Event('input', { bubbles: true }))",
        name,
        value,
    )


def test_rebuilds_when_the_file_is_saved(live: webdriver.Chrome, design: Path) -> None:
    assert key_figures(live)["turns total"] == "32"
    design.write_text(design.read_text().replace("turns = 16", "turns = 12"))
    turns(live, "24")
    assert live.find_element(By.NAME, "winding.turns").get_property("value") == "12"


def test_slow_figures_hold_their_places_until_they_come(live: webdriver.Chrome, design: Path) -> None:
    whole(live)
    before = key_figures(live)
    busy = "document.querySelectorAll('#coil > [aria-busy=true]').length"
    live.execute_script(
        f"window.most = 0; new MutationObserver(() => {{ window.most = Math.max(window.most, {busy}); }})"
        ".observe(document.body, { subtree: true, attributes: true, childList: true })"
    )
    set_number(live, "winding.turns", "14")
    turns(live, "28")
    assert list(key_figures(live)) == list(before)
    wait(live, "!document.querySelector('#key-figures').innerText.includes('being computed')")
    after = key_figures(live)
    assert live.execute_script("return window.most") == 4
    assert live.execute_script(f"return {busy}") == 0
    assert list(after) == list(before)
    assert after["force on magnet"] != before["force on magnet"]


def test_shows_a_fault_keeps_the_last_result_and_recovers(live: webdriver.Chrome, design: Path) -> None:
    good = design.read_text()
    design.write_text(good.replace('shape = "round"', 'shape = "rund"'))
    wait(live, "document.querySelector('#faults').innerText.includes('winding.shape')")
    assert 'did you mean "round"?' in live.find_element(By.ID, "faults").text
    assert key_figures(live)["turns total"] == "32"
    design.write_text(good)
    wait(live, "document.querySelector('#faults').innerText === ''")
    assert key_figures(live)["turns total"] == "32"


def test_a_tried_number_changes_the_figures_and_not_the_file(live: webdriver.Chrome, design: Path) -> None:
    whole(live)
    before, text = key_figures(live), design.read_text()
    set_number(live, "winding.turns", "14")
    turns(live, "28")
    after = key_figures(live)
    assert after["inductance"] != before["inductance"]
    assert after["resistance at 20 °C"] != before["resistance at 20 °C"]
    assert design.read_text() == text
    live.find_element(By.ID, "back").click()
    turns(live, "32")
    assert key_figures(live) == before


def test_numbers_that_make_no_coil_are_refused_and_cannot_be_saved(live: webdriver.Chrome) -> None:
    set_number(live, "winding.turns", "400")
    wait(live, "document.querySelector('#faults').innerText.includes('winding.inner_size')")
    assert not live.find_element(By.ID, "save").is_enabled()
    set_number(live, "winding.turns", "15")
    wait(live, "document.querySelector('#faults').innerText === ''")
    wait(live, "!document.querySelector('#save').disabled")


def test_saving_keeps_the_comments(live: webdriver.Chrome, design: Path) -> None:
    text = design.read_text()
    set_number(live, "winding.turns", "14")
    set_number(live, "winding.trace_width", "0.16")
    wait(live, "document.querySelector('#trial-says').textContent === 'Tried, not saved.'")
    live.find_element(By.ID, "save").click()
    wait(live, "document.querySelector('#trial-says').textContent === 'Saved.'")
    expected = text.replace("turns = 16 ", "turns = 14 ")
    expected = expected.replace('trace_width = "0.15 mm"', 'trace_width = "0.16 mm"')
    assert design.read_text() == expected


def test_saves_twice_and_not_over_an_edit(live: webdriver.Chrome, design: Path) -> None:
    for turns in ("14", "13"):
        set_number(live, "winding.turns", turns)
        wait(live, "document.querySelector('#trial-says').textContent === 'Tried, not saved.'")
        live.find_element(By.ID, "save").click()
        wait(live, "document.querySelector('#trial-says').textContent === 'Saved.'")
        assert f"turns = {turns} " in design.read_text()
    set_number(live, "winding.turns", "12")
    wait(live, "document.querySelector('#trial-says').textContent === 'Tried, not saved.'")
    edited = design.read_text() + "# edited\n"
    design.write_text(edited)
    live.find_element(By.ID, "save").click()
    wait(live, "document.querySelector('#faults').innerText.includes('changed meanwhile')")
    assert design.read_text() == edited


def test_switched_off_layers_stay_off_when_the_coil_is_new(live: webdriver.Chrome) -> None:
    whole(live)
    live.find_element(By.CSS_SELECTOR, "[data-shows=copper-1]").click()
    set_number(live, "winding.turns", "14")
    turns(live, "28")
    hidden = "getComputedStyle(document.getElementById('copper-1')).display === 'none'"
    assert live.execute_script(f"return {hidden}")
    wait(live, "!document.querySelector('#key-figures').innerText.includes('being computed')")
    assert live.execute_script(f"return {hidden}")


def test_has_no_serious_fault_of_access_and_no_error(live: webdriver.Chrome, axe: str) -> None:
    whole(live)
    live.execute_script(axe)
    found = live.execute_async_script("axe.run().then(arguments[0])")
    assert found["passes"]
    assert [fault["id"] for fault in found["violations"] if fault["impact"] in ("serious", "critical")] == []
    assert [entry for entry in live.get_log("browser") if entry["level"] == "SEVERE"] == []
