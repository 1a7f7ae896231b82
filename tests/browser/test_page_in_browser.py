"""The coil page in a real browser: opens from disk, layers toggle, pointing tells, dark, print, access."""

import base64
import json
import re
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.exports.page import page
from coilgen.job import check, predict

pytestmark = pytest.mark.browser
LATCH = "specimen-drawer-latch"


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Addresses of every template's page on disk."""
    folder = tmp_path_factory.mktemp("pages")
    addresses = {}
    for name, text in templates().items():
        for file, content in page.files(predict(read_text(text))).items():
            (folder / file).write_bytes(content)
        addresses[name] = (folder / f"{name}.html").as_uri()
    return addresses


def requested(browser: webdriver.Chrome) -> list[str]:
    messages = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    sent = [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]
    return [url for url in sent if not url.startswith("data:")]


@pytest.mark.parametrize("name", templates())
def test_opens_from_disk_with_no_error_and_no_request(
    browser: webdriver.Chrome, pages: dict[str, str], name: str
) -> None:
    browser.get("about:blank")
    browser.get_log("browser")
    browser.get_log("performance")
    browser.get(pages[name])
    assert browser.get_log("browser") == []
    assert requested(browser) == [pages[name]]
    assert browser.find_element(By.TAG_NAME, "h1").text == name


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", templates())
def test_has_no_serious_fault_of_access(
    browser: webdriver.Chrome, pages: dict[str, str], name: str, scheme: str, axe: str
) -> None:
    emulate(browser, scheme)
    browser.get(pages[name])
    browser.execute_script("document.querySelectorAll('details').forEach(each => { each.open = true; })")
    browser.execute_script(axe)
    found = browser.execute_async_script("axe.run().then(arguments[0])")
    emulate(browser, "light")
    assert found["passes"]
    grave = [
        (fault["id"], [node["target"] for node in fault["nodes"]])
        for fault in found["violations"]
        if fault["impact"] in ("serious", "critical")
    ]
    assert grave == []


def emulate(browser: webdriver.Chrome, scheme: str) -> None:
    features = [{"name": "prefers-color-scheme", "value": scheme}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})


def ground(browser: webdriver.Chrome) -> float:
    colour = browser.execute_script("return getComputedStyle(document.body).backgroundColor")
    return sum(int(part) for part in re.findall(r"\d+", colour)[:3]) / 3


def test_dark_where_the_reader_likes_it_dark(browser: webdriver.Chrome, pages: dict[str, str]) -> None:
    browser.get(pages[LATCH])
    emulate(browser, "light")
    light = ground(browser)
    emulate(browser, "dark")
    dark = ground(browser)
    emulate(browser, "light")
    assert light > 200
    assert dark < 60


def opened(browser: webdriver.Chrome, page: str) -> None:
    """Shows a page with the switches of its picture unfolded."""
    browser.get(page)
    browser.find_element(By.CSS_SELECTOR, ".controls > summary").click()


def shown(browser: webdriver.Chrome, part: str) -> bool:
    return browser.find_element(By.ID, part).value_of_css_property("display") != "none"


def test_layers_toggle_by_click_and_by_key(browser: webdriver.Chrome, pages: dict[str, str]) -> None:
    opened(browser, pages[LATCH])
    boxes = browser.find_elements(By.CSS_SELECTOR, "[data-shows^=copper]")
    assert len(boxes) == 4
    boxes[1].click()
    assert [shown(browser, f"copper-{k}") for k in range(1, 5)] == [True, False, True, True]
    boxes[1].send_keys(Keys.SPACE)
    assert shown(browser, "copper-2")
    browser.find_element(By.ID, "next-layer").click()
    browser.find_element(By.ID, "next-layer").click()
    assert [shown(browser, f"copper-{k}") for k in range(1, 5)] == [False, True, False, False]
    assert browser.find_element(By.CSS_SELECTOR, "#current use").get_attribute("href") == "#current-2"


