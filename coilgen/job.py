"""One design, stage by stage: coil, art, findings, figures, files."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import cast

from coilgen.art import Art, art
from coilgen.bodies import Core, Face
from coilgen.catalogue import specimens
from coilgen.coil import Coil
from coilgen.design import Design
from coilgen.export import Export
from coilgen.figure import WARNING, Case, Figure, Quantity, ranked
from coilgen.legend import legend
from coilgen.mounting import BasePlate
from coilgen.result import Result
from coilgen.rule import Finding, Rule
from coilgen.shape import Shape
from coilgen.soft_material import written
from coilgen.stand import covers, is_metal
from coilgen.wind import wind

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
    return ranked([*design.notes, *coil.says, *_metal_over_copper(design, board)])


_SOLDER, _FILM = 1e-3, 2e-4
"""Distance from the board, m, within which metal meets the solder of a terminal, and a via through a flaw of
mask and glue; common practice, no source."""


def _metal_over_copper(design: Design, board: Art) -> Iterator[str]:
    """Metal on a face that lies over terminals, which stand out of it, or over vias."""
    for name, body, side, distance in _metal_bodies(design):
        under = [pad for pad in board.pads_at(side) if covers(body, pad.at, pad.diameter / 2)]
        terminals = [f"{pad.terminal}" for pad in under if pad.terminal]
        vias = len(under) - len(terminals)
        if terminals and distance < _SOLDER:
            which = f"terminal{'s' * (len(terminals) > 1)} {' and '.join(terminals)}"
            yield (
                f"{WARNING}{name} lies over {which} on the {side}: solder holds it off the board, and it may "
                "short the coil. Keep it clear of them."
            )
        if vias and distance < _FILM:
            yield (
                f"{name} lies over {vias} via{'s' * (vias > 1)} on the {side}: solder mask alone does not "
                "insulate reliably, and metal through it shorts turns. Lay an insulating film between."
            )


def _metal_bodies(design: Design) -> Iterator[tuple[str, Core | BasePlate, Face, float]]:
    """Name, body, face and distance from the board, m. The pocket's walls are bare of copper."""
    plate = design.mounting.base_plate
    if plate is not None and is_metal(plate):
        yield f"The base plate ({plate.material})", plate, plate.place, 0.0
    for number, (core, stands) in enumerate(zip(design.core, design.stand.standing, strict=True), start=1):
        if is_metal(core) and core.place != "pocket":
            apart = stands.bottom if core.place == "top" else -design.stand.thickness - stands.top
            yield f"Core {number} ({written(core.material)})", core, core.place, apart


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
    shape = cast(Shape, specimens("coilgen.shapes", "SHAPE")[design.winding.shape])
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
