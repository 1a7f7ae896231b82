"""Tables of pages: in a frame that scrolls by itself when the page is narrow, by keyboard too."""

from collections.abc import Sequence

from coilgen.exports.picture._svg import Element, add


def add_table(
    parent: Element, heads: Sequence[str], caption: str, *, head: bool = True, kind: str = ""
) -> Element:
    """The body of a new table; kind: more classes of its frame. Without heads its caption is seen."""
    names = f"frame {kind}".strip()
    frame = add(parent, "div", class_=names, tabindex="0", role="region", aria_label=caption)
    table = add(frame, "table")
    add(table, "caption", caption, class_="unseen" if head else "")
    if head:
        row = add(add(table, "thead"), "tr")
        for text in heads:
            add(row, "th" if text else "td", text, **({"scope": "col"} if text else {}))
    return add(table, "tbody")


def add_rows(body: Element, rows: Sequence[Sequence[str]]) -> None:
    """Lines of cells, each with its first one as its head."""
    for name, *cells in rows:
        line = add(body, "tr")
        add(line, "th", name, scope="row")
        for cell in cells:
            add(line, "td", cell)
