"""Notes for the fab: text that a person reads and a table of the usual questions, in Markdown."""

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import zip_longest

from coilgen.artwork.art import Art, Hole
from coilgen.exports.fab._electrical_test import electrical_test
from coilgen.exports.fab._fabrication import board_files, copper_file, fab_export, film, ordered, papers
from coilgen.exports.fab._identity import project
from coilgen.exports.fab._markdown import mm, table, um
from coilgen.exports.fab._order_form import OPEN, Row, order_form
from coilgen.result.result import Result

Lines = Iterator[str]


def files(result: Result) -> dict[str, bytes]:
    """The one text file, UTF-8."""
    sections = (
        _title(result),
        order_lines(list(order_form(result))),
        stackup_lines(result),
        hole_lines(result.art),
        _test(result),
        _contents(result),
        _accepted(result),
    )
    text = "\n\n".join("\n".join(lines) for section in sections if (lines := list(section)))
    _, notes = papers(ordered(result))
    return {notes.path: (text + "\n").encode()}


def _title(result: Result) -> Lines:
    design, board = result.design, project(ordered(result))
    yield (
        "File functions stand in each file's X2 attributes and in the job file "
        f"`{design.name}.gbrjob`; names only help people."
    )
    yield ""
    yield f"# Fabrication notes: {board.name}, revision {board.revision}"
    yield ""
    yield f"Identity in every file: {board.guid}. A board with another one is another board."
    if design.note:
        yield ""
        yield f"The designer's note: {' '.join(design.note.split())}"


def order_lines(rows: Sequence[Row]) -> Lines:
    """The section on the order: a table of the usual questions, and which of them are open."""
    open_rows = [question for question, _, who in rows if who == OPEN]
    yield "## Order"
    yield ""
    yield from table(("question", "answer", "who decides"), rows)
    yield ""
    if open_rows:
        yield f"To settle with the buyer: {', '.join(open_rows)}. Everything else is answered above."
    else:
        yield "Everything is answered above; ask before changing anything."


def stackup_lines(result: Result) -> Lines:
    """Sheets from the top down, then sums."""
    stackup = result.design.board.stackup
    cover = (film(stackup), um(stackup.mask_thickness), "")
    rows = [cover, *_sheets(result)]
    rows += [cover] if "bottom" in stackup.masked_faces else []
    yield "## Stack-up, top to bottom"
    yield ""
    yield from table(("sheet", "thickness, finished", "copper area"), rows)
    yield ""
    yield f"Copper and dielectric {mm(stackup.thickness)}, over all {mm(stackup.finished_thickness)}."
    if stackup.flexible:
        yield (
            f"A coverlay of {um(stackup.mask_thickness)} is film and adhesive together, before it flows "
            "round the copper."
        )


def _sheets(result: Result) -> Iterator[tuple[str, str, str]]:
    stackup = result.design.board.stackup
    areas = result.figures.get("copper_areas")
    told = {} if areas is None else {row["layer"]: f"{row['area'] * 1e6:.2f} mm2" for row in areas.value}
    for number, (copper, dielectric) in enumerate(zip_longest(stackup.copper, stackup.dielectric), 1):
        yield f"L{number} copper", um(copper), told.get(number, "")
        if dielectric is not None:
            yield stackup.material, mm(dielectric), ""


def hole_lines(art: Art) -> Lines:
    """Every kind of hole with its number."""
    counted = Counter(_kind(hole) for hole in art.holes)
    if not counted:
        return
    yield "## Holes"
    yield ""
    rows = (
        (mm(diameter), str(count), "plated" if plated else "not plated", purpose)
        for (diameter, plated, purpose), count in sorted(counted.items())
    )
    yield from table(("finished diameter", "count", "wall", "purpose"), rows)


def _kind(hole: Hole) -> tuple[float, bool, str]:
    if not hole.plated:
        return hole.diameter, False, "mechanical"
    return hole.diameter, True, "via" if hole.terminal is None else "terminal"


def _test(result: Result) -> Lines:
    yield "## Electrical test"
    yield ""
    yield from electrical_test(result)


def _contents(result: Result) -> Lines:
    yield "## Files"
    yield ""
    yield "Gerber X2 and XNC, in mm, all seen from the top, none mirrored, one origin."
    yield ""
    rows = [
        (f"`{file.name}`", file.says) for file in (*board_files(ordered(result)), *papers(ordered(result)))
    ]
    rows.append((f"`{result.design.name}.gbrjob`", "Gerber job file: the board and its files in one list"))
    yield from table(("file", "what it holds"), rows)
    empty = [
        copper_file(ordered(result), k).name
        for k in range(1, result.art.copper_layers + 1)
        if _bare(result, k)
    ]
    if empty:
        yield ""
        yield f"No trace runs on {', '.join(f'`{name}`' for name in empty)}: pads at most, and that is meant."


def _bare(result: Result, layer: int) -> bool:
    return not result.art.traces_on(layer)


def _accepted(result: Result) -> Lines:
    """Broken rules that the designer accepted: what the fab may stumble over."""
    if not result.findings:
        return
    yield "## Rules broken, accepted by the designer"
    yield ""
    for finding in result.findings:
        yield f"- {finding.rule}: {finding.says}"


EXPORT = fab_export(
    name="fabrication_notes",
    says="notes for the fab: the order's questions, stack-up, holes, the electrical test",
    paths=("fab/<name>-fabrication-notes.md",),
    files=files,
)
