"""The page that `watch` serves: the coil page, numbers to try and what was tried above it, faults on top."""

from collections.abc import Sequence
from importlib.resources import files as resources

from coilgen.exports.page.page import content, document
from coilgen.exports.picture._svg import Element, add
from coilgen.watch.state import State
from coilgen.watch.trial import Tried, tried

OLD = "What is shown below is older: of the last numbers and files that had no fault."
"""Beside faults, so that nobody takes figures on the page for those of the file as it is."""


def live_page(state: State) -> bytes:
    """The whole page; without a good result yet it holds the faults and waits."""
    parts = [_faults(state), _trial(state), _history(), _found(), _main(state)]
    name = state.result.design.name if state.result else "design"
    return document(name, parts, extra_style=_text("watch.css"), extra_script=_text("watch.js"))


def _faults(state: State) -> Element:
    frame = Element("div", {"id": "faults", "role": "alert", "data-old": OLD})
    for fault in state.faults:
        add(frame, "p", fault)
    if state.faults and state.result is not None:
        add(frame, "p", OLD)
    return frame


def _trial(state: State) -> Element:
    form = Element("form", {"id": "trial", "class": "trial", "aria-label": "Numbers to try"})
    form.set("data-version", str(state.version))
    form.set("data-since", str(state.good_since))
    form.set("data-whole", str(state.whole).lower())
    rules = None if state.result is None else state.result.design.rules
    offered = tried(state.good, rules) if state.good else ()
    for each in offered:
        _add_number(form, each)
    _add_more(form, [each for each in offered if not each.first])
    _add_buttons(form, state)
    return form


def _add_number(form: Element, each: Tried) -> None:
    """A number and its slider; one that is chosen only waits unseen."""
    says = f"{each.says}, {each.unit}" if each.unit else each.says
    holder = add(form, "div", class_="number" if each.first else "number hidden")
    label = add(holder, "label", says)
    own = {"name": each.key, "value": f"{each.value:.9g}", "step": f"{each.step:g}"}
    box = add(label, "input", type="number", **own)
    slider = add(holder, "input", type="range", aria_label=f"{says}, slider", data_for=each.key)
    for name, value in (("min", each.low), ("max", each.high), ("step", each.step), ("value", each.value)):
        slider.set(name, f"{value:.9g}")
    if each.low >= 0.0:
        box.set("min", "0")
    if not each.first:
        box.set("disabled", "disabled")
        slider.set("disabled", "disabled")


def _add_more(form: Element, others: Sequence[Tried]) -> None:
    """A list of the numbers that are not offered at once."""
    if not others:
        return
    label = add(form, "label", "another number")
    chosen = add(label, "select", id="more")
    add(chosen, "option", "choose …", value="")
    for each in others:
        add(chosen, "option", f"{each.says} ({each.key})", value=each.key)


def _add_buttons(form: Element, state: State) -> None:
    buttons = add(form, "div", class_="buttons")
    for name, says in (("save", "Save to the file"), ("back", "Back to the file"), ("undo", "Undo")):
        add(buttons, "button", says, type="button", id=name, disabled="disabled")
    for name, says, there in (
        ("compare", "Compare the variants", state.can_be_compared),
        ("search", "Search for the best board", state.can_be_searched),
    ):
        button = add(buttons, "button", says, type="button", id=name)
        if not there:
            button.set("hidden", "hidden")
    add(buttons, "output", "", id="trial-says", aria_live="polite")


def _history() -> Element:
    """What was tried since the file was read, side by side; the script fills it."""
    frame = Element("details", {"id": "history", "class": "hidden"})
    add(frame, "summary", "Tried so far")
    add(frame, "div", class_="frame", tabindex="0", role="region", aria_label="tried so far")
    return frame


def _found() -> Element:
    """What a search and a comparison tell; empty until one is begun."""
    frame = Element("div", {"id": "found"})
    add(frame, "div", id="sought", role="status")
    add(frame, "section", id="compared")
    return frame


def _main(state: State) -> Element:
    if state.result is not None:
        main = content(state.result, awaited=not state.whole)
        if state.faults:
            main.set("class", "stale")
        return main
    main = Element("main", {"id": "coil"})
    add(main, "h1", "No result yet")
    add(main, "p", "The page shows the coil as soon as the file has no faults.")
    return main


def _text(name: str) -> str:
    return resources("coilgen.watch").joinpath(name).read_text(encoding="utf-8")
