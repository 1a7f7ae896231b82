"""What a trial changes: every figure of one value beside the file's."""

from coilgen.exports.page._summary import change_text
from coilgen.exports.page._words import typeset, words
from coilgen.exports.picture._svg import Element, add
from coilgen.result.figure_text import is_number, value_text
from coilgen.result.result import Result


def changes(before: Result, after: Result) -> Element | None:
    """A section with a row for each figure that is another now, to the digits shown; None without any.

    Figures that only one of the two has are told as well.
    """
    rows = [
        row for name in dict.fromkeys((*before.figures, *after.figures)) if (row := _row(name, before, after))
    ]
    if not rows:
        return None
    section = Element("section", {"id": "changes-section", "aria-labelledby": "changes-heading"})
    add(section, "h2", "What the tried numbers change", id="changes-heading")
    frame = add(section, "div", class_="frame", tabindex="0", role="region", aria_label="changes")
    table = add(frame, "table")
    head = add(add(table, "thead"), "tr")
    for text in ("figure", "in the file", "tried", "change"):
        add(head, "th", text, scope="col")
    body = add(table, "tbody")
    for name, *cells in rows:
        line = add(body, "tr")
        add(line, "th", words(name), scope="row")
        for cell in cells:
            add(line, "td", typeset(cell), class_="number")
    return section


def _row(name: str, before: Result, after: Result) -> tuple[str, str, str, str] | None:
    old, new = (each.figures.get(name) for each in (before, after))
    if not any(figure is not None and is_number(figure.value) for figure in (old, new)):
        return None
    told = ["–" if figure is None else value_text(figure) for figure in (old, new)]
    if told[0] == told[1]:
        return None
    change = "" if old is None or new is None else change_text(old, new)
    return name, told[0], told[1], change
