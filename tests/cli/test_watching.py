"""The server of the live page: loop-back only, follows the file, writes it whole, refuses strangers."""

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from small_design import SMALL

from coilgen.catalogue import templates
from coilgen.cli import watching
from coilgen.cli.delivery import ChangedError
from coilgen.cli.watching import PortError, Watched, served
from coilgen.design.reading import read_text
from coilgen.study.memory import AbandonedError
from coilgen.watch.answer import Answer, Request, superseded
from coilgen.watch.seeking import Sought, begun, sought
from coilgen.watch.state import State

TEXT = templates()["optical-shutter"]
JSON = {"Content-Type": "application/json", "If-Match": '"1"'}


@pytest.fixture
def design(tmp_path: Path) -> Path:
    path = tmp_path / "shutter.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


@pytest.fixture
def port(design: Path) -> Iterator[int]:
    with served(design, 0) as chosen:
        yield chosen


def ask(
    port: int, path: str, body: str | None = None, headers: dict[str, str] | None = None
) -> tuple[http.client.HTTPResponse, bytes]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET" if body is None else "POST", path, body, headers or {})
    reply = connection.getresponse()
    content = reply.read()
    connection.close()
    return reply, content


def until(true: Callable[[], bool]) -> None:
    """Waits, a minute at most, until something is so."""
    end = time.monotonic() + 60
    while not true():
        assert time.monotonic() < end
        time.sleep(0.02)


def faults(port: int) -> list[str]:
    found: list[str] = json.loads(ask(port, "/status")[1])["faults"]
    return found


def test_serves_the_page_and_nothing_may_be_kept_or_framed(port: int) -> None:
    reply, content = ask(port, "/")
    assert reply.status == 200
    assert b"optical-shutter" in content
    assert reply.headers["Cache-Control"] == "no-store"
    assert "default-src 'none'" in reply.headers["Content-Security-Policy"]


def test_is_bound_to_the_loop_back_address(port: int) -> None:
    own = socket.gethostbyname(socket.gethostname())
    for address in {own, "127.0.0.2"} - {"127.0.0.1"}:
        with socket.socket() as other:
            other.settimeout(2)
            assert other.connect_ex((address, port)) != 0


def test_strangers_and_paths_are_refused(port: int) -> None:
    assert ask(port, "/", headers={"Host": "coils.example"})[0].status == 403
    for path in ("/../shutter.toml", "/%2e%2e/%2e%2e/etc/passwd", "//etc/passwd", "/shutter.toml"):
        assert ask(port, path)[0].status == 404


@pytest.mark.parametrize("length", ["", "-1", "x", "10001", "99999999999", "9" * 5000, "٣"])
def test_too_long_or_unmeasured_bodies_are_refused(port: int, length: str) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.putrequest("POST", "/try")
    connection.putheader("Content-Type", "application/json")
    if length:
        connection.putheader("Content-Length", length.encode())
    connection.endheaders()
    assert connection.getresponse().status == 413
    connection.close()


def test_follows_the_file_through_faults_and_absence(port: int, design: Path) -> None:
    design.write_text(TEXT.replace("turns = 16", "turns = 0"))
    until(lambda: any("winding.turns" in fault for fault in faults(port)))
    design.unlink()
    until(lambda: any("cannot be read" in fault for fault in faults(port)))
    assert b'id="key-figures"' in ask(port, "/")[1]
    design.write_text(TEXT.replace("turns = 16", "turns = 11"))
    until(lambda: not faults(port))
    assert json.loads(ask(port, "/file")[1])["numbers"]["winding.turns"] == 11


def test_saves_on_request_and_shows_it_at_once(port: int, design: Path) -> None:
    design.chmod(0o640)
    _, content = ask(port, "/save", '{"winding.turns": 14}', JSON)
    assert json.loads(content) == {"faults": []}
    assert design.read_text() == TEXT.replace("turns = 16 ", "turns = 14 ")
    assert design.stat().st_mode & 0o777 == 0o640
    assert json.loads(ask(port, "/file")[1])["numbers"]["winding.turns"] == 14
    assert [path.name for path in design.parent.iterdir()] == ["shutter.toml"]


def test_an_edit_that_came_first_is_not_written_over(port: int, design: Path) -> None:
    edited = TEXT + "# edited\n"
    design.write_text(edited)
    _, content = ask(port, "/save", '{"winding.turns": 14}', JSON)
    assert "changed meanwhile" in json.loads(content)["faults"][0]
    assert design.read_text() == edited


@pytest.mark.parametrize(
    "body", ["[" * 1900 + "]" * 1900, '{"a":' * 1900, "9" * 5000, '{"\\ud800": "x"}', '{"\\ud800": 1}']
)
def test_what_is_no_table_of_numbers_is_told(port: int, body: str, capfd: pytest.CaptureFixture[str]) -> None:
    reply, content = ask(port, "/try", body, JSON)
    assert reply.status == 200
    assert len(json.loads(content)["faults"]) == 1
    assert capfd.readouterr().err == ""


