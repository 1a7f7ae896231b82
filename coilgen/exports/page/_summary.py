"""The first screen of the coil page: the board, the verdict in a sentence, key figures, warnings."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from coilgen.exports.page._picture import add_picture
from coilgen.exports.page._words import typeset, words
from coilgen.exports.picture._svg import Element, add
from coilgen.result.caution import WARNING, warns
from coilgen.result.figure import Figure
from coilgen.result.figure_text import KEY_FIGURES, band_text, is_number, key_figures, value_text
from coilgen.result.result import Result
from coilgen.result.verdict import verdict

SLOW_FIGURES = {
    "core_inductance": ("core",),
    "inductance_in_place": ("target",),
    "force_on_magnet": ("magnet",),
    "force_at_rest": ("magnet", "core"),
    "force_constant": ("magnet",),
    "pull_on_target": ("target",),
    "holding_current": ("target",),
}
"""Key figures that take their time, each with the parts of the design that it is told for."""

QUICK_FIGURES = tuple(name for name in KEY_FIGURES if name not in SLOW_FIGURES)

_OF_WINDINGS = {
    "inductance": "winding_inductances",
    "current": "winding_currents",
    "moment": "winding_moments",
}

_MANY = 10.0
"""Times as much from which a change is told so, not in per cent."""

_NOTHING: Mapping[str, Figure] = {}

_END = re.compile(r"[:;.] | \(|, such as |$")
"""Of what a caution is about, once it has said enough."""
_ENOUGH = 24


def add_summary(
    main: Element, result: Result, *, awaited: bool = False, before: Result | None = None
) -> None:
    """What fits a screen.

    awaited: slow figures, and what they warn of, are not there yet. before: a result that key figures are
    told beside.
    """
    frame = add(main, "div", class_="summary")
    add_picture(frame, result)
    told = add(frame, "div", class_="told")
    add_in_short(told, result, awaited=awaited)
    add_key_figures(told, result, awaited=awaited, before=before)
    _add_warnings(told, result, awaited=awaited)


def add_in_short(parent: Element, result: Result, *, awaited: bool = False) -> None:
    """Whether to order, in a sentence; rules that are broken lead to where they are told."""
    told = verdict(result, awaited=awaited)
    says = add(parent, "p", told.begins, id="in-short", class_="in-short")
    if told.found:
        add(says, "a", told.found, href="#findings-section").tail = told.ends


def add_key_figures(
    parent: Element,
    result: Result,
    *,
    awaited: bool = False,
    before: Result | None = None,
    coarse: Mapping[str, Figure] = _NOTHING,
) -> None:
    """The most asked for, large. awaited: slow ones that are not there yet hold their places.

    coarse: what those are about, from a coarse grid; it is not held against `before`, which is of a fine one.
    """
    section = add(parent, "section", class_="keys", aria_label="Key figures")
    listed = add(section, "dl", id="key-figures")
    told = {figure.name: figure for figure in key_figures(result.figures)}
    for name in KEY_FIGURES:
        figure = told.get(name)
        if figure is not None:
            was = None if before is None else before.figures.get(name)
            _add_key(listed, name, value_text(figure), band_text(figure), _was(figure, was))
        elif name in coarse:
            _add_key(
                listed, name, f"≈ {value_text(coarse[name])}", "coarse; the exact value is being computed"
            )
        elif awaited and name in SLOW_FIGURES and _has(result, SLOW_FIGURES[name]):
            _add_key(listed, name, "…", "being computed")
    _add_of_windings(listed, result)


def _add_of_windings(listed: Element, result: Result) -> None:
    """Of several windings, what the board as a whole has no figure of: from the least to the most."""
    for name, says in _OF_WINDINGS.items():
        told = [each.figures[name] for each in result.windings if name in each.figures]
        if told and name not in result.figures:
            every = replace(told[0], value=[figure.value for figure in told], band=None)
            effective = name == "current" and result.design.mover is not None
            _add_key(listed, says, value_text(every), "root mean square, mover held" if effective else "")


def _has(result: Result, parts: tuple[str, ...]) -> bool:
    return all(getattr(result.design, part) for part in parts)


def _add_key(listed: Element, name: str, says: str, below: str, was: str = "") -> None:
    entry = add(listed, "div")
    add(entry, "dt", words(name))
    value = add(entry, "dd", typeset(says))
    if below:
        add(value, "small", typeset(below))
    if was:
        add(value, "small", typeset(was), class_="was")


def _was(figure: Figure, before: Figure | None) -> str:
    """What a figure was, where it is another now to the digits shown."""
    if before is None or value_text(before) == value_text(figure):
        return ""
    change = change_text(before, figure)
    return f"was {value_text(before)}{change and f', {change}'}"


def change_text(before: Figure, after: Figure) -> str:
    """By how much a figure has changed, in per cent, of a temperature in K; from ten times on how often.

    Empty from nothing, and of several values. The sign and what follows it stay on one line.
    """
    if not (is_number(before.value) and is_number(after.value)):
        return ""
    if after.unit == "degC":
        change, unit = after.value - before.value, "K"
    else:
        ratio = after.value / before.value if before.value else 1.0
        if abs(ratio) >= _MANY:
            return f"\N{MULTIPLICATION SIGN}\N{NO-BREAK SPACE}{ratio:.3g}"
        change, unit = 100.0 * (ratio - 1.0), "%"
    return f"{change:+.3g}\N{NO-BREAK SPACE}{unit}" if change else ""


def _add_warnings(parent: Element, result: Result, *, awaited: bool) -> None:
    """What tells of harm, in short with the rest to unfold, then where the notes are."""
    section = add(parent, "section", id="remarks", class_="remarks", aria_label="Warnings")
    warnings, notes = _sorted(result.cautions)
    if warnings:
        listed = add(section, "ul", class_="grave")
        for warning in warnings:
            _add_caution(add(listed, "li"), warning.removeprefix(WARNING), WARNING.strip())
    if awaited:
        add(section, "p", "Figures are being computed; what they warn of follows.", class_="model")
    elif notes:
        count = "1 note" if len(notes) == 1 else f"{len(notes)} notes"
        add(add(section, "p", class_="model"), "a", f"{count} before you order", href="#notes-section")


def add_notes(main: Element, result: Result) -> None:
    """What else to know before the board is ordered."""
    _, notes = _sorted(result.cautions)
    if not notes:
        return
    section = add(main, "section", id="notes-section", class_="remarks", aria_labelledby="notes-heading")
    add(section, "h2", "Before you order", id="notes-heading")
    listed = add(section, "ul", class_="rest")
    for note in notes:
        add(listed, "li", note)


def _sorted(cautions: Sequence[str]) -> tuple[list[str], list[str]]:
    """Those that tell of harm, and the rest."""
    return [each for each in cautions if warns(each)], [each for each in cautions if not warns(each)]


def _add_caution(item: Element, text: str, lead: str) -> None:
    """Its beginning, and the rest to unfold."""
    brief = brief_of(text)
    rest = text[len(brief) :].lstrip(",:;. ")
    if not rest:
        add(item, "strong", lead).tail = f" {text}"
        return
    details = add(item, "details")
    summary = add(details, "summary")
    add(summary, "strong", lead).tail = f" {brief}"
    add(details, "p", rest)


def brief_of(caution: str) -> str:
    """As much of a caution as tells what it is about.

    >>> brief_of("Hot to touch: the copper reaches 66 °C. At 60 °C: bare metal.")
    'Hot to touch: the copper reaches 66 °C'
    """
    end = _END.search(caution, _ENOUGH)
    return caution[: end.start()] if end else caution
