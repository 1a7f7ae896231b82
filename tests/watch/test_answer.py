"""Answers: to this page only, at known paths only; trials leave the file alone, saving writes it."""

import json
import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.job import case_of, check, with_figures
from coilgen.result.result import Result
from coilgen.watch.answer import _ROUTES, Answer, Request, answer
from coilgen.watch.state import BEGINNING, FORCES, Last, State, completed, renewed
from coilgen.watch.trial import changed

PORT = 8123
TEXT = templates()["optical-shutter"]
HERE = {"host": f"127.0.0.1:{PORT}"}
JSON = {**HERE, "content-type": "application/json", "origin": f"http://127.0.0.1:{PORT}", "if-match": '"1"'}


@pytest.fixture(scope="module")
def state() -> State:
    return renewed(BEGINNING, TEXT)


@pytest.fixture(scope="module")
def cored() -> State:
    return renewed(BEGINNING, templates()["specimen-drawer-latch"])


def get(state: State, path: str, headers: dict[str, str] = HERE) -> Answer:
    return answer(Request(method="GET", path=path, headers=headers), state, PORT)


def post(state: State, path: str, value: Any, headers: dict[str, str] = JSON) -> Answer:
    body = value if isinstance(value, bytes) else json.dumps(value).encode()
    return answer(Request(method="POST", path=path, headers=headers, body=body), state, PORT)


def test_the_page_holds_the_coil_and_the_numbers(state: State) -> None:
    reply = get(state, "/")
    assert (reply.status, reply.save) == (200, None)
    text = reply.body.decode()
    assert 'name="winding.turns"' in text
    assert 'id="key-figures"' in text


@pytest.mark.parametrize(
    "host",
    ["", "coils.example", "127.0.0.1", "127.0.0.1:81", f"127.0.0.1.coils.example:{PORT}", f"[::1]:{PORT}"],
)
@pytest.mark.parametrize("path", ["/", "/status", "/file", "/sought"])
def test_other_hosts_are_refused(state: State, host: str, path: str) -> None:
    assert get(state, path, {"host": host}).status == 403


def test_no_host_is_refused(state: State) -> None:
    assert get(state, "/", {}).status == 403


def test_both_names_of_this_machine_will_do(state: State) -> None:
    assert get(state, "/status", {"host": f"localhost:{PORT}"}).status == 200


@pytest.mark.parametrize("path", ["/try", "/try-soon", "/try-whole", "/save", "/search", "/compare"])
def test_other_sites_cannot_send(state: State, path: str) -> None:
    for headers in (
        {**JSON, "origin": "http://coils.example"},
        {**JSON, "origin": "null"},
        {**JSON, "origin": f"https://127.0.0.1:{PORT}"},
    ):
        assert post(state, path, {}, headers).status == 403
    assert post(state, path, {}, {**JSON, "content-type": "text/plain"}).status == 415
    assert get(state, path).status == 405


PATHS = [
    "/../shutter.toml",
    "/..",
    "//",
    "/%2e%2e/etc/passwd",
    "/etc/passwd",
    "/shutter.toml",
    "/?x",
    "*",
    "",
]


@pytest.mark.parametrize("path", PATHS)
def test_there_are_no_files(state: State, path: str) -> None:
    assert get(state, path).status == 404


@given(st.text(max_size=30))
def test_no_other_path_leads_anywhere(path: str) -> None:
    if path not in _ROUTES:
        assert get(BEGINNING, path).status == 404


def test_a_trial_changes_picture_and_figures_and_saves_nothing(state: State) -> None:
    reply = post(state, "/try", {"winding.turns": 14})
    told = json.loads(reply.body)
    assert reply.save is None
    assert told["faults"] == []
    assert set(told["parts"]) == {
        "verdict",
        "in-short",
        "board-section",
        "cut-section",
        "key-figures",
        "findings-section",
    }
    assert ">28<" in told["parts"]["key-figures"]
    assert all(f'id="{name}"' in part for name, part in told["parts"].items())


def test_a_whole_trial_is_the_page_s_content(state: State) -> None:
    told = json.loads(post(state, "/try-whole", {"winding.turns": 14}).body)
    assert told["content"].startswith('<main id="coil">')
    assert "self resonance" in told["content"]


