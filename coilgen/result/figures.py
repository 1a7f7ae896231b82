"""The figures of one design: by name as keys and as attributes, and as a table in a notebook."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

from coilgen.catalogue import unknown

if TYPE_CHECKING:
    from coilgen.result.figure import Figure


class Figures(Mapping[str, "Figure"]):
    """Figures by name, `figures["inductance"]` or `figures.inductance`; frozen."""

    def __init__(self, figures: Mapping[str, "Figure"] = MappingProxyType({})) -> None:
        self._figures = dict(figures)

    def __getitem__(self, name: str) -> "Figure":
        return self._figures[name]

    def __getattr__(self, name: str) -> "Figure":
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
        from coilgen.result.figures_table import figures_table

        return figures_table(self.values())
