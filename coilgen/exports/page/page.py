"""The coil page: one self-contained HTML file with pictures, figures, plots, findings and the design."""

from collections.abc import Sequence
from importlib.resources import files as resources
from xml.etree import ElementTree

from coilgen import __version__
from coilgen.exports.page._sections import (
    add_design,
    add_figures,
    add_findings,
    add_plots,
    add_section_drawing,
)
from coilgen.exports.page._summary import add_notes, add_summary
from coilgen.exports.picture._svg import Element, add
from coilgen.result.caution import fault_told
from coilgen.result.export import Export
from coilgen.result.result import Result


def files(result: Result) -> dict[str, bytes]:
    """One file that needs nothing else: styles, script and pictures are inside."""
    return {f"{result.design.name}.html": page(result)}


def page(result: Result) -> bytes:
    """The whole page of a result."""
    return document(result.design.name, [content(result)])


def document(name: str, parts: Sequence[Element], extra_style: str = "", extra_script: str = "") -> bytes:
    """A page of parts, in order; the extras follow the page's own style and script."""
    root = Element("html", {"lang": "en"})
    head = add(root, "head")
    add(head, "meta", charset="utf-8")
    add(head, "meta", name="viewport", content="width=device-width, initial-scale=1")
    add(head, "meta", name="color-scheme", content="light dark")
    add(head, "title", f"{name}: coil")
    add(head, "link", rel="icon", href="data:,")
    add(head, "style", text("style.css") + extra_style)
    body = add(root, "body")
    body.extend(parts)
    add(body, "script", text("script.js") + extra_script)
    return f"<!DOCTYPE html>\n{html(root)}\n".encode()


def content(result: Result, *, awaited: bool = False, before: Result | None = None) -> Element:
    """Everything that is seen: a summary that fits a screen, then sections that a row of links leads to.

    awaited: slow figures are still being computed. before: a result that key figures are told beside.
    """
    main = Element("main", {"id": "coil"})
    _add_header(main, result)
    add_summary(main, result, awaited=awaited, before=before)
    links = add(main, "nav", class_="jump", aria_label="Sections of the page")
    add_notes(main, result)
    add_section_drawing(main, result)
    add_findings(main, result)
    add_plots(main, result)
    add_figures(main, result)
    add_design(main, result)
    _add_links(links, main)
    add(main, "footer", f"coilgen {__version__}. Lengths in mm, seen from the top.")
    return main


def _add_links(links: Element, main: Element) -> None:
    """To each section that has a heading."""
    for section in main.iterfind("section"):
        heading = section.find("h2")
        if heading is not None:
            add(links, "a", str(heading.text), href=f"#{section.get('id')}")


def _add_header(main: Element, result: Result) -> None:
    header = add(main, "header")
    add(header, "h1", result.design.name)
    if result.design.note:
        add(header, "p", result.design.note, class_="note")
    add_verdict(header, result)


def add_verdict(header: Element, result: Result) -> None:
    """Whether the rules are kept, in two words, and what makes the coil useless though they are."""
    add_count(header, len(result.findings), fault_told(result.cautions))


def add_count(header: Element, count: int, fault: str | None = None) -> None:
    """How many findings there are, and a fault besides; red where there is one or the other."""
    verdict = "rules: clean" if not count else f"rules: {count} finding{'s' if count > 1 else ''}"
    if fault:
        verdict += f"; {fault}"
    bad = bool(count or fault)
    add(
        header,
        "p",
        f"{'!' if bad else '✓'} {verdict}",
        id="verdict",
        class_=f"verdict {'bad' if bad else 'good'}",
    )


def html(element: Element) -> str:
    """As HTML, which closes its elements in its own way."""
    written: str = ElementTree.tostring(element, encoding="unicode", method="html")
    return written


def text(name: str) -> str:
    """A text that belongs to the page: its style sheet or a script."""
    return resources("coilgen.exports.page").joinpath(name).read_text(encoding="utf-8")


EXPORT = Export(
    name="page",
    says="HTML: one page with pictures, figures, plots and findings",
    reader="eye",
    paths=("<name>.html",),
    files=files,
)
