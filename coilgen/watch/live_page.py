"""The page that `watch` serves: the coil page, a bar of numbers to try above it, faults on top."""

from importlib.resources import files as resources

from coilgen.exports.page.page import content, document
from coilgen.exports.picture._svg import Element, add
from coilgen.watch.state import State
from coilgen.watch.trial import tried


def live_page(state: State) -> bytes:
    """The whole page; without a good result yet it holds the faults and waits."""
    parts = [_faults(state), _trial(state), _search(), _main(state)]
    name = state.result.design.name if state.result else "design"
    return document(name, parts, extra_style=_text("watch.css"), extra_script=_text("watch.js"))


def _faults(state: State) -> Element:
    frame = Element("div", {"id": "faults", "role": "alert"})
    for fault in state.faults:
        add(frame, "p", fault)
    return frame


def _trial(state: State) -> Element:
    form = Element("form", {"id": "trial", "class": "trial", "aria-label": "Numbers to try"})
    form.set("data-version", str(state.version))
    form.set("data-whole", str(state.whole).lower())
    for each in tried(state.good) if state.good else ():
        label = add(form, "label", f"{each.says}, {each.unit}" if each.unit else each.says)
        box = add(
            label, "input", type="number", name=each.key, value=f"{each.value:g}", step=f"{each.step:g}"
        )
        box.set("min", "0")
    buttons = add(form, "div", class_="buttons")
    add(buttons, "button", "Save to the file", type="button", id="save", disabled="disabled")
    add(buttons, "button", "Back to the file", type="button", id="back", disabled="disabled")
    search = add(buttons, "button", "Search for the best board", type="button", id="search")
    if not state.can_be_searched:
        search.set("hidden", "hidden")
    add(buttons, "output", "", id="trial-says", aria_live="polite")
    return form


def _search() -> Element:
    """What a search tells; empty until one is begun."""
    return Element("div", {"id": "sought", "role": "status"})


def _main(state: State) -> Element:
    if state.result is not None:
        return content(state.result, awaited=not state.whole)
    main = Element("main", {"id": "coil"})
    add(main, "h1", "No result yet")
    add(main, "p", "The page shows the coil as soon as the file has no faults.")
    return main


def _text(name: str) -> str:
    return resources("coilgen.watch").joinpath(name).read_text(encoding="utf-8")
