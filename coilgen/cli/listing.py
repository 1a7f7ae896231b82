"""What `list` shows: shapes, stack-ups, shops and all the rest, by name."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from coilgen.cli.terminal import Row

Listing = tuple[Row, list[Row]]


def listing(kind: str) -> Listing:
    """Headers and rows of one of KINDS."""
    return _LISTINGS[kind](kind)


def _data(kind: str) -> Listing:
    from coilgen.catalogue import rows as rows_of

    heads, cells = _FACTS.get(kind, ((), lambda row: ()))
    return ("name", *heads, "what", "numbers from"), [
        (name, *cells(row), str(row.get("says", "")), str(row.get("source", "")))
        for name, row in rows_of(kind).items()
    ]


_FACTS: Mapping[str, tuple[tuple[str, ...], Callable[[Mapping[str, Any]], tuple[str, ...]]]] = {
    "materials": (("sort",), lambda row: (row["sort"],)),
    "magnets": (("remanence, T",), lambda row: (_span(row["remanence"]),)),
    "contacts": (("m² K/W",), lambda row: (_span([row["resistance"][0], row["resistance"][-1]]),)),
    "temperature_limits": (("°C",), lambda row: (f"{row['temperature']:.0f}",)),
}
"""Columns that tell kinds of data apart, after the name."""


def _span(values: Sequence[float]) -> str:
    return " to ".join(f"{value:g}" for value in values)


def _templates(_: str) -> Listing:
    from coilgen.catalogue import templates

    return ("name", "what"), [(name, _first_comment(text)) for name, text in templates().items()]


def _first_comment(text: str) -> str:
    first = text.lstrip().partition("\n")[0]
    return first.lstrip("# ") if first.startswith("#") else ""


def _figures(_: str) -> Listing:
    from coilgen.job import quantities

    return ("name", "unit", "what"), [(each.name, each.unit, each.says) for each in quantities().values()]


def _specimens(kind: str) -> Listing:
    from coilgen.catalogue import specimens

    room = {"shapes": "coilgen.layout.shapes"}.get(kind, f"coilgen.{kind}")
    found: Mapping[str, Any] = specimens(room, kind.removesuffix("s").upper())
    return ("name", "what"), [(name, each.says) for name, each in found.items()]


_LISTINGS = {
    "shapes": _specimens,
    "stackups": _data,
    "shops": _data,
    "materials": _data,
    "magnets": _data,
    "contacts": _data,
    "temperature_limits": _data,
    "rules": _specimens,
    "figures": _figures,
    "exports": _specimens,
    "templates": _templates,
}
KINDS = tuple(_LISTINGS)
