"""Serves a design's live page to this machine alone, and follows the file.

A standard-library server does: one reader, eleven paths, no files served. It is bound to the loop-back
address.
"""

import contextlib
import gc
import os
import re
import select
import socket
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import click

from coilgen.cli.delivery import ChangedError, deliver_file
from coilgen.design.reading import file_text
from coilgen.errors import DesignError, UserError
from coilgen.study.memory import AbandonedError
from coilgen.watch.answer import CHANGED, LARGEST_BODY, Answer, Request, answer, refused, superseded
from coilgen.watch.askers import FOLLOWING, LONG, Askers
from coilgen.watch.seeking import Sought, sought
from coilgen.watch.state import BEGINNING, Remembered, State, completed, faulty, renewed

ADDRESS = "127.0.0.1"
PATIENCE = 0.15
"""Seconds between two looks at the file."""

_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; connect-src 'self'; "
    "img-src data:; form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
)


class PortError(UserError):
    """A port that another program has, or that needs rights."""


class Watched:
    """A design file with the newest state of it; threads share it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.state: State = replace(BEGINNING, folder=path.parent, remembered=Remembered())
        self._stamp: tuple[int, int] | None = None
        self._lock = threading.Lock()
        self.askers = Askers()
        self.done = 0
        self.ended = threading.Event()
        self._sought: Sought | None = None
        self._searching: list[threading.Thread] = []

    def look(self) -> bool:
        """Reads the file when it has changed; whether it had."""
        with self._lock:
            stamp = _stamp(self.path)
            if self.state.version and stamp == self._stamp:
                return False
            self._stamp = stamp
            try:
                self.state = renewed(self.state, file_text(self.path))
            except DesignError as error:
                self.state = faulty(self.state, error)
            return True

    def complete(self) -> None:
        """Computes what the state still lacks, unless the file changes meanwhile."""
        before = self.state
        after = completed(before, lambda: self.state is before and not self.ended.is_set())
        with self._lock:
            if self.state is before:
                self.done += after is not before
                self.state = after

    def awaited(self, request: Request, port: int, waits: Callable[[], bool]) -> Answer:
        """The answer to what a page tries or compares, once no other long one is being made.

        It is worth nothing once that page tries other numbers, or waits no more.
        """
        with self.askers.asking(request.page, request.path) as newest:

            def wanted() -> bool:
                return newest() and waits() and not self.ended.is_set()

            with self.askers.alone if request.path in LONG else contextlib.nullcontext():
                if not wanted():
                    return superseded()
                return answer(replace(request, wanted=wanted), self.state, port)

    def seen(self) -> State:
        """The state with the search of its text, if one was begun."""
        state, sought = self.state, self._sought
        return replace(state, sought=sought if sought is not None and sought.of == state.good else None)

    def begun(self, reply: Answer) -> Answer:
        """A reply once the search is begun that it asks for."""
        if reply.search is not None:
            self._sought = reply.search
            thread = threading.Thread(target=self._search, args=(reply.search,), daemon=True)
            self._searching.append(thread)
            thread.start()
        return reply

    def _search(self, begin: Sought) -> None:
        with contextlib.suppress(AbandonedError):
            self._tell(sought(begin, self._tell))

    def _tell(self, now: Sought) -> bool:
        """Takes how far a search is; whether anybody waits for it: a changed file makes it worth nothing."""
        if self.ended.is_set() or now.of != self.state.good:
            return False
        self._sought = now
        return True

    def rest(self) -> None:
        """Waits for the long reply and the searches under way."""
        with self.askers.alone:
            pass
        for thread in self._searching:
            thread.join()

    def save(self, text: str, over: str) -> None:
        """Writes the file in whole, its line ends as they were: a failure leaves what was there.

        over: the text that must stand there to the last moment; ChangedError when another does.
        """
        content = self.path.read_bytes()
        if file_text(self.path) != over:
            raise ChangedError(CHANGED)
        line_end = "\r\n" if b"\r\n" in content else "\n"
        deliver_file(text.replace("\n", line_end).encode(), self.path, over=content)

    def saved(self, reply: Answer, over: str) -> Answer:
        """A reply once its text is written; the reason in its place when it cannot be."""
        if reply.save is None:
            return reply
        try:
            self.save(reply.save, over)
        except UserError as error:
            return refused(str(error))
        except OSError as error:
            return refused(f"{self.path} cannot be written: {error.strerror or error}")
        self.look()
        return reply


def _stamp(path: Path) -> tuple[int, int] | None:
    """What changes when the file does; None while it is away."""
    with contextlib.suppress(OSError):
        found = path.stat()
        return found.st_mtime_ns, found.st_size
    return None


@contextlib.contextmanager
def served(path: Path, port: int, *, hurried: bool = False) -> Iterator[int]:
    """Serves the live page of a file until left; gives the port, a free one where 0 is asked for.

    hurried: does not wait at the end for a figure under way; the interpreter must not be ended under it.
    """
    watched = Watched(path)
    server = _server(port, watched)
    watched.look()
    threads = [
        threading.Thread(target=server.serve_forever, daemon=True),
        threading.Thread(target=_follow, args=(watched,), daemon=True),
        threading.Thread(target=_complete, args=(watched,), daemon=True),
    ]
    for thread in threads:
        thread.start()
    try:
        yield server.server_port
    finally:
        watched.ended.set()
        server.shutdown()
        server.server_close()
        if not hurried:
            for thread in threads:
                thread.join()
            watched.rest()


def _server(port: int, watched: Watched) -> ThreadingHTTPServer:
    try:
        return ThreadingHTTPServer((ADDRESS, port), _handler(watched))
    except OSError as error:
        says = (
            f"--port: {port} cannot be had ({error.strerror}); name another, or leave it out for a free one"
        )
        raise PortError(says) from None


def _follow(watched: Watched) -> None:
    while not watched.ended.wait(PATIENCE):
        watched.look()


def _complete(watched: Watched) -> None:
    """Beside the looks at the file, which it may outlast by far.

    While nobody asks, objects that nothing reaches any more are looked for: elsewhere that waits until very
    many are new, which a page that is open for days need not hold.
    """
    before = searched = watched.done
    while not watched.ended.wait(PATIENCE):
        watched.complete()
        if watched.done == before != searched:
            gc.collect()
            searched = before
        before = watched.done


def _handler(watched: Watched) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"
        timeout = 30

        def do_GET(self) -> None:
            self._reply(b"")

        def do_POST(self) -> None:
            length = self.headers.get("Content-Length", "")
            if not re.fullmatch("[0-9]{1,9}", length) or int(length) > LARGEST_BODY:
                self.close_connection = True
                self._send(Answer(status=413, kind="text/plain", body=b"too much\n"))
                return
            self._reply(self.rfile.read(int(length)))

        def _reply(self, body: bytes) -> None:
            headers = {name.lower(): value for name, value in self.headers.items()}
            if self.command == "POST":
                watched.look()
            request = Request(method=self.command, path=self.path, headers=headers, body=body)
            port: int = self.server.server_port  # type: ignore[attr-defined]  # an HTTPServer

            if self.path in (FOLLOWING, *LONG):
                reply = watched.awaited(request, port, lambda: _waits(self.connection))
            else:
                state = watched.seen()
                reply = watched.begun(watched.saved(answer(request, state, port), state.good or ""))
            self._send(reply)
            watched.done += self.command == "POST"

        def _send(self, reply: Answer) -> None:
            self.send_response(reply.status)
            for name, value in (
                ("Content-Type", reply.kind),
                ("Content-Length", str(len(reply.body))),
                ("Cache-Control", "no-store"),
                ("Content-Security-Policy", _POLICY),
                ("X-Content-Type-Options", "nosniff"),
                ("Referrer-Policy", "no-referrer"),
            ):
                self.send_header(name, value)
            self.end_headers()
            with contextlib.suppress(ConnectionError):  # whoever asked has left
                self.wfile.write(reply.body)

        def log_message(self, format: str, *args: Any) -> None:  # noqa: A002  # the standard library's name
            """Nothing: the terminal is for the designer."""

    return Handler


def _waits(connection: socket.socket) -> bool:
    """Whether who asked still waits: a browser closes the connection of what it gives up."""
    with contextlib.suppress(OSError):
        readable, _, _ = select.select([connection], [], [], 0)
        return not readable or bool(connection.recv(1, socket.MSG_PEEK))
    return False


def watch(design: Path, port: int) -> None:
    """Serves until interrupted."""
    with served(design, port, hurried=True) as chosen:
        click.echo(f"watching {design}; open http://{ADDRESS}:{chosen}/ and stop with Ctrl-C")
        with contextlib.suppress(KeyboardInterrupt):
            threading.Event().wait()
    if sys.stdout is not None:
        sys.stdout.flush()
    os._exit(0)  # a figure under way in compiled code can neither be stopped nor outlive the interpreter
