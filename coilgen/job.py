"""One design, stage by stage: coil, art, findings, figures, files."""

from collections.abc import Mapping
from dataclasses import replace
from typing import cast

from coilgen.artwork.art import Art, art
from coilgen.artwork.legend import legend
from coilgen.catalogue import specimens
from coilgen.design.design import Design
from coilgen.layout.coil import Coil
from coilgen.layout.shape import Shape
from coilgen.layout.wind import wind
from coilgen.result.export import Export
from coilgen.result.figure import Case, Figure, Quantity, ranked
from coilgen.result.metal_on_board import metal_over_copper
from coilgen.result.result import Result
from coilgen.result.rule import Finding, Rule

ESTIMATE = (
    "All figures are estimates: measure the first sample with a current-limited supply before relying on "
    "them."
)


def make(design: Design) -> Result:
    """Everything of a design, with the files in memory.

    DesignError when the design has no room for its parts.
    """
    return filed(studied(design))


def studied(design: Design) -> Result:
    """Coil, art, findings and figures of a design, without files."""
    return figured(checked(design))


def checked(design: Design) -> Result:
    """Coil, art and findings of a design, without figures and files."""
    coil, board = drawn(design)
    return Result(
        design=design,
        coil=coil,
        art=board,
        findings=findings_of(design, coil, board),
        figures={},
        cautions=remarks(design, coil, board),
    )


def remarks(design: Design, coil: Coil, board: Art) -> tuple[str, ...]:
    """What a designer must know besides the figures, those that tell of harm first."""
    return ranked([*design.notes, *coil.says, *metal_over_copper(design, board)])


def figured(result: Result) -> Result:
    """A checked result with its figures and what they caution against."""
    return with_figures(result, figures_of(result.design, result.coil, result.art))


def with_figures(result: Result, figures: Mapping[str, Figure]) -> Result:
    """A checked result with figures computed for it, and what they caution against."""
    raised = [caution for figure in figures.values() for caution in figure.cautions]
    return replace(result, figures=figures, cautions=ranked([*raised, *result.cautions, ESTIMATE]))


def filed(result: Result) -> Result:
    """A figured result with every file in memory."""
    return replace(result, files=files(result))


def drawn(design: Design) -> tuple[Coil, Art]:
    """The coil and its art."""
    shape = cast(Shape, specimens("coilgen.layout.shapes", "SHAPE")[design.winding.shape])
    coil = wind(design, shape)
    board = art(design, coil)
    return coil, replace(board, legend=legend(design.name, board, coil.terminals))


def findings_of(design: Design, coil: Coil, board: Art) -> tuple[Finding, ...]:
    """What every rule finds."""
    rules = cast(Mapping[str, Rule], specimens("coilgen.rules", "RULE"))
    return tuple(finding for rule in rules.values() for finding in rule.check(design, coil, board))


def quantities() -> Mapping[str, Quantity]:
    """Every kind of figure by name."""
    groups = cast(Mapping[str, tuple[Quantity, ...]], specimens("coilgen.figures", "FIGURES"))
    return {quantity.name: quantity for group in groups.values() for quantity in group}


def figures_of(design: Design, coil: Coil, board: Art) -> dict[str, Figure]:
    """Every figure that applies, each computed once."""
    case = case_of(design, coil, board)
    found = {name: case.figure(name) for name in case.quantities}
    return {name: figure for name, figure in found.items() if figure is not None}


def case_of(design: Design, coil: Coil, board: Art) -> Case:
    """A drawn design that computes the figures asked of it, and no others."""
    return Case(design=design, coil=coil, art=board, quantities=quantities())


def files(result: Result) -> dict[str, bytes]:
    """Every file of a result; bundles see the others' files."""
    exports = cast(Mapping[str, Export], specimens("coilgen.exports", "EXPORT"))
    written: dict[str, bytes] = {}
    for export in sorted(exports.values(), key=lambda each: each.bundles):
        seen = replace(result, files=written) if export.bundles else result
        written |= export.files(seen)
    return written