def test_pointing_tells_net_layer_and_length(browser: webdriver.Chrome, pages: dict[str, str]) -> None:
    browser.get(pages[LATCH])
    result = check(read_text(templates()[LATCH]))
    trace = result.coil.traces[0]
    piece = trace.path.segments[6]
    along = sum(before.length for before in trace.path.segments[:6]) + piece.length / 2
    point_at(browser, piece.at(0.5))
    said = browser.find_element(By.ID, "reading").text
    assert said.startswith("net COIL, copper 1, ")
    told = re.search(r"([\d.]+) mm of ([\d.]+) mm", said)
    assert told is not None
    assert float(told[1]) == pytest.approx(along * 1e3, abs=0.3)
    whole = sum(each.path.length for each in result.coil.traces)
    assert float(told[2]) == pytest.approx(whole * 1e3, abs=0.06)
    point_at(browser, result.coil.terminals[1].at)
    assert browser.find_element(By.ID, "reading").text == "net COIL, terminal 2"


def point_at(browser: webdriver.Chrome, at: complex) -> None:
    picture = browser.find_element(By.ID, "board-picture")
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", picture)
    x, y = browser.execute_script(
        "const m = arguments[0].getScreenCTM(); return [m.a * arguments[1] + m.e, m.d * arguments[2] + m.f]",
        picture,
        at.real * 1e3,
        -at.imag * 1e3,
    )
    actions = ActionChains(browser)
    actions.w3c_actions.pointer_action.move_to_location(round(x), round(y))
    actions.perform()


def test_the_current_can_be_followed_by_keyboard(browser: webdriver.Chrome, pages: dict[str, str]) -> None:
    opened(browser, pages[LATCH])
    slider = browser.find_element(By.ID, "follow")
    slider.send_keys(Keys.END)
    said = browser.find_element(By.ID, "reading").text
    terminal = check(read_text(templates()[LATCH])).coil.terminals[1].at * 1e3
    assert "copper 4" in said
    assert f"x {terminal.real:.2f}, y {terminal.imag:.2f} mm" in said
    slider.send_keys(Keys.HOME)
    assert "copper 1, 0.0 mm" in browser.find_element(By.ID, "reading").text


@pytest.mark.parametrize("name", templates())
def test_prints_on_a_few_pages(browser: webdriver.Chrome, pages: dict[str, str], name: str) -> None:
    browser.get(pages[name])
    printed = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    content = base64.b64decode(printed["data"])
    sizes = re.findall(rb"/MediaBox ?\[0 0 ([\d.]+) ([\d.]+)\]", content)
    assert 1 <= len(sizes) <= 13  # a table's head keeps to its rows, which may leave the end of a page empty
    assert all(
        (float(w), float(h)) == (pytest.approx(595, abs=2), pytest.approx(842, abs=2)) for w, h in sizes
    )


@pytest.mark.parametrize("width", [390, 800, 1300])
def test_nothing_is_wider_than_the_window(
    browser: webdriver.Chrome, pages: dict[str, str], width: int, tmp_path: Path
) -> None:
    metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    browser.get(pages[LATCH])
    wide = browser.execute_script("return document.documentElement.scrollWidth")
    overlapping = browser.execute_script(
        "return [...document.querySelectorAll('.figures tbody tr')].filter(({ children: [name, value] }) => {"
        "  const range = document.createRange(); range.selectNodeContents(name);"
        "  return range.getBoundingClientRect().right > value.getBoundingClientRect().left + 1;"
        "}).map((row) => row.innerText)"
    )
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert wide <= width
    assert overlapping == []


