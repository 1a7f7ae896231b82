"""A design made from a drawn file: what the program says of it, and what its files say by themselves."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from board_reader import Board, Sheet, read_board, without
from current_path import Circuit, circuit

from coilgen.catalogue import specimens
from coilgen.design.design import Design
from coilgen.design.reading import read_tables
from coilgen.geometry.closed import circle
from coilgen.job import case_of, check, draw, make, with_figures
from coilgen.result.figure import Case
from coilgen.result.result import Result

QUICK_FIGURES = (
    "trace_length",
    "smallest_spacing",
    "smallest_width",
    "resistance_20c",
    "turns_total",
    "turn_area",
    "copper_mass",
    "current",
    "power",
    "current_density",
    "ampere_turns",
    "moment",
)
FAR = 10.0
"""Diameter of an edge that is nowhere near a coil, m."""

QUICK_EXPORTS = ("gerber", "drill", "netlist", "pads_csv")


@dataclass(frozen=True, kw_only=True)
class Made:
    """A design with all that is known of it. whole: every figure and file, not only the quick ones."""

    result: Result
    files: Mapping[str, bytes]
    whole: bool

    @property
    def design(self) -> Design:
        return self.result.design

    @cached_property
    def board(self) -> Board:
        """As read from the files; a board without an outline has none, and is read with an edge far away."""
        if self.result.art.outline is not None or self.design.board.outline != "none":
            return read_board(self.files)
        far = replace(self.result.art, outline=circle(FAR))
        board = read_board(remade(replace(self.result, art=far)).files)
        near = [draw for draw in board.profile.image.draws if abs(draw.start) < FAR / 4]
        return replace(board, profile=Sheet(replace(board.profile.image, draws=near)))

    @cached_property
    def own(self) -> Board:
        """The board without the holes that the design adds to those of the coil, and their rings."""
        return without(self.board, [complex(*hole.at) for hole in self.design.hole])

    @cached_property
    def circuit(self) -> Circuit:
        return circuit(self.own)

    @cached_property
    def case(self) -> Case:
        """Of the design drawn anew: computes each figure that laws ask for once."""
        return case_of(self.design, *draw(self.design))

    def value(self, figure: str) -> Any:
        """A figure's value, None where it does not apply."""
        found = self.result.figures.get(figure)
        return None if found is None else found.value


def made(tables: Mapping[str, object], *, whole: bool) -> Made:
    """The design of a file's tables; DesignError where it is refused."""
    design = read_tables(tables)
    if whole:
        result = make(design)
        return Made(result=result, files=result.files, whole=True)
    checked = check(design)
    case = case_of(design, checked.coil, checked.art)
    figures = {name: figure for name in QUICK_FIGURES if (figure := case.figure(name)) is not None}
    return remade(with_figures(checked, figures))


def remade(result: Result) -> Made:
    """A result with its quick files."""
    exports = specimens("coilgen.exports", "EXPORT")
    files = {path: text for name in QUICK_EXPORTS for path, text in exports[name].files(result).items()}
    return Made(result=result, files=files, whole=False)
