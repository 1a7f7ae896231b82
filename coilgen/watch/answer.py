"""Answers to the browser's requests, from the state alone. Whoever is not this page is refused.

Another site's page may reach a local server through the browser: the Host header tells such requests made
through a foreign name, Origin and content type those sent across sites (RFC 9110, 7.2; RFC 6454).
"""

import json
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from coilgen.design.reading import read_beside
from coilgen.errors import DesignError, Fault
from coilgen.exports.page._picture import add_picture
from coilgen.exports.page._sections import add_findings, add_section_drawing
from coilgen.exports.page._summary import add_in_short, add_key_figures
from coilgen.exports.page.page import add_verdict, content, html
from coilgen.exports.picture._svg import Element
from coilgen.frozen import dataclass
from coilgen.result.result import Result
from coilgen.study.memory import AbandonedError
from coilgen.watch.changes import changes
from coilgen.watch.compared import compared
from coilgen.watch.live_page import live_page
from coilgen.watch.seeking import Sought, begun
from coilgen.watch.state import State, full, quick, soon
from coilgen.watch.trial import Numbers, changed, tried

LARGEST_BODY = 10_000
CHANGED = "the file has changed meanwhile; go back to the file, then try again"


@dataclass(frozen=True, kw_only=True)
class Request:
    """What a browser asks. headers: names in lower case. wanted: whether the answer is still waited for.

    Pages that are open at the same time tell themselves apart by a header, `page`.
    """

    method: str
    path: str
    headers: Mapping[str, str]
    body: bytes = b""
    wanted: Callable[[], bool] = lambda: True

    @property
    def page(self) -> str:
        """Which page asks."""
        return self.headers.get("page", "")


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What it gets. save: the design file's new text, to be written before the answer is sent.

    search: a search to begin.
    """

    status: int
    kind: str
    body: bytes
    save: str | None = None
    search: Sought | None = None


def answer(request: Request, state: State, port: int) -> Answer:
    """The answer to any request: 403 to strangers, 404 to other paths, 405 to other methods."""
    if not _ours(request, port):
        return _plain(403, "refused: this page answers to its own address only")
    known = _ROUTES.get(request.path)
    if known is None:
        return _plain(404, "no such page")
    method, reply = known
    if request.method != method:
        return _plain(405, f"{request.path} takes {method}")
    if method == "POST" and request.headers.get("content-type") != "application/json":
        return _plain(415, "send JSON")
    try:
        return reply(state, request)
    except AbandonedError:
        return superseded()
    except DesignError as error:
        return refused(*(str(fault) for fault in error.faults))


def _ours(request: Request, port: int) -> bool:
    hosts = (f"127.0.0.1:{port}", f"localhost:{port}")
    origin = request.headers.get("origin")
    return request.headers.get("host") in hosts and (
        origin is None or origin in tuple(f"http://{host}" for host in hosts)
    )


def _page(state: State, request: Request) -> Answer:
    return Answer(status=200, kind="text/html; charset=utf-8", body=live_page(state))


def _status(state: State, request: Request) -> Answer:
    return _json(_seen(state))


def _seen(state: State) -> dict[str, object]:
    return {
        "version": state.version,
        "since": state.good_since,
        "whole": state.whole,
        "faults": list(state.faults),
    }


def _file(state: State, request: Request) -> Answer:
    """What the file says, whole: content, and the numbers that can be tried."""
    if state.result is None or state.good is None:
        return _json(_seen(state))
    numbers = {each.key: each.value for each in tried(state.good)}
    return _json(
        {
            **_seen(state),
            "content": html(content(state.result, awaited=not state.whole)),
            "numbers": numbers,
            "searchable": state.can_be_searched,
            "comparable": state.can_be_compared,
        }
    )


def _try(state: State, request: Request) -> Answer:
    """What follows the hand: verdict, pictures, key figures, findings."""
    result = _quick(state, request)
    parts = {}
    for name, add_part in (
        ("verdict", add_verdict),
        ("in-short", partial(add_in_short, awaited=True)),
        ("board-section", add_picture),
        ("cut-section", add_section_drawing),
        ("key-figures", partial(add_key_figures, awaited=True, before=state.result)),
        ("findings-section", add_findings),
    ):
        holder = Element("div")
        add_part(holder, result)
        found = next(part for part in holder.iter() if part.get("id") == name)
        found.tail = None
        parts[name] = html(found)
    return _json({"faults": [], "since": state.good_since, "parts": parts})


def _quick(state: State, request: Request) -> Result:
    """Of the numbers that a request tries."""
    text = changed(_good(state), _numbers(request))
    return quick(text, state.folder, request.wanted, state.remembered)


def _try_soon(state: State, request: Request) -> Answer:
    """Forces on coarse grids, in the places that `_try` holds for them; no parts where it told them."""
    design = read_beside(changed(_good(state), _numbers(request)), state.folder)
    coarse = soon(design, request.wanted, state.remembered)
    if not coarse:
        return _json({"faults": [], "parts": {}})
    result = _quick(state, request)
    missing = {name: figure for name, figure in coarse.items() if name not in result.figures}
    if not missing:
        return _json({"faults": [], "parts": {}})
    holder = Element("div")
    add_key_figures(holder, result, awaited=True, before=state.result, coarse=missing)
    return _json({"faults": [], "parts": {"key-figures": html(holder[0][0])}})


def _try_whole(state: State, request: Request) -> Answer:
    text = changed(_good(state), _numbers(request))
    result = full(text, state.folder, request.wanted, state.remembered)
    main = content(result, before=state.result)
    told = changes(state.result, result) if state.result is not None and state.whole else None
    if told is not None:
        main.insert(_after_links(main), told)
    return _json({"faults": [], "since": state.good_since, "content": html(main)})


def _after_links(main: Element) -> int:
    return 1 + next(place for place, part in enumerate(main) if part.tag == "nav")


def _compare(state: State, request: Request) -> Answer:
    """The variants of the file as it was saved."""
    section = compared(_good(state), state.folder, request.wanted)
    return _json({"faults": [], "content": html(section)})


def _save(state: State, request: Request) -> Answer:
    """Only numbers that make a design are written, and only over the file that the page was made from.

    The request names that state's version (If-Match, RFC 9110, 13.1.1).
    """
    if request.headers.get("if-match") != f'"{state.version}"':
        raise DesignError.at("", CHANGED)
    if state.text != state.good or state.faults:
        raise DesignError.at("", "the file has faults of its own; mend them before saving")
    text = changed(_good(state), _numbers(request))
    quick(text, state.folder, remembered=state.remembered)
    return Answer(status=200, kind=_JSON, body=b'{"faults": []}', save=text)


def _search(state: State, request: Request) -> Answer:
    """Begins a search of the file as it was saved, or goes on with the one that is under way."""
    text = _good(state)
    if state.sought is not None and not state.sought.ended:
        return _json({"faults": []})
    return Answer(status=200, kind=_JSON, body=b'{"faults": []}', search=begun(text, state.folder))


def _sought(state: State, request: Request) -> Answer:
    """How far the search is; null where there is none."""
    return _json(None if state.sought is None else state.sought.told())


def _good(state: State) -> str:
    if state.good is None:
        raise DesignError.at("", "the file has not been read without faults yet")
    return state.good


def _numbers(request: Request) -> Numbers:
    try:
        given: Any = json.loads(request.body)
    except (ValueError, RecursionError):
        raise DesignError.at("", "what was sent is no JSON, or none with numbers by key") from None
    if not isinstance(given, dict) or not all(_is_number(value) for value in given.values()):
        wrong = (
            [key for key, value in given.items() if not _is_number(value)] if isinstance(given, dict) else []
        )
        raise DesignError(
            [Fault(key=key, says="no number") for key in wrong] or [Fault(key="", says="no table")]
        )
    return {str(key): float(value) for key, value in given.items()}


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e9


_JSON = "application/json"
_ROUTES: Mapping[str, tuple[str, Callable[[State, Request], Answer]]] = {
    "/": ("GET", _page),
    "/status": ("GET", _status),
    "/file": ("GET", _file),
    "/try": ("POST", _try),
    "/try-soon": ("POST", _try_soon),
    "/try-whole": ("POST", _try_whole),
    "/compare": ("POST", _compare),
    "/save": ("POST", _save),
    "/search": ("POST", _search),
    "/sought": ("GET", _sought),
}


def _json(value: object) -> Answer:
    """In ASCII: what was sent may hold halves of letters, which UTF-8 cannot say."""
    return Answer(status=200, kind=_JSON, body=json.dumps(value).encode())


def refused(*faults: str) -> Answer:
    """To a request that cannot be done, a line for each reason."""
    return _json({"faults": list(faults)})


def superseded() -> Answer:
    """To a request that a newer one has made worth nothing."""
    return _json({"faults": [], "superseded": True})


def _plain(status: int, says: str) -> Answer:
    return Answer(status=status, kind="text/plain; charset=utf-8", body=f"{says}\n".encode())
