"""Notes for the fab in plain text: the board, what to measure, what each file holds, cautions."""

from collections import Counter
from collections.abc import Iterator
from itertools import zip_longest

from coilgen.artwork.art import Hole
from coilgen.exports.fab._fabrication import FOLDER, board_files
from coilgen.geometry.extent import extent
from coilgen.result.export import Export
from coilgen.result.figure import Figure
from coilgen.result.result import Result
from coilgen.units import readable

ETCH_TOLERANCE = 0.2
"""Resistance tolerance of an etched trace where its figure states no band: 10 to 20 % is common practice."""

Lines = Iterator[str]


def files(result: Result) -> dict[str, bytes]:
    """The one text file, UTF-8."""
    sections = (
        _board(result),
        _stackup(result),
        _conductors(result),
        _holes(result),
        _openings(result),
        _electrical(result),
        _contents(result),
        _cautions(result),
    )
    text = "\n\n".join("\n".join(section) for section in (_title(result), *sections))
    return {f"{FOLDER}{result.design.name}-fabrication-notes.txt": (text + "\n").encode()}


def _title(result: Result) -> Lines:
    title = f"Fabrication notes: {result.design.name}"
    yield title
    yield "=" * len(title)
    if result.design.note:
        yield result.design.note


def _board(result: Result) -> Lines:
    art, stackup = result.art, result.design.board.stackup
    yield "Board"
    yield _row("copper layers", f"{art.copper_layers}, all listed in the file set, also the empty ones")
    yield _row("thickness", f"{_mm(stackup.thickness)} over copper and dielectric")
    yield _row("material", f"{stackup.material}{', flexible' if stackup.flexible else ''}")
    for what, loop in (("outline", art.outline), ("pocket", art.pocket)):
        if loop is None:
            yield _row(what, "none")
        else:
            low, high = extent(loop)
            yield _row(what, f"{_mm((high - low).real)} x {_mm((high - low).imag)}, see the profile")
    if art.pocket is not None:
        yield "  The pocket is cut through the board. Its wall is not plated."


def _stackup(result: Result) -> Lines:
    stackup = result.design.board.stackup
    yield "Stack-up, top to bottom (copper: finished thickness, plating included)"
    for number, (copper, dielectric) in enumerate(zip_longest(stackup.copper, stackup.dielectric), 1):
        yield _row(f"L{number} copper", f"{copper * 1e6:.1f} um")
        if dielectric is not None:
            yield _row(f"   {stackup.material}", _mm(dielectric))


def _conductors(result: Result) -> Lines:
    """As drawn where that was measured, else as asked for."""
    winding = result.design.winding
    width, spacing = (result.figures.get(f"smallest_{what}") for what in ("width", "spacing"))
    yield "Conductors"
    yield _row("smallest trace width", _mm(winding.trace_width if width is None else width.value))
    yield _row("smallest spacing", _mm(winding.trace_spacing if spacing is None else spacing.value))
    yield "  Turn-to-turn spacing lies within one net: a check between nets does not see it."
    yield "  Do not bridge, thicken, thin or smooth the traces; ask first."


def _holes(result: Result) -> Lines:
    yield "Holes (finished diameter, all through the board)"
    counted = Counter(_kind(hole) for hole in result.art.holes)
    if not counted:
        yield "  none"
    for (diameter, plated, purpose), count in sorted(counted.items()):
        yield _row(_mm(diameter), f"{count:4d}  {'plated' if plated else 'not plated'}, {purpose}")


def _kind(hole: Hole) -> tuple[float, bool, str]:
    if not hole.plated:
        return hole.diameter, False, "mechanical"
    return hole.diameter, True, "via" if hole.terminal is None else "terminal"


def _openings(result: Result) -> Lines:
    film = "Coverlay" if result.design.board.stackup.flexible else "Solder mask"
    bare = {opening.at for opening in result.art.openings}
    vias = {via.at for via in result.coil.vias}
    yield film
    yield f"  The mask files show the openings: {len(result.art.openings)} in all."
    if vias and not vias & bare:
        yield "  Vias are tented: there is no opening over them. Keep them covered on both sides."
    elif vias:
        yield f"  Vias left open on at least one side: {len(vias & bare)} of {len(vias)}."


def _electrical(result: Result) -> Lines:
    yield "Electrical test"
    yield "  The coil is one net; test for turn-to-turn shorts by resistance."
    resistance = result.figures.get("resistance_20c")
    if resistance is not None:
        yield _row("resistance at 20 degC", _with_band(resistance, ETCH_TOLERANCE))
        share = 1 / result.coil.turns
        yield "  Measure between terminals 1 and 2 with four wires. One shorted turn lowers the resistance"
        yield f"  by about {share:.1%}: compare boards of one batch with each other too."
    inductance = result.figures.get("inductance")
    if inductance is not None:
        yield _row("inductance", _with_band(inductance, None))


def _with_band(figure: Figure, tolerance: float | None) -> str:
    shown = readable(figure.value, figure.unit)
    if figure.band is not None:
        return f"{shown}, expected {' to '.join(readable(edge, figure.unit) for edge in figure.band)}"
    return shown if tolerance is None else f"{shown}, +/- {tolerance:.0%} (etching)"


def _contents(result: Result) -> Lines:
    name = result.design.name
    yield "Files (Gerber X2 and XNC, mm, all seen from the top, none mirrored)"
    for file in board_files(result):
        yield f"  {file.name:<{len(name) + 22}} {file.says}"
    yield f"  {name + '-netlist.ipc':<{len(name) + 22}} IPC-D-356A netlist for the electrical test"
    yield f"  {name + '.gbrjob':<{len(name) + 22}} Gerber job file: the board and its files in one list"


def _cautions(result: Result) -> Lines:
    yield "Cautions"
    for caution in result.cautions:
        yield f"  - {caution}"
    for finding in result.findings:
        yield f"  - Rule broken, accepted by the designer: {finding.rule}: {finding.says}"
    if not result.cautions and not result.findings:
        yield "  none"


def _row(what: str, value: str) -> str:
    return f"  {what:<24} {value}"


def _mm(metres: float) -> str:
    return f"{metres * 1e3:.3f} mm"


EXPORT = Export(
    name="fabrication_notes",
    says="notes for the fab: stack-up, holes, resistance to expect, cautions",
    reader="fab",
    paths=("fab/<name>-fabrication-notes.txt",),
    files=files,
)