def test_a_trial_tells_about_forces_beside_cores_at_once(cored: State) -> None:
    """Rough before the file's exact ones are there, then in proportion to those."""
    numbers = {"winding.turns": 14}
    waiting = json.loads(post(cored, "/try", numbers).body)["parts"]["key-figures"]
    soon = json.loads(post(cored, "/try-soon", numbers).body)["parts"]["key-figures"]
    tried = with_forces(changed(cored.good or "", numbers))
    exact = 1e3 * tried.figures["pull_on_target"].value
    assert "≈" not in waiting
    assert coarse_pull(soon) == pytest.approx(exact, rel=0.15)
    last = Last(with_forces(cored.good or ""))
    known = replace(cored, remembered=replace(cored.remembered, last=last))
    soon = json.loads(post(known, "/try-soon", numbers).body)["parts"]["key-figures"]
    assert coarse_pull(soon) == pytest.approx(exact, rel=0.05)


def with_forces(text: str) -> Result:
    """A design's exact forces, without its other figures and without bands."""
    result = check(read_text(text))
    case = replace(case_of(result.design, result.coil, result.art), values_only=True)
    return with_figures(result, {name: each for name in FORCES if (each := case.figure(name))}, case)


def coarse_pull(part: str) -> float:
    """mN, as the page tells it."""
    found = re.search(r"<dt>pull on target</dt><dd>≈ ([0-9.]+) mN<small>coarse; ", part)
    assert found, part
    return float(found[1])


def test_forces_without_cores_are_exact_at_once(state: State) -> None:
    assert json.loads(post(state, "/try-soon", {"winding.turns": 14}).body)["parts"] == {}
    assert "≈" not in json.loads(post(state, "/try", {"winding.turns": 14}).body)["parts"]["key-figures"]


def test_a_trial_tells_what_was(state: State) -> None:
    told = json.loads(post(state, "/try", {"winding.turns": 14}).body)["parts"]["key-figures"]
    assert re.search("turns total.*?was 32, −12.5\N{NO-BREAK SPACE}%", told, re.S)
    assert re.search(r"<dt>temperature</dt>.*?was [0-9.]+ °C, \+[0-9.]+\N{NO-BREAK SPACE}K<", told, re.S)
    same = json.loads(post(state, "/try", {"winding.turns": 16}).body)["parts"]["key-figures"]
    assert "was " not in same


def test_a_trial_tells_what_several_values_were() -> None:
    """Those of an array's lines."""
    told = json.loads(post(renewed(BEGINNING, templates()["fan-stator"]), "/try", {"winding.turns": 8}).body)
    assert told["faults"] == []
    assert re.search(r"<dt>line resistance</dt>.*?was [0-9.]+ Ω<", told["parts"]["key-figures"], re.S)


def test_a_whole_trial_tells_every_change_beside_the_file() -> None:
    whole = completed(renewed(BEGINNING, TEXT))
    told = json.loads(post(whole, "/try-whole", {"winding.turns": 14}).body)["content"]
    table = told[told.index('id="changes-section"') : told.index('id="notes-section"')]
    rows = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row) for row in re.findall(r"<tr>(.*?)</tr>", table)]
    assert ["turns total", "32", "28", "−12.5\N{NO-BREAK SPACE}%"] in rows
    assert all(row[1] != row[2] for row in rows)
    same = json.loads(post(whole, "/try-whole", {"winding.turns": 16}).body)["content"]
    assert "changes-section" not in same


def test_variants_are_compared_on_the_page() -> None:
    text = TEXT + '\n[[variant]]\nname = "less"\nwinding = { turns = 8 }\n'
    two = renewed(BEGINNING, text)
    assert two.can_be_compared
    told = json.loads(post(two, "/compare", {}).body)["content"]
    assert told.startswith('<section id="compared"')
    rows = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row) for row in re.findall(r"<tr>(.*?)</tr>", told)]
    assert [row[0] for row in rows] == ["variant", "as designed", "less"]
    assert rows[1][1:] != rows[2][1:]


def test_without_variants_there_is_nothing_to_compare(state: State) -> None:
    told = json.loads(post(state, "/compare", {}).body)
    assert told["faults"] == ["variant: none given; add a [[variant]] table with a name and what it changes"]
    assert re.search(r'id="compare"[^>]*hidden', get(state, "/").body.decode())


def test_figures_beside_a_fault_are_told_to_be_old() -> None:
    broken = renewed(renewed(BEGINNING, TEXT), TEXT.replace("turns = 16", "turns = -16"))
    page = get(broken, "/").body.decode()
    assert '<main id="coil" class="stale">' in page
    assert "What is shown below is older" in page
    assert "<p>What is shown" not in get(renewed(BEGINNING, TEXT), "/").body.decode()


