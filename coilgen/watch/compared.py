"""The design's variants side by side, as a part of the live page."""

from collections.abc import Callable
from pathlib import Path

from coilgen.design.reading import read_beside
from coilgen.exports.page._words import typeset
from coilgen.exports.picture._svg import Element, add
from coilgen.processors import processors
from coilgen.study.compare import Comparison, compare
from coilgen.study.comparison_text import BEST, cells, same_for_all, verdicts, where


def compared(text: str, folder: Path, wanted: Callable[[], bool]) -> Element:
    """The variants of a design file's text. DesignError without any; AbandonedError once nobody waits."""
    return _section(compare(read_beside(text, folder), workers=processors(), wanted=wanted))


def _section(comparison: Comparison) -> Element:
    section = Element("section", {"id": "compared", "aria-labelledby": "compared-heading"})
    add(section, "h2", "The variants side by side", id="compared-heading")
    heads, rows = cells(comparison)
    frame = add(section, "div", class_="frame", tabindex="0", role="region", aria_label="variants")
    table = add(frame, "table")
    line = add(add(table, "thead"), "tr")
    for head in heads:
        add(line, "th", head.replace("\n", " ").strip(), scope="col")
    body = add(table, "tbody")
    for name, *row in rows:
        line = add(body, "tr")
        add(line, "th", name, scope="row")
        for cell in row:
            add(line, "td", typeset(cell), class_="number")
    told = [f"for all: {same}" for same in (same_for_all(comparison),) if same]
    told += [f"{name}: {says}" for name, says in verdicts(comparison)]
    told.append(where(comparison))
    if any(comparison.best.values()):
        told.append(f"{BEST} the best of its column among the variants that can do all that is asked")
    for says in told:
        add(section, "p", typeset(says), class_="model")
    return section
