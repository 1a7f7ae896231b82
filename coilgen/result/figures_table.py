"""Figures as an HTML table, for a notebook."""

import html
from collections.abc import Iterable

from coilgen.result.figure import Figure
from coilgen.result.figure_text import GROUPS, band_text, is_number, value_text


def figures_table(figures: Iterable[Figure]) -> str:
    """A table by group: values with their bands, and of tables how many rows they have."""
    given = [*figures]
    rows = [
        "".join(f"<td>{html.escape(cell)}</td>" for cell in _row(figure))
        for group in GROUPS
        for figure in given
        if figure.group == group
    ]
    heads = "".join(f"<th>{head}</th>" for head in ("figure", "value", "band", "what"))
    return f"<table><tr>{heads}</tr>{''.join(f'<tr>{row}</tr>' for row in rows)}</table>"


def _row(figure: Figure) -> tuple[str, str, str, str]:
    value = value_text(figure) if is_number(figure.value) else _size(figure.value)
    return figure.name, value, band_text(figure), figure.says


def _size(value: object) -> str:
    if not isinstance(value, list | tuple):
        return str(value)
    return f"{len(value)} row{'s' if len(value) != 1 else ''}"