def test_what_to_do_about_a_finding_is_read_on_a_phone_without_scrolling(
    browser: webdriver.Chrome, tmp_path: Path
) -> None:
    """Its column was three letters wide, past the edge."""
    text = templates()[LATCH].replace('trace_spacing = "0.2 mm"', 'trace_spacing = "0.1 mm"')
    result = check(read_text(text))
    assert result.findings
    (content,) = page.files(result).values()
    file = tmp_path / "broken.html"
    file.write_bytes(content)
    metrics = {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    browser.get(file.as_uri())
    found = box(browser, "#findings-section tbody tr td:last-child")
    frame = box(browser, "#findings-section .frame")
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert found["width"] > 300
    assert found["right"] <= frame["right"] + 1


def test_what_tells_of_harm_stands_first_and_apart(browser: webdriver.Chrome, pages: dict[str, str]) -> None:
    browser.get(pages[LATCH])
    grave = browser.find_element(By.CSS_SELECTOR, ".remarks .grave")
    rest = browser.find_element(By.CSS_SELECTOR, ".remarks .rest")
    assert grave.location["y"] + grave.size["height"] <= rest.location["y"]
    told = [item.text for item in grave.find_elements(By.TAG_NAME, "li")]
    assert told
    assert all(text.startswith("Warning: ") for text in told)
    assert "Warning:" not in rest.text
    grounds = [part.value_of_css_property("background-color") for part in (grave, rest)]
    assert grounds[0] != grounds[1]


def test_a_warning_unfolds_by_key(browser: webdriver.Chrome, pages: dict[str, str]) -> None:
    browser.get(pages[LATCH])
    brief = browser.find_element(By.CSS_SELECTOR, ".grave summary")
    rest = browser.find_element(By.CSS_SELECTOR, ".grave details > p")
    assert not rest.is_displayed()
    brief.send_keys(Keys.ENTER)
    assert rest.is_displayed()


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
@pytest.mark.parametrize("name", templates())
def test_the_first_screen_holds_picture_verdict_and_key_figures(
    browser: webdriver.Chrome, pages: dict[str, str], name: str, width: int, height: int
) -> None:
    metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    browser.get(pages[name])
    ends = [box(browser, part)["bottom"] for part in ("#board-picture", "#in-short", "#key-figures")]
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert max(ends) <= height


def box(browser: webdriver.Chrome, selector: str) -> dict[str, float]:
    """Where a part stands in the window, in its own units of pixels."""
    found: dict[str, float] = browser.execute_script(
        "return document.querySelector(arguments[0]).getBoundingClientRect().toJSON()", selector
    )
    return found


def test_the_cut_shows_the_pin_in_the_pocket_and_the_clip_over_it(
    browser: webdriver.Chrome, pages: dict[str, str]
) -> None:
    browser.get(pages[LATCH])
    core, target = box(browser, ".section .body.core"), box(browser, ".section .body.target")
    top, bottom = box(browser, "#section-copper-1"), box(browser, "#section-copper-4")
    assert top["top"] - 3 <= core["top"] < bottom["bottom"]
    assert target["bottom"] < core["top"]
    assert top["left"] < core["left"] < core["right"] < top["right"]


def test_bodies_on_the_board_are_switched_off_and_on(
    browser: webdriver.Chrome, pages: dict[str, str]
) -> None:
    opened(browser, pages[LATCH])
    switch = browser.find_element(By.CSS_SELECTOR, "[data-shows=bodies]")
    assert shown(browser, "bodies")
    switch.click()
    assert not shown(browser, "bodies")
    switch.send_keys(Keys.SPACE)
    assert shown(browser, "bodies")


@pytest.mark.parametrize("name", templates())
def test_no_lettering_is_cut_off(browser: webdriver.Chrome, pages: dict[str, str], name: str) -> None:
    """Of plots and pictures: every text ends within its picture."""
    browser.get(pages[name])
    over = browser.execute_script(
        "return [...document.querySelectorAll('svg text')].filter((text) => {"
        "  const own = text.getBoundingClientRect(), all = text.ownerSVGElement.getBoundingClientRect();"
        "  return own.width && (own.left < all.left - 1 || own.right > all.right + 1"
        "    || own.top < all.top - 1 || own.bottom > all.bottom + 1);"
        "}).map((text) => text.textContent)"
    )
    assert over == []
