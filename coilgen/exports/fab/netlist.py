"""The netlist for the bare-board electrical test, IPC-D-356A: each winding is one net.

Column numbers in the comments count from 1, as the standard's record table does (IPC-D-356A, 1998).
"""

from collections.abc import Iterable, Iterator

from coilgen.exports.fab._fabrication import Ordered, fab_export, ordered, papers
from coilgen.frozen import dataclass
from coilgen.geometry.point import Point
from coilgen.layout.coil import Finger, Terminal, Via
from coilgen.result.result import Result

THROUGH_HOLE, SURFACE = "317", "327"
FARTHEST = 999_999
"""Places have six digits."""


@dataclass(frozen=True, kw_only=True)
class Unit:
    """A unit of the standard, and the length of one step of its last digit, m."""

    name: str
    step: float


# Thousandths of a millimetre say places to 1 m, tenths of a thousandth of an inch to 2.54 m (units of the
# standard's table of parameters, from memory).
UNITS = (Unit(name="CUST 1", step=1e-6), Unit(name="CUST 0", step=2.54e-6))


def files(result: Result) -> dict[str, bytes]:
    """One record for each via and terminal, in the finest unit that says all places.

    Raises ValueError for a place beyond 2.54 m, which the format cannot say.
    """
    return files_of(ordered(result))


def files_of(board: Ordered) -> dict[str, bytes]:
    """The same of a board or of a panel."""
    unit = _unit([*(via.at for via in board.vias), *(terminal.at for terminal in board.terminals)])
    lines = [*_parameters(board, unit), *_records(board, unit), "999"]
    netlist, _ = papers(board)
    return {netlist.path: ("\n".join(lines) + "\n").encode("ascii")}


def _unit(places: Iterable[Point]) -> Unit:
    farthest = max(max(abs(at.real), abs(at.imag)) for at in places)
    for unit in UNITS:
        if round(farthest / unit.step) <= FARTHEST:
            return unit
    raise ValueError(
        f"a place {farthest} m away is beyond the {FARTHEST * UNITS[-1].step:.4f} m of IPC-D-356A"
    )


def _parameters(board: Ordered, unit: Unit) -> Iterator[str]:
    yield "C  Bare-board electrical test of a planar coil"
    one = "Each winding" if board.several else "The coil"
    yield f"C  {one} is one net of some resistance: the fabrication notes tell the limit to set"
    yield "C  Neither isolation nor continuity shows a turn-to-turn short: the notes tell what does"
    yield f"P  JOB   {board.name}"
    yield f"P  REV   {board.revision}"
    yield "P  CODE  00"
    yield f"P  UNITS {unit.name}"
    yield "P  VER   IPC-D-356A"
    yield "P  IMAGE PRIMARY"


def _records(board: Ordered, unit: Unit) -> Iterator[str]:
    for via in board.vias:
        yield _via(board, via, unit)
    for terminal in board.terminals:
        if not terminal.fingers:
            yield _terminal(board, terminal, unit)
        for finger in terminal.fingers:
            yield _finger(board, terminal, finger, unit)


def _via(board: Ordered, via: Via, unit: Unit) -> str:
    return (
        _subject(THROUGH_HOLE, via.net, "VIA", "", middle=True)
        + _hole(via.drill, unit)
        + "A00"
        + _place(via.at, via.pad, unit)
        + _covered(board, via.at)
    )


def _terminal(board: Ordered, terminal: Terminal, unit: Unit) -> str:
    through = terminal.drill > 0
    return (
        _subject(
            THROUGH_HOLE if through else SURFACE,
            terminal.net,
            board.reference(terminal.net),
            str(terminal.number),
            middle=False,
        )
        + _hole(terminal.drill, unit)
        + ("A00" if through else f"A{terminal.layer:02d}")
        + _place(terminal.at, terminal.pad, unit)
        + _covered(board, terminal.at)
    )


def _finger(board: Ordered, terminal: Terminal, finger: Finger, unit: Unit) -> str:
    """Fingers of one terminal share its pin."""
    sizes = [_four_digits(abs(part) + finger.width, unit) for part in (finger.span.real, finger.span.imag)]
    place = _place(finger.at, 0.0, unit)[:16]
    return (
        _subject(SURFACE, terminal.net, board.reference(terminal.net), str(terminal.number), middle=False)
        + _hole(0.0, unit)
        + f"A{terminal.layer:02d}"
        + f"{place}X{sizes[0]}Y{sizes[1]}R000"
        + f" S{2 if terminal.layer == 1 else 1}"
    )


def _subject(record: str, net: str, reference: str, pin: str, *, middle: bool) -> str:
    # 1-3 record, 4-17 net, 18-20 blank, 21-26 reference, 27 dash, 28-31 pin, 32 M: not an end of the net
    return f"{record}{net:<14}   {reference:<6}-{pin:<4}{'M' if middle else ' '}"


def _hole(drill: float, unit: Unit) -> str:
    # 33 D, 34-37 diameter, 38 plated; blank on a surface feature
    return f"D{_four_digits(drill, unit)}P" if drill > 0 else " " * 6


def _place(at: Point, pad: float, unit: Unit) -> str:
    # 42 X, 43 sign, 44-49; 50 Y, 51 sign, 52-57; 58 X, 59-62 and 63 Y, 64-67 (0: round); 68 R, 69-71 rotation
    x, y = (f"{round(part / unit.step):+07d}" for part in (at.real, at.imag))
    return f"X{x}Y{y}X{_four_digits(pad, unit)}Y0000R000"


def _covered(board: Ordered, at: Point) -> str:
    # 72 blank, 73 S, 74: 0 mask on neither side, 1 on the top, 2 on the bottom, 3 on both
    open_sides = {opening.side for opening in board.art.openings if opening.at == at}
    covered = {"top", "bottom"} - open_sides
    return f" S{sum({'top': 1, 'bottom': 2}[side] for side in covered)}"


def _four_digits(length: float, unit: Unit) -> str:
    """Sizes of more digits do not fit their columns and are left blank, which the standard allows."""
    steps = round(length / unit.step)
    return f"{steps:04d}" if steps <= 9999 else "    "


EXPORT = fab_export(
    name="netlist",
    says="IPC-D-356A netlist for the electrical test",
    paths=("fab/<name>-netlist.ipc",),
    files=files,
)