def test_an_edit_while_the_save_is_worked_out_is_not_written_over(
    port: int, design: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The answer is worked out from the file as it was; an editor then writes it."""
    edited, true = TEXT + "# edited\n", watching.answer

    def slow(request: Request, state: State, port: int) -> Answer:
        reply = true(request, state, port)
        design.write_text(edited)
        return reply

    monkeypatch.setattr(watching, "answer", slow)
    _, content = ask(port, "/save", '{"winding.turns": 14}', JSON)
    assert "changed meanwhile" in json.loads(content)["faults"][0]
    assert design.read_text() == edited
    assert [path.name for path in design.parent.iterdir()] == ["shutter.toml"]


def test_an_edit_while_the_file_is_written_is_not_written_over(
    design: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    edited, true = TEXT + "# edited\n", Path.write_bytes

    def slow(path: Path, content: bytes) -> int:
        design.write_text(edited)
        return true(path, content)

    monkeypatch.setattr(Path, "write_bytes", slow)
    with pytest.raises(ChangedError, match="changed meanwhile"):
        Watched(design).save(TEXT.replace("turns = 16", "turns = 15"), over=TEXT)
    assert design.read_text() == edited


def test_a_save_that_cannot_be_written_is_told(
    port: int, design: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    _, content = ask(port, "/save", '{"winding.turns": 14}', JSON)
    assert json.loads(content) == {"faults": [f"{design} cannot be written: No space left on device"]}
    assert design.read_text() == TEXT
    assert capfd.readouterr().err == ""


def test_a_trial_leaves_the_file_alone(port: int, design: Path) -> None:
    ask(port, "/try", '{"winding.turns": 14}', JSON)
    ask(port, "/try-whole", '{"winding.turns": 14}', JSON)
    assert design.read_text() == TEXT


def test_line_ends_and_links_stay(tmp_path: Path) -> None:
    real = tmp_path / "real.toml"
    real.write_bytes(TEXT.replace("\n", "\r\n").encode())
    link = tmp_path / "link.toml"
    link.symlink_to(real)
    Watched(link).save(TEXT.replace("turns = 16", "turns = 15"), over=TEXT)
    assert link.is_symlink()
    assert real.read_bytes() == TEXT.replace("turns = 16", "turns = 15").replace("\n", "\r\n").encode()


def test_a_failed_save_leaves_what_was_there(design: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="space"):
        Watched(design).save("gone", over=TEXT)
    assert design.read_text() == TEXT
    assert [path.name for path in design.parent.iterdir()] == ["shutter.toml"]


def test_looks_again_only_when_the_file_has_changed(design: Path) -> None:
    watched = Watched(design)
    assert watched.look()
    assert not watched.look()
    design.write_text(TEXT + "# more\n")
    assert watched.look()
    assert watched.state.version == 2


def test_slow_figures_follow_without_a_new_version(port: int) -> None:
    before = json.loads(ask(port, "/status")[1])
    until(lambda: bool(json.loads(ask(port, "/status")[1])["whole"]))
    after = json.loads(ask(port, "/status")[1])
    assert after["version"] == before["version"] == 1
    assert "impedance" in json.loads(ask(port, "/file")[1])["content"]


def test_what_was_computed_for_an_older_text_is_dropped(
    design: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    watched = Watched(design)
    watched.look()

    def overtaken(state: State, wanted: Callable[[], bool]) -> State:
        assert wanted()
        design.write_text(TEXT + "# more\n")
        watched.look()
        assert not wanted()
        return replace(state, whole=True)

    monkeypatch.setattr(watching, "completed", overtaken)
    watched.complete()
    assert watched.state.version == 2
    assert not watched.state.whole


def asked(watched: Watched, path: str, page: str = "one") -> Answer:
    request = Request(method="POST", path=path, headers={"page": page})
    return watched.awaited(request, 1, lambda: True)


def told_to(reply: Callable[[Request], str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Has requests answered by a text that is told of them."""

    def answered(request: Request, state: State, port: int) -> Answer:
        return Answer(status=200, kind="text/plain", body=reply(request).encode())

    monkeypatch.setattr(watching, "answer", answered)


def test_of_a_page_s_long_requests_the_newest_is_answered_and_other_pages_all_the_same(
    design: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    watched, begun, free = Watched(design), threading.Event(), threading.Event()
    told: dict[str, bytes] = {}

    def long(request: Request) -> str:
        begun.set()
        free.wait(60)
        return "wanted" if request.wanted() else "left"

    def ask_for(name: str, path: str, page: str) -> None:
        told[name] = asked(watched, path, page).body

    told_to(long, monkeypatch)
    requests = {
        "first": ("/try-whole", "one"),
        "second": ("/try-whole", "one"),
        "third": ("/try-soon", "one"),
        "comparison": ("/compare", "one"),
        "other": ("/try-whole", "two"),
    }
    threads = [threading.Thread(target=ask_for, args=(name, *of)) for name, of in requests.items()]
    for number, thread in enumerate(threads, 1):
        thread.start()
        until(lambda number=number: watched.askers.waiting == number)
    assert begun.wait(60)
    free.set()
    for thread in threads:
        thread.join(60)
    assert told == {
        "first": b"left",
        "second": superseded().body,
        "third": b"wanted",
        "comparison": b"wanted",
        "other": b"wanted",
    }
    assert watched.askers.waiting == 0


def test_what_follows_the_hand_ends_what_takes_long_on_its_own_page(
    design: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    watched, seen = Watched(design), list[tuple[str, list[bool]]]()

    def reply(request: Request) -> str:
        wanted = [request.wanted()]
        if request.page == "one" and request.path != "/try":
            for page in ("two", "one"):
                asked(watched, "/try", page)
                wanted.append(request.wanted())
        seen.append((request.path, wanted))
        return ""

    told_to(reply, monkeypatch)
    for path in ("/try-soon", "/try-whole", "/compare"):
        asked(watched, path)
        asked(watched, path, "two")
    long = [wanted for path, wanted in seen if path != "/try"]
    assert long == [[True, True, False], [True]] * 3
    assert all(wanted == [True] for path, wanted in seen if path == "/try")


def test_a_run_whose_asker_has_left_is_left(port: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """A browser closes the connection of what it gives up."""
    begun, ended = threading.Event(), threading.Event()

    def slow(request: Request, state: State, port: int) -> Answer:
        assert request.wanted()
        begun.set()
        until(lambda: not request.wanted())
        ended.set()
        return superseded()

    monkeypatch.setattr(watching, "answer", slow)
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("POST", "/try-whole", "{}", JSON)
    assert begun.wait(60)
    connection.close()
    assert ended.wait(60)


def test_the_command_says_where_and_ends_on_interrupt(design: Path) -> None:
    """At once and without a word, though figures are still being computed."""
    command = [sys.executable, "-m", "coilgen", "watch", str(design)]
    # Tests that were started in the background of a shell would hand on that interrupts are ignored.
    with subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    ) as run:
        assert run.stdout is not None
        said = run.stdout.readline().decode()
        port = int(said.partition("http://127.0.0.1:")[2].partition("/")[0])
        assert ask(port, "/status")[0].status == 200
        run.send_signal(signal.SIGINT)
        assert run.wait(60) == 0
        assert run.stderr is not None
        assert run.stderr.read() == b""


def test_the_command_refuses_a_missing_file(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "coilgen", "watch", str(tmp_path / "none.toml")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "none.toml" in done.stderr


def test_the_command_refuses_a_folder(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "coilgen", "watch", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == f"{tmp_path}: is a folder; name the file in it\n"


def test_a_port_that_is_taken_is_told(design: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        with (
            pytest.raises(PortError, match=f"^--port: {port} cannot be had .*; name another"),
            served(design, port),
        ):
            pass


def test_a_search_tells_the_best_so_far_and_at_the_end_its_design(design: Path) -> None:
    table = '[optimize]\nsmallest = "resistance_20c"\n[optimize.vary]\nwinding.turns = [2, 3, 4]\n'
    design.write_text(SMALL + table, encoding="utf-8")
    watched = Watched(design)
    watched.look()
    told: list[tuple[str, ...]] = []

    def tell(now: Sought) -> bool:
        told.append(now.says)
        return True

    assert watched.state.good is not None
    found = sought(begun(watched.state.good, design.parent), tell)
    assert any("best so far resistance at 20 °C" in says[0] for says in told)
    assert found.ended
    assert any(line.startswith("turns (winding.turns): 2 (start ") for line in found.says)
    assert found.file is not None
    assert read_text(found.file[1].decode()).winding.turns == 2
    with pytest.raises(AbandonedError):
        sought(begun(watched.state.good, design.parent), lambda now: False)


def test_a_search_is_followed_over_the_server_and_ends_with_the_watch(design: Path) -> None:
    table = '[optimize]\nsmallest = "resistance_20c"\n[optimize.vary]\nwinding.turns = [2, 3]\n'
    design.write_text(SMALL + table, encoding="utf-8")
    with served(design, 0) as port:
        assert json.loads(ask(port, "/sought")[1]) is None
        assert json.loads(ask(port, "/search", "{}", JSON)[1]) == {"faults": []}
        until(lambda: json.loads(ask(port, "/sought")[1])["ended"])
        assert json.loads(ask(port, "/sought")[1])["file"]["name"] == "small-optimum.toml"
        design.write_text(SMALL, encoding="utf-8")
        until(lambda: json.loads(ask(port, "/sought")[1]) is None)
