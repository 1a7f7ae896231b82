"""A headless Chromium with its log, and axe-core where npm has put it."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.chrome.service import Service

AXE = Path(__file__).parents[2] / ".browser" / "node_modules" / "axe-core" / "axe.min.js"


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[webdriver.Chrome]:
    options = webdriver.ChromeOptions()
    binary, driver = shutil.which("chromium"), shutil.which("chromedriver")
    assert binary and driver, "install chromium and chromium-driver"
    options.binary_location = binary
    folder = tmp_path_factory.mktemp("profile")
    for flag in ("--headless=new", "--disable-gpu", "--window-size=1300,1000", f"--user-data-dir={folder}"):
        options.add_argument(flag)
    if os.geteuid() == 0:
        options.add_argument("--no-sandbox")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    chrome = webdriver.Chrome(options=options, service=Service(driver))
    yield chrome
    chrome.quit()


@pytest.fixture(scope="session")
def axe() -> str:
    return AXE.read_text(encoding="utf-8")
