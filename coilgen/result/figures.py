"""The figures of one design: by name as keys and as attributes, and as a table in a notebook."""

import html
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from coilgen.catalogue import unknown
from coilgen.result.figure import Figure
from coilgen.result.figure_text import GROUPS, band_text, is_number, value_text


class Figures(Mapping[str, Figure]):
    """Figures by name, `figures["inductance"]` or `figures.inductance`; frozen."""

    def __init__(self, figures: Mapping[str, Figure] = MappingProxyType({})) -> None:
        self._figures = dict(figures)

    def __getitem__(self, name: str) -> Figure:
        return self._figures[name]

    def __getattr__(self, name: str) -> Figure:
        if name.startswith("_"):
            raise AttributeError(name)
        if name not in self._figures:
            raise AttributeError(f"no figure {name}; {unknown(name, self._figures)}")
        return self._figures[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._figures)

    def __len__(self) -> int:
        return len(self._figures)

    def __dir__(self) -> list[str]:
        return [*super().__dir__(), *self._figures]

    def __repr__(self) -> str:
        return f"<{len(self)} figures: {', '.join([*self][:3])} …>" if self._figures else "<no figures>"

    def _repr_html_(self) -> str:
        """A table by group: values with their bands, and of tables how many rows they have."""
        rows = [
            "".join(f"<td>{html.escape(cell)}</td>" for cell in _row(figure))
            for group in GROUPS
            for figure in self.values()
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
