"""The panel's files for the fab: one set of Gerber, drill, netlist, job file and notes, and its ZIP."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from coilgen.design.paneling import fact
from coilgen.exports.fab import drill, fab_zip, gerber, gerber_job, netlist
from coilgen.exports.fab._electrical_test import electrical_test
from coilgen.exports.fab._fabrication import board_files, papers
from coilgen.exports.fab._identity import project
from coilgen.exports.fab._markdown import mm, table
from coilgen.exports.fab._order_form import OPEN, Row, order_form
from coilgen.exports.fab.fabrication_notes import hole_lines, order_lines, stackup_lines
from coilgen.result.figures import Figures
from coilgen.result.result import Result
from coilgen.result.rule import Finding
from coilgen.study.panel.coupon_text import READ, read_rows, readings
from coilgen.study.panel.expected import hottest
from coilgen.study.panel.panel import Panel, PlacedBoard, told

Lines = Iterator[str]

_OF_ONE_BOARD = frozenset(
    {
        "quantity",
        "delivery",
        "outline",
        "cut-out",
        "cut-outs",
        "smallest trace and gap",
        "annular ring",
        "holes",
        "vias",
        "contact fingers",
        "stiffener",
        "bend",
    }
)
"""Questions of an order that a panel answers otherwise than its boards."""


def fab_files(panel: Panel, results: Mapping[str, Result], findings: tuple[Finding, ...]) -> dict[str, bytes]:
    """Every file of the set and the ZIP. results: of each label, with figures."""
    board = panel.ordered
    _, notes = papers(board)
    files = {
        **gerber.files_of(board),
        **drill.files_of(board),
        **netlist.files_of(board),
        **gerber_job.files_of(board),
        notes.path: _notes(panel, results, findings).encode(),
    }
    return {**files, **fab_zip.zipped(panel.name, files)}


def _notes(panel: Panel, results: Mapping[str, Result], findings: tuple[Finding, ...]) -> str:
    served = {id(design): design for each in panel.boards for _, design in each.board.serves}
    settled = hottest(served.values())
    told = {} if settled is None else {"temperature": settled}
    whole = replace(results[panel.boards[0].board.label], figures=Figures(told), art=panel.art, windings=())
    sections = (
        _title(panel),
        _order(panel, whole, results),
        _panel(panel),
        _boards(panel),
        stackup_lines(whole),
        hole_lines(panel.art),
        _tests(panel, results),
        _coupons(panel),
        _contents(panel),
        _accepted(findings),
    )
    return "\n\n".join("\n".join(lines) for section in sections if (lines := list(section))) + "\n"


def _title(panel: Panel) -> Lines:
    identity = project(panel.ordered)
    yield (
        "File functions stand in each file's X2 attributes and in the job file "
        f"`{panel.name}.gbrjob`; names only help people."
    )
    yield ""
    yield f"# Fabrication notes: panel {identity.name}, revision {identity.revision}"
    yield ""
    yield f"Identity in every file: {identity.guid}. A panel with another one is another panel."
    if panel.asked.note:
        yield ""
        yield f"The designer's note: {' '.join(panel.asked.note.split())}"


def _order(panel: Panel, whole: Result, results: Mapping[str, Result]) -> Lines:
    shared = [row for row in order_form(whole) if not _of_one_board(row[0])]
    return order_lines([*_delivery(panel), *shared, *_flexing(panel, results)])


def _flexing(panel: Panel, results: Mapping[str, Result]) -> Iterator[Row]:
    """What flexible boards are asked, with the labels of those that it holds for."""
    answers: dict[str, dict[str, list[str]]] = {}
    forms = {id(result): list(order_form(result)) for result in results.values()}
    for each in panel.boards:
        for question, answer, _ in forms[id(results[each.board.label])]:
            if question in ("contact fingers", "stiffener", "bend"):
                answers.setdefault(question, {}).setdefault(answer, []).append(each.board.label)
    for question, told_by in answers.items():
        every = [f"{', '.join(labels)}: {answer}" for answer, labels in told_by.items()]
        yield question, "; ".join(every), "fixed by the design"


def _of_one_board(question: str) -> bool:
    return question in _OF_ONE_BOARD or question.startswith("openings in")


def _delivery(panel: Panel) -> Iterator[Row]:
    """What the panel answers in the place of its boards."""
    asked = panel.first.order.quantity
    yield (
        "quantity",
        "not stated" if asked is None else f"{asked} panels",
        OPEN if asked is None else "fixed by the order",
    )
    yield "delivery", "the panel in one piece as drawn, not parted; every coupon kept", "fixed by the design"
    yield "panel", f"{mm(panel.plan.size.real)} x {mm(panel.plan.size.imag)}", "fixed by the design"
    yield "cut-outs", f"{len(panel.art.pockets)}, in the profile", "fixed by the design"
    yield "smallest trace and gap", _smallest(panel), "fixed by the design"
    rings = [
        (pad.diameter - hole.diameter) / 2
        for hole in panel.art.holes
        for pad in panel.art.pads
        if pad.at == hole.at and hole.plated
    ]
    if rings:
        yield "annular ring", f"{mm(min(rings))} as drawn, no breakout", "fixed by the design"
    yield "holes", "round, through, sizes finished (table below); tolerance of the fab", "fixed by the design"
    yield "vias", panel.first.order.vias, "fixed by the order"


def _smallest(panel: Panel) -> str:
    spacing = panel.ordered.smallest_spacing
    gap = "" if spacing is None else f", gap {mm(spacing)}"
    return f"trace {mm(panel.ordered.smallest_width or 0.0)}{gap}, gaps within nets included"


def _panel(panel: Panel) -> Lines:
    yield "## Panel"
    yield ""
    separation = panel.plan.separation
    if separation == "v-score":
        yield (
            f"V-score along the {len(panel.plan.scores)} lines of `{panel.name}-v-score.gbr`, from both "
            "faces, through the whole panel, a third of its thickness from each."
        )
    elif separation == "tabs":
        rows = sum(len(each.perforations) for each in panel.cuts)
        yield (
            f"Route the closed slots of the profile, {mm(fact('tab', 'slot'))} wide. {rows} tabs of "
            f"{mm(fact('tab', 'width'))} stay; their rows of {mm(fact('perforation', 'drill'))} holes, which "
            "stand on the boards' edges, are drilled, not plated."
        )
    else:
        yield "Nothing parts the boards: their edges are only printed. Neither score nor route them."
    yield ""
    yield (
        f"The frame has four tooling holes of {mm(fact('tooling_hole', 'diameter'))} and three marks to "
        "align by. Each board has a label of its own: none may be exchanged for another, and a faulty one is "
        "crossed out and told by its label."
    )


def _boards(panel: Panel) -> Lines:
    """Middle of each board from the panel's lower left corner."""
    several = len({each.board.design.name for each in panel.boards}) > 1
    yield "## Boards"
    yield ""
    rows = [
        (
            each.board.label,
            told(each.board, several=several),
            f"{each.middle.real * 1e3:.3f}, {each.middle.imag * 1e3:.3f}",
            "90" if each.turned else "0",
            ", ".join(each.board.nets),
        )
        for each in panel.boards
    ]
    yield from table(("label", "board", "middle x, y mm", "turned, degrees", "nets"), rows)