@pytest.mark.parametrize("path", ["/try", "/try-whole"])
def test_a_trial_tells_since_when_the_file_says_what_it_is_of(state: State, path: str) -> None:
    """As the status does, of a broken file too: a page knows by it whether its figures are of the file."""
    broken = renewed(state, "[")
    assert broken.version > state.version
    since = json.loads(post(broken, path, {"winding.turns": 14}).body)["since"]
    assert since == json.loads(get(broken, "/status").body)["since"] == state.good_since


def test_findings_of_a_trial_are_told(state: State) -> None:
    told = json.loads(post(state, "/try", {"winding.trace_spacing": 0.1}).body)
    assert "finding" in told["parts"]["verdict"]
    assert "trace spacing" in told["parts"]["findings-section"]


BAD = [
    {"winding.turns": 400},
    {"winding.turns": -1},
    {"winding.layers": 1.5},
    {"winding.colour": 1},
    {"winding.turns": "14"},
    {"winding.turns": None},
    {"winding.turns": True},
    {"winding.turns": 1e300},
    [1],
    b"{",
    b"\xff",
    b"",
    b'{"winding.turns": NaN}',
]


@pytest.mark.parametrize("value", BAD, ids=str)
@pytest.mark.parametrize("path", ["/try", "/try-whole", "/save"])
def test_numbers_that_make_no_coil_are_faults(state: State, path: str, value: Any) -> None:
    reply = post(state, path, value)
    assert (reply.status, reply.save) == (200, None)
    assert json.loads(reply.body)["faults"]


def test_saving_writes_the_numbers_into_the_file_s_text(state: State) -> None:
    reply = post(state, "/save", {"winding.turns": 14})
    assert json.loads(reply.body) == {"faults": []}
    assert reply.save == TEXT.replace("turns = 16 ", "turns = 14 ")


@pytest.mark.parametrize("version", [None, "", "1", '"0"', '"2"'])
def test_only_the_state_on_the_page_is_written_over(state: State, version: str | None) -> None:
    headers = {name: value for name, value in JSON.items() if name != "if-match"}
    reply = post(state, "/save", {}, headers if version is None else {**headers, "if-match": version})
    assert reply.save is None
    assert "changed meanwhile" in json.loads(reply.body)["faults"][0]


def test_a_file_with_faults_is_not_written_over(state: State) -> None:
    broken = renewed(state, TEXT + "\n[")
    reply = post(broken, "/save", {"winding.turns": 14}, {**JSON, "if-match": '"2"'})
    assert reply.save is None
    assert "faults of its own" in json.loads(reply.body)["faults"][0]


SEARCH = """
[optimize]
smallest = "resistance_20c"
[optimize.vary]
winding.turns = [10, 11]
"""


def test_the_button_for_a_search_is_there_with_the_table(state: State) -> None:
    with_table = renewed(BEGINNING, TEXT + SEARCH)
    for which, hidden in ((state, True), (with_table, False)):
        (button,) = re.findall(r'<button[^>]*id="search"[^>]*>', get(which, "/").body.decode())
        assert ("hidden" in button) is hidden
        assert json.loads(get(which, "/file").body)["searchable"] is not hidden


def test_a_search_is_begun_of_the_file_as_saved_and_only_once(state: State) -> None:
    with_table = renewed(BEGINNING, TEXT + SEARCH)
    begun = post(with_table, "/search", {}).search
    assert begun is not None
    assert begun.of == TEXT + SEARCH
    assert json.loads(get(with_table, "/sought").body) is None
    under_way = replace(with_table, sought=begun)
    assert post(under_way, "/search", {}).search is None
    assert json.loads(get(under_way, "/sought").body)["ended"] is False
    assert "optimize: not given" in post(state, "/search", {}).body.decode()


def test_faults_stand_on_the_page_beside_the_last_good_result(state: State) -> None:
    broken = renewed(state, TEXT.replace('"round"', '"<b>"'))
    text = get(broken, "/").body.decode()
    assert "winding.shape: &quot;&lt;b&gt;&quot;" in text or 'winding.shape: "&lt;b&gt;"' in text
    assert 'id="key-figures"' in text
    told = json.loads(get(broken, "/file").body)
    assert told["faults"]
    assert 'id="key-figures"' in told["content"]


def test_without_a_result_the_page_waits() -> None:
    nothing = renewed(BEGINNING, "[")
    text = get(nothing, "/").body.decode()
    assert "No result yet" in text
    assert "broken TOML" in text
    assert "content" not in json.loads(get(nothing, "/file").body)
    assert "not been read" in json.loads(post(nothing, "/try", {}).body)["faults"][0]


def test_the_status_counts_the_states(state: State) -> None:
    assert json.loads(get(state, "/status").body) == {
        "version": 1,
        "since": state.good_since,
        "whole": False,
        "faults": [],
    }
