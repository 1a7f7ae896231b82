"""The live page's search in a real browser: the button, how far it is, what was found as a design file."""

import base64
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait
from small_design import SMALL

from coilgen.cli.watching import served
from coilgen.design.reading import read_text

pytestmark = pytest.mark.browser

TABLE = """
[optimize]
smallest = "resistance_20c"
[optimize.vary]
winding.turns = [2, 3, 4]
[optimize.limits]
inductance = { least = "0.3 uH" }
"""
PATIENCE = 120
"""Seconds, for a machine that has much else to do."""


@pytest.fixture
def design(tmp_path: Path) -> Path:
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    return path


@pytest.fixture
def live(browser: webdriver.Chrome, design: Path) -> Iterator[webdriver.Chrome]:
    with served(design, 0) as port:
        browser.get(f"http://127.0.0.1:{port}/")
        yield browser
        browser.get("about:blank")


def wait(browser: webdriver.Chrome, script: str) -> None:
    WebDriverWait(browser, PATIENCE, poll_frequency=0.05).until(
        lambda b: b.execute_script(f"return {script}")
    )


def test_the_button_comes_with_the_table_and_leads_to_the_design_found(
    live: webdriver.Chrome, design: Path
) -> None:
    search = live.find_element(By.ID, "search")
    assert not search.is_displayed()
    design.write_text(SMALL + TABLE, encoding="utf-8")
    wait(live, "!document.querySelector('#search').hidden")
    told = "document.querySelector('#sought').innerText"
    search.click()
    wait(live, f"{told}.startsWith('The search for the best board')")
    assert not search.is_enabled()
    wait(live, f"{told}.includes('The optimum keeps all limits')")
    assert search.is_enabled()
    link = live.find_element(By.CSS_SELECTOR, "#sought a")
    assert link.get_attribute("download") == "small-optimum.toml"
    content = (link.get_attribute("href") or "").partition("base64,")[2]
    found = read_text(base64.b64decode(content).decode())
    assert found.winding.turns in (2, 3, 4)
    assert f"turns (winding.turns): {found.winding.turns:g} (start" in live.execute_script(f"return {told}")
    live.execute_script("const back = document.querySelector('#back'); back.disabled = false; back.click()")
    wait(live, "document.querySelector('#back').disabled")
    time.sleep(0.5)  # what was found is asked for once more
    assert link.is_displayed(), "the link to the design is made anew without need"


def test_a_goal_that_is_no_figure_is_told_and_the_button_stays(live: webdriver.Chrome, design: Path) -> None:
    design.write_text(SMALL + TABLE.replace("resistance_20c", "resistence"), encoding="utf-8")
    wait(live, "!document.querySelector('#search').hidden")
    live.find_element(By.ID, "search").click()
    wait(live, "document.querySelector('#faults').innerText.includes('optimize.smallest')")
    assert live.find_element(By.ID, "search").is_enabled()
