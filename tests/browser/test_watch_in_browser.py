"""The live page in a real browser: follows the file, shows faults, tries numbers, saves on request."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select, WebDriverWait

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
        ".map((entry) => [entry.querySelector('dt').innerText,"
        " entry.querySelector('dd').firstChild.textContent]))"
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
    busy = "document.querySelectorAll('#coil [aria-busy=true]').length"
    live.execute_script(
        f"window.most = 0; new MutationObserver(() => {{ window.most = Math.max(window.most, {busy}); }})"
        ".observe(document.body, { subtree: true, attributes: true, childList: true })"
    )
    set_number(live, "winding.turns", "14")
    turns(live, "28")
    assert list(key_figures(live)) == list(before)
    wait(live, "document.querySelector('#changes-section') !== null")
    after = key_figures(live)
    assert live.execute_script("return window.most") > 3
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
    live.find_element(By.CSS_SELECTOR, ".controls > summary").click()
    live.find_element(By.CSS_SELECTOR, "[data-shows=copper-1]").click()
    set_number(live, "winding.turns", "14")
    turns(live, "28")
    hidden = "getComputedStyle(document.getElementById('copper-1')).display === 'none'"
    assert live.execute_script(f"return {hidden}")
    wait(live, "document.querySelector('#changes-section') !== null")
    assert live.execute_script(f"return {hidden}")
    assert live.find_element(By.CSS_SELECTOR, "[data-shows=copper-1]").is_displayed()


def test_has_no_serious_fault_of_access_and_no_error(live: webdriver.Chrome, axe: str) -> None:
    whole(live)
    live.execute_script(axe)
    found = live.execute_async_script("axe.run().then(arguments[0])")
    assert found["passes"]
    assert [fault["id"] for fault in found["violations"] if fault["impact"] in ("serious", "critical")] == []
    assert [entry for entry in live.get_log("browser") if entry["level"] == "SEVERE"] == []


def history(browser: webdriver.Chrome) -> list[str]:
    """What was tried, from the table; its last column tells which is shown."""
    rows: list[str] = browser.execute_script(
        "return [...document.querySelectorAll('#history tr')].slice(1)"
        ".map((row) => `${row.cells[0].textContent}: ${row.querySelector('button').textContent}`)"
    )
    return rows


def test_what_was_tried_stands_side_by_side_and_can_be_gone_back_to(live: webdriver.Chrome) -> None:
    whole(live)
    for count in ("14", "12"):
        set_number(live, "winding.turns", count)
        wait(live, f"document.querySelector('#history').textContent.includes('turns {count}')")
    assert history(live) == ["the file: take", "turns 14: take", "turns 12: shown"]
    live.find_element(By.ID, "undo").click()
    turns(live, "28")
    wait(live, "document.querySelector('#history button:disabled').ariaLabel === 'shown turns 14'")
    assert live.find_element(By.NAME, "winding.turns").get_property("value") == "14"
    assert history(live) == ["the file: take", "turns 14: shown", "turns 12: take"]
    live.find_element(By.ID, "undo").click()
    turns(live, "32")
    assert not live.find_element(By.ID, "undo").is_enabled()


def try_too_many_and_undo(live: webdriver.Chrome) -> None:
    set_number(live, "winding.turns", "400")
    wait(live, "document.querySelector('#faults').innerText.includes('400 turns')")
    live.find_element(By.ID, "undo").click()
    wait(live, "!document.querySelector('#faults').innerText")


def test_undo_of_numbers_that_make_no_coil_goes_back_to_the_last_that_did(live: webdriver.Chrome) -> None:
    whole(live)
    set_number(live, "winding.turns", "14")
    wait(live, "document.querySelector('#history').textContent.includes('turns 14')")
    try_too_many_and_undo(live)
    turns(live, "28")
    assert live.find_element(By.NAME, "winding.turns").get_property("value") == "14"
    live.find_element(By.ID, "undo").click()
    turns(live, "32")
    try_too_many_and_undo(live)
    turns(live, "32")
    wait(live, "document.querySelector('#undo').disabled")


VARIANT = '\n[[variant]]\nname = "few turns"\nwinding.turns = 12\n'


def test_a_broken_file_leaves_history_undo_and_comparison_and_stays_told(
    live: webdriver.Chrome, design: Path
) -> None:
    good = design.read_text() + VARIANT
    design.write_text(good)
    wait(live, "!document.querySelector('#compare').hidden")
    whole(live)
    for count in ("14", "12"):
        set_number(live, "winding.turns", count)
        wait(live, f"document.querySelector('#history').textContent.includes('turns {count}')")
    design.write_text(good.replace('shape = "round"', 'shape = "rund"'))
    told = "document.querySelector('#faults').innerText.includes('winding.shape')"
    wait(live, told)
    live.find_element(By.ID, "undo").click()
    turns(live, "28")
    assert live.execute_script(f"return {told}"), "a trial without faults hides those of the file"
    live.find_element(By.ID, "undo").click()
    turns(live, "32")
    assert history(live) == ["the file: shown", "turns 14: take", "turns 12: take"]
    assert live.execute_script(f"return {told}")
    live.find_element(By.ID, "compare").click()
    wait(live, "document.querySelector('#compared').innerText.includes('few turns')")
    assert live.execute_script(f"return {told}")
    design.write_text(good.replace("turns = 16", "turns = 15"))
    turns(live, "30")
    wait(live, "document.querySelector('#faults').innerText === ''")
    assert not live.find_element(By.ID, "history").is_displayed()


def test_figures_are_told_to_be_older_until_they_are_of_the_mended_file(
    live: webdriver.Chrome, design: Path
) -> None:
    """A file broken and mended while numbers are tried, first to what it was, then to another."""
    whole(live)
    good = design.read_text()
    told = "document.querySelector('#faults').innerText"
    set_number(live, "winding.turns", "14")
    turns(live, "28")
    design.write_text(good.replace('shape = "round"', 'shape = "rund"'))
    wait(live, f"{told}.includes('winding.shape') && {told}.includes('older')")
    design.write_text(good)
    wait(live, f"{told} === ''")
    assert not live.execute_script("return document.querySelector('#coil').classList.contains('stale')")
    design.write_text(good.replace('shape = "round"', 'shape = "rund"'))
    wait(live, f"{told}.includes('winding.shape')")
    design.write_text(good.replace('width = "0.15 mm"', 'width = "0.16 mm"'))
    wait(live, f"{told}.includes('changed meanwhile') && {told}.includes('older')")
    set_number(live, "winding.turns", "13")
    turns(live, "26")
    wait(live, f"!{told}.includes('older')")
    assert live.execute_script(f"return {told}.includes('changed meanwhile')")
    live.find_element(By.ID, "back").click()
    turns(live, "32")
    wait(live, f"{told} === ''")


def test_two_pages_that_try_numbers_at_once_each_get_their_own(live: webdriver.Chrome) -> None:
    whole(live)
    first, address = live.current_window_handle, live.current_url
    live.switch_to.new_window("tab")
    second = live.current_window_handle
    try:
        live.get(address)
        for page, count in ((first, "14"), (second, "12"), (first, "13"), (second, "11")):
            live.switch_to.window(page)
            set_number(live, "winding.turns", count)
        for page, count in ((first, "26"), (second, "22")):
            live.switch_to.window(page)
            turns(live, count)
            wait(live, "document.querySelector('#changes-section') !== null")
            wait(live, "document.querySelectorAll('#coil [aria-busy=true]').length === 0")
    finally:
        live.switch_to.window(second)
        live.close()
        live.switch_to.window(first)


def test_a_comma_that_the_browser_would_drop_is_a_point(live: webdriver.Chrome) -> None:
    whole(live)
    box = live.find_element(By.NAME, "drive.voltage")
    box.send_keys(Keys.CONTROL, "a")
    box.send_keys("0,3")
    assert box.get_property("value") == "0.3"
    wait(live, "document.querySelector('#history').textContent.includes('voltage 0.3 V')")


def test_a_slider_moves_its_number_and_the_coil(live: webdriver.Chrome) -> None:
    whole(live)
    slider = live.find_element(By.CSS_SELECTOR, "[data-for='winding.turns']")
    slider.send_keys(Keys.ARROW_LEFT)
    turns(live, "30")
    assert live.find_element(By.NAME, "winding.turns").get_property("value") == "15"
    wait(live, "document.querySelector('#key-figures').innerText.includes('was 32')")


def requests(browser: webdriver.Chrome, path: str) -> int:
    """How often the page has asked for a path."""
    count: int = browser.execute_script(
        "return performance.getEntriesByType('resource')"
        ".filter((each) => new URL(each.name).pathname === arguments[0]).length",
        path,
    )
    return count


def test_of_what_a_moving_slider_passes_only_the_last_is_sent_after_the_first(live: webdriver.Chrome) -> None:
    whole(live)
    live.execute_script(
        "const slider = document.querySelector(`[data-for='drive.voltage']`);"
        "for (let step = 1; step <= 20; step += 1) {"
        " slider.value = step / 10; slider.dispatchEvent(new Event('input', { bubbles: true })); }"
    )
    wait(live, "document.querySelector('#changes-section') !== null")
    assert live.find_element(By.NAME, "drive.voltage").get_property("value") == "2"
    assert history(live) == ["the file: take", "voltage 2 V: shown"]
    assert requests(live, "/try") == 2
    assert requests(live, "/try-whole") == 1


def test_any_other_number_can_be_chosen_and_tried(live: webdriver.Chrome) -> None:
    whole(live)
    gap = live.find_element(By.NAME, "magnet.gap")
    assert not gap.is_displayed()
    before = key_figures(live)["force on magnet"]
    Select(live.find_element(By.ID, "more")).select_by_value("magnet.gap")
    assert gap.is_displayed()
    set_number(live, "magnet.gap", "1")
    wait(live, "document.querySelector('#history').textContent.includes('magnet gap 1 mm')")
    assert key_figures(live)["force on magnet"] != before


def test_a_whole_trial_lists_what_changes(live: webdriver.Chrome) -> None:
    whole(live)
    set_number(live, "winding.turns", "14")
    wait(live, "document.querySelector('#changes-section') !== null")
    told = live.find_element(By.ID, "changes-section").text
    assert "turns total" in told
    assert "\N{MINUS SIGN}12.5" in told


def test_the_best_board_is_sought_on_the_page(browser: webdriver.Chrome, tmp_path: Path) -> None:
    """A search of few choices, begun by its button, ends with a design file to save."""
    path = tmp_path / "shutter.toml"
    search = (
        '\n[optimize]\nsmallest = "resistance_20c"\nvary.winding.turns = [14, 15, 16]\n'
        'limits.inductance = { least = "9 uH" }\n'
    )
    path.write_text(templates()["optical-shutter"] + search, encoding="utf-8")
    with served(path, 0) as port:
        browser.get(f"http://127.0.0.1:{port}/")
        browser.find_element(By.ID, "search").click()
        wait(browser, "document.querySelector('#sought a') !== null")
        link = browser.find_element(By.CSS_SELECTOR, "#sought a")
        assert link.get_attribute("download") == "optical-shutter-optimum.toml"
        browser.get("about:blank")


def test_the_live_page_has_no_serious_fault_of_access(live: webdriver.Chrome, axe: str) -> None:
    whole(live)
    set_number(live, "winding.turns", "14")
    wait(live, "document.querySelector('#changes-section') !== null")
    live.execute_script("document.querySelectorAll('details').forEach(each => { each.open = true; })")
    live.execute_script(axe)
    found = live.execute_async_script("axe.run().then(arguments[0])")
    grave = [
        (fault["id"], [node["target"] for node in fault["nodes"]])
        for fault in found["violations"]
        if fault["impact"] in ("serious", "critical")
    ]
    assert grave == []
