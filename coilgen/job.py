"""One design, stage by stage: coil, art, findings, figures, files.

What figures alone need is imported where they begin: a check does without.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from os import PathLike
from typing import TYPE_CHECKING, cast

from coilgen.artwork.art import Art
from coilgen.artwork.coil_art import art
from coilgen.artwork.legend import legend
from coilgen.catalogue import specimens
from coilgen.design.arrays import weight
from coilgen.design.as_made import as_made, calibration_told
from coilgen.design.design import Design
from coilgen.design.phase_drive import crest
from coilgen.design.reading import read
from coilgen.layout.board import alone, as_one, in_place, wound
from coilgen.layout.coil import Coil
from coilgen.layout.room import refuse_holes_off_the_board, refuse_without_room
from coilgen.result.bodies_off_board import bodies_off_board
from coilgen.result.caution import WARNING, ranked, warns
from coilgen.result.figures import Figures
from coilgen.result.isolation_on_board import isolation_told
from coilgen.result.metal_on_board import metal_over_copper
from coilgen.result.result import OfWinding, Result
from coilgen.result.rule import Finding, Rule
from coilgen.result.within_mask import within_mask

if TYPE_CHECKING:
    from coilgen.result.export import Export
    from coilgen.result.figure import Case, Figure, Quantity, Winding

_DRAWN = "drawn files"
_NAMED = 6
"""Figures that are called by name where some cannot be told."""
ESTIMATE = (
    "All figures are estimates: measure the first sample with a current-limited supply before relying on "
    "them."
)


def make(design: Design | str | PathLike[str]) -> Result:
    """Everything of a design, or of the design in a file, with the files in memory.

    DesignError when the file cannot be read or the design has no room for its parts; TypeError for anything
    else than a design or a path.
    """
    design = _design(design)
    coil, board = draw(design)
    return completed(result_of(design, coil, board, findings_of(design, coil, board)))


def _design(given: Design | str | PathLike[str]) -> Design:
    if isinstance(given, Design):
        return given
    if isinstance(given, str | PathLike):
        return read(given)
    raise TypeError(f"make takes a Design or the path of a design file, not a {type(given).__name__}")


def predict(design: Design, *, workers: int = 1) -> Result:
    """Coil, art, findings and figures of a design, without files; workers: as of `with_figures`."""
    return with_figures(check(design), workers=workers)


def check(design: Design) -> Result:
    """Coil, art and findings of a design, without figures and files."""
    coil, board = draw(design)
    return result_of(design, coil, board, findings_of(design, coil, board))


def result_of(design: Design, coil: Coil, board: Art, findings: tuple[Finding, ...]) -> Result:
    """What is known of a design before its figures."""
    cautions = remarks(design, coil, board)
    lies = in_place(design, wound(design))
    named = zip(design.windings, lies, strict=True)
    return Result(
        design=design,
        coil=coil,
        art=board,
        findings=findings,
        figures=Figures(),
        cautions=cautions,
        windings=tuple(OfWinding(name=each.name, coil=own, figures=Figures()) for each, own in named),
    )


def remarks(design: Design, coil: Coil, board: Art) -> tuple[str, ...]:
    """What a designer must know besides the figures, those that tell of harm first."""
    told = [*design.notes, *calibration_told(design), *coil.says]
    told += [*metal_over_copper(design, board), *bodies_off_board(design, board), *within_mask(design)]
    return ranked([*told, *isolation_told(design)])


def with_figures(
    result: Result,
    figures: Mapping[str, Figure] | None = None,
    case: Case | None = None,
    *,
    workers: int = 1,
) -> Result:
    """A checked result with its figures, all or those told, and what they caution against.

    case: of the result, with what has been computed of it. workers: how many processes share the work, this
    one counted; the figures are the same for every number of them. More than one are forked from this one,
    which should run no thread of its own that computes.
    """
    case = case or case_of(result.design, result.coil, result.art)
    if figures is None:
        from coilgen.figures._parts import helped
        from coilgen.processors import shared

        with shared({}, workers) as others:
            figures = _computed(helped(case, others))
    return _told(result, case, figures)


def _told(result: Result, case: Case, figures: Mapping[str, Figure]) -> Result:
    windings = tuple(
        OfWinding(name=each.name, coil=each.coil, figures=Figures(_computed(each.case)))
        for each in case.windings
    )
    figured = replace(result, figures=Figures(figures), windings=windings)
    raised = [caution for figure in figures.values() for caution in figure.cautions]
    raised += [told for each in figured.kinds for told in _cautions(each)]
    raised += _unsolved(case, *(each.case for each in case.windings))
    return replace(figured, cautions=ranked([*raised, *result.cautions, ESTIMATE]))


def _cautions(winding: OfWinding) -> Iterator[str]:
    """What the figures of one of several windings caution against, with its name."""
    for figure in winding.figures.values():
        for caution in figure.cautions:
            warning = WARNING if warns(caution) else ""
            yield f"{warning}{winding.name}: {caution.removeprefix(WARNING)}"


def _unsolved(*cases: Case) -> Iterator[str]:
    """What solvers give up on, with the figures that are not told for it."""
    lacking: dict[str, list[str]] = {}
    for case in cases:
        for name in case.quantities:  # in their order, whichever was asked for first
            if name in case.unsolved:
                lacking.setdefault(str(case.unsolved[name]), []).append(name)
    for says, names in lacking.items():
        named = [*dict.fromkeys(names)]
        warning = WARNING if "temperature" in named else ""
        more = f" and {len(named) - _NAMED} more" if len(named) > _NAMED else ""
        yield f"{warning}{says}. Not told for it: {', '.join(named[:_NAMED])}{more}."


def completed(result: Result, *, workers: int = 1) -> Result:
    """A checked result with its figures and every file in memory; workers: as of `with_figures`."""
    from coilgen.processors import shared

    with shared({_DRAWN: partial(drawn, result)}, workers) as others:
        from coilgen.figures._parts import helped

        case = case_of(result.design, result.coil, result.art)
        figured = _told(result, case, _computed(helped(case, others)))
        return replace(figured, files=files_of(figured, others.done(_DRAWN)))


def draw(design: Design) -> tuple[Coil, Art]:
    """The coil, or all coils as one, and the art."""
    coil, board = draw_copper(design)
    clearance = design.rules.limit("legend_clearance")
    marks = (design.name, f"rev {design.revision}")
    return coil, replace(board, legend=legend(marks, board, coil.terminals, clearance))


def draw_copper(design: Design) -> tuple[Coil, Art]:
    """The coil, or all as one, and its art without print, which stands only where it keeps every rule."""
    if not design.windings:
        coil = alone(design)
        board = art(design, coil)
    else:
        lies = in_place(design, wound(design))
        refuse_without_room(design, None)
        coil = as_one(design, lies)
        board = art(design, coil)
        refuse_without_room(design, board.outline)
    refuse_holes_off_the_board(design, board.outline)
    return coil, board


def findings_of(design: Design, coil: Coil, board: Art) -> tuple[Finding, ...]:
    """What every rule finds."""
    rules = cast("Mapping[str, Rule]", specimens("coilgen.rules", "RULE"))
    return tuple(finding for rule in rules.values() for finding in rule.check(design, coil, board))


def quantities() -> Mapping[str, Quantity]:
    """Every kind of figure by name."""
    groups = cast("Mapping[str, tuple[Quantity, ...]]", specimens("coilgen.figures", "FIGURES"))
    return {quantity.name: quantity for group in groups.values() for quantity in group}


def _computed(case: Case) -> dict[str, Figure]:
    from coilgen.result.figure import REFERENCE

    names = [name for name in case.quantities if not (case.windings and name == REFERENCE)]
    found = {name: case.solved(name) for name in sorted(names, key=case.last.__contains__)}
    return {name: figure for name in names if (figure := found[name]) is not None}


def case_of(design: Design, coil: Coil, board: Art) -> Case:
    """A drawn design that computes the figures asked of it, and no others; as made, if it is calibrated."""
    from coilgen.result.figure import Case

    made = as_made(design)
    coil, board = etched(made, coil, board)
    return Case(design=made, coil=coil, art=board, quantities=quantities(), windings=tuple(_windings(design)))


def etched(made: Design, coil: Coil, board: Art) -> tuple[Coil, Art]:
    """The drawn copper as wide as a calibration tells that it is made."""
    wider = _wider(made, coil)
    return wider, board if wider is coil else replace(board, traces=wider.traces)


def _wider(made: Design, coil: Coil) -> Coil:
    by = 0.0 if made.calibration is None else made.calibration.wider
    return coil.etched(by) if by else coil


def _windings(design: Design) -> Iterator[Winding]:
    """Each of several windings with its own case."""
    from coilgen.result.figure import Case, Winding

    if not design.windings:
        return
    apart = wound(design)
    shared: Case | None = None
    in_places = in_place(design, apart)
    for placed, coil, lies in zip(design.windings, apart, in_places, strict=True):
        if shared is None:
            made = as_made(placed.design.unchecked(calibration=design.calibration))
            own, board = etched(made, coil, art(placed.design, coil))
            case = Case(
                design=made,
                coil=own,
                art=board,
                quantities=quantities(),
                copper_layers=placed.copper_layers,
                in_phase=design if design.mover is not None else None,
            )
            case = _beside_joints(design, case, in_places)
        else:
            made, case = shared.design, shared
        shared = case if design.array is not None else None  # coils of an array are alike by themselves
        lies = _wider(made, lies)
        yield Winding(
            name=placed.name, coil=lies, case=case, weight=crest(design) * weight(design.array, placed)
        )


def _beside_joints(design: Design, case: Case, coils: Sequence[Coil]) -> Case:
    """The case of a coil of an array under its own part of the voltage, less what falls over joints."""
    from coilgen.layout.joint_network import network
    from coilgen.layout.joints import joints

    drive = case.design.drive
    if design.array is None or not design.array.joined or drive.voltage is None:
        return case
    resistance = float(case.value("resistance_20c"))
    part = network(design, joints(design, coils), case.coil, resistance).coils_share
    own = case.design.unchecked(drive=drive.unchecked(voltage=part * drive.voltage))
    return replace(case, design=own, known={}, shared={})


def as_asked(result: Result) -> Result:
    """A result without its design's calibration."""
    if result.design.calibration is None:
        return result
    return with_figures(replace(result, design=result.design.unchecked(calibration=None)))


def drawn(result: Result) -> dict[str, Mapping[str, bytes]]:
    """Files that show the board alone, by export: they need no figures."""
    plain = replace(result, design=result.design.unchecked(calibration=None))
    return {
        name: export.files(plain if export.reader == "fab" else result)
        for name, export in _exports().items()
        if export.drawn
    }


def files_of(result: Result, drawn: Mapping[str, Mapping[str, bytes]]) -> dict[str, bytes]:
    """Every file of a result, those `drawn` among them; bundles see the others' files.

    The fab is told what is asked of it, whatever a bench taught of the boards before.
    """
    asked, written = as_asked(result), dict[str, bytes]()
    for name, export in sorted(_exports().items(), key=lambda each: each[1].bundles):
        told = asked if export.reader == "fab" else result
        seen = replace(told, files=written) if export.bundles else told
        written |= drawn[name] if export.drawn else export.files(seen)
    return written


def _exports() -> Mapping[str, Export]:
    return cast("Mapping[str, Export]", specimens("coilgen.exports", "EXPORT"))
