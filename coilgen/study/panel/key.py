"""The key of a panel as a table: which board serves what, where it lies, what to expect of it."""

from collections.abc import Iterator, Mapping

from coilgen.design.paneling import PanelFile
from coilgen.job import quantities
from coilgen.result.csv_table import csv_table
from coilgen.result.figure import Figure
from coilgen.result.result import Result
from coilgen.study.panel.expected import EXPECTED, by_winding
from coilgen.study.panel.panel import Panel, PlacedBoard
from coilgen.study.panel.samples import LETTERS

HEAD = ("label", "design", "file", "variant", "winding", "x_mm", "y_mm", "rotation_deg")
BAND = ("", "_low", "_high")


def key_csv(panel: Panel, results: Mapping[str, Result]) -> bytes:
    """A row for each variant that a board serves, and each winding of it, or two terminals of joined coils.

    Places are of the boards' own origins, from the panel's lower left corner; figures in the units that
    `<name>.json` has, of the bare board, with their bands; those of coupons follow.
    """
    figures = [f"{name}_{_unit(name)}{end}" for name in EXPECTED for end in BAND]
    rows = [row for each in panel.boards for row in _rows(panel.asked, each, results[each.board.label])]
    return csv_table([(*HEAD, *figures), *rows]).encode()


def _unit(name: str) -> str:
    return quantities()[name].unit


def _rows(asked: PanelFile, placed: PlacedBoard, result: Result) -> Iterator[tuple[str, ...]]:
    board = placed.board
    file = next(
        sample.design
        for sample, letter in zip(asked.sample, LETTERS, strict=False)
        if board.label.startswith(letter)
    )
    for name, _ in board.serves:
        for winding, figures in by_winding(result):
            yield (
                board.label,
                board.design.name,
                file,
                name,
                winding,
                f"{placed.middle.real * 1e3:.3f}",
                f"{placed.middle.imag * 1e3:.3f}",
                "90" if placed.turned else "0",
                *_values(figures),
            )


def _values(figures: Mapping[str, Figure]) -> Iterator[str]:
    for name in EXPECTED:
        figure = figures.get(name)
        if figure is None:
            yield from ("", "", "")
        else:
            low, high = figure.band or (figure.value, figure.value)
            yield from (f"{number:.6g}" for number in (figure.value, low, high))
