"""The page of a bench: measured beside predicted, residuals, what was learnt, what to expect next."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from coilgen import __version__
from coilgen.exports.page._table import add_rows, add_table
from coilgen.exports.page._words import typeset, words
from coilgen.exports.page.page import document
from coilgen.exports.picture._svg import Element, add
from coilgen.study.bench.text import (
    BETTER,
    CAUSES,
    READINGS,
    better_rows,
    cause_rows,
    reading_rows,
)

if TYPE_CHECKING:
    from coilgen.study.bench.bench import Bench, Compared

_STYLE = """
.bench td:nth-child(n+3), .bench th:nth-child(n+3) { text-align: right; }
.bench tr.wrong > * { color: var(--bad, #a00000); }
svg.residuals { display: block; width: 100%; min-width: 34rem; max-width: 60rem; font-size: 13px; }
"""
_REACH = 5.0
"""Standard deviations to either side that are drawn; what is farther off stands at the edge."""
_ROW, _WIDE, _NAMES = 20, 460, 200


def page(bench: Bench) -> bytes:
    """One self-contained HTML file."""
    main = Element("main", {"id": "coil"})
    header = add(main, "header")
    add(header, "h1", f"{bench.design.name}: at the bench")
    add(header, "p", f"{bench.calibration.says}. Bands hold 95 %; predictions are estimates.")
    _add_list(main, "What was found", bench.remarks)
    section = _section(main, "Measured, predicted, explained")
    _add_table(
        section, "readings", READINGS, reading_rows(bench), [each.wrong != "" for each in bench.compared]
    )
    section = _section(main, "What explanation leaves, in standard deviations")
    frame = add(section, "div", class_="frame", tabindex="0", role="region", aria_label="residuals")
    frame.append(residuals(bench.compared))
    section = _section(main, "What was learnt")
    _add_table(section, "causes", CAUSES, cause_rows(bench))
    section = _section(main, "Boards to come")
    better = [(words(name), *cells) for name, *cells in better_rows(bench)]
    _add_table(section, "figures to expect", BETTER, better)
    add(main, "footer", f"coilgen {__version__}")
    return document(f"{bench.design.name}, bench", [main], extra_style=_STYLE)


def _section(main: Element, title: str) -> Element:
    section = add(main, "section")
    add(section, "h2", title)
    return section


def _add_list(main: Element, title: str, says: Iterable[str]) -> None:
    listed = add(_section(main, title), "ul")
    for each in says:
        add(listed, "li", each)


def _add_table(
    section: Element,
    title: str,
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    wrong: Sequence[bool] = (),
) -> None:
    body = add_table(section, head, title, kind="bench")
    add_rows(body, [tuple(map(typeset, row)) for row in rows])
    for line, bad in zip(body, wrong, strict=False):
        if bad:
            line.set("class", "wrong")


def residuals(compared: Sequence[Compared]) -> Element:
    """A dot for each reading on a scale of standard deviations; the shaded part holds 95 %."""
    high = _ROW * (len(compared) + 2)
    svg = Element(
        "svg",
        {
            "class": "residuals",
            "viewBox": f"0 0 {_NAMES + _WIDE} {high}",
            "role": "img",
            "aria-label": "residuals in standard deviations",
        },
    )
    left, right = _across(-1.96), _across(1.96)
    shade = {"x": f"{left:.1f}", "y": "0", "width": f"{right - left:.1f}", "height": f"{high - _ROW}"}
    add(svg, "rect", **shade, fill="currentColor", opacity="0.08")
    for mark in range(-5, 6):
        x, line = f"{_across(mark):.1f}", "0.5" if mark == 0 else "0.12"
        add(svg, "path", d=f"M{x} 0 V{high - _ROW}", stroke="currentColor", stroke_opacity=line)
        says = typeset(f"{mark}")
        add(svg, "text", says, x=x, y=f"{high - 4}", fill="currentColor", text_anchor="middle")
    for number, each in enumerate(compared):
        at = _ROW * (number + 1)
        label = f"{each.reading.sample} {each.reading.figure}"
        add(svg, "text", label, x="4", y=f"{at + 4}", fill="currentColor")
        dot = {"cx": f"{_across(each.off):.1f}", "cy": f"{at}", "r": "4"}
        add(svg, "circle", **dot, fill="none" if each.wrong else "currentColor", stroke="currentColor")
    return svg


def _across(deviations: float) -> float:
    held = min(max(deviations, -_REACH), _REACH)
    return _NAMES + _WIDE * (held + _REACH + 0.5) / (2 * _REACH + 1)