def _tests(panel: Panel, results: Mapping[str, Result]) -> Lines:
    """A test for each kind of copper, whose boards are named."""
    yield "## Electrical test"
    kinds: dict[int, list[PlacedBoard]] = {}
    for each in panel.boards:
        kinds.setdefault(id(results[each.board.label]), []).append(each)
    for alike in kinds.values():
        yield ""
        yield f"### {', '.join(each.board.label for each in alike)}"
        yield ""
        yield from electrical_test(results[alike[0].board.label])


def _coupons(panel: Panel) -> Lines:
    if not panel.coupons:
        return
    yield "## Coupons"
    yield ""
    yield "Not tested by the fab; they tell the buyer what was made. Keep them on the panel."
    yield from readings(panel.coupons)
    yield ""
    yield from table(READ, read_rows(panel.coupons))


def _contents(panel: Panel) -> Lines:
    board = panel.ordered
    yield "## Files"
    yield ""
    yield "Gerber X2 and XNC, in mm, all seen from the top, none mirrored, one origin."
    yield ""
    rows = [(f"`{file.name}`", file.says) for file in (*board_files(board), *papers(board))]
    rows.append((f"`{panel.name}.gbrjob`", "Gerber job file: the panel and its files in one list"))
    yield from table(("file", "what it holds"), rows)


def _accepted(findings: tuple[Finding, ...]) -> Lines:
    if not findings:
        return
    yield "## Rules broken, accepted by the designer"
    yield ""
    for finding in findings:
        yield f"- {finding.rule}: {finding.says}"
