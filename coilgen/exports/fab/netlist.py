"""The netlist for the bare-board electrical test, IPC-D-356A: the coil is one net.

Column numbers in the comments count from 1, as the standard's record table does (IPC-D-356A, 1998).
"""

from collections.abc import Iterator

from coilgen.artwork.art import NET
from coilgen.exports.fab._fabrication import FOLDER, REFERENCE
from coilgen.geometry.point import Point
from coilgen.layout.coil import Terminal, Via
from coilgen.result.export import Export
from coilgen.result.result import Result

THROUGH_HOLE, SURFACE = "317", "327"


def files(result: Result) -> dict[str, bytes]:
    """One record for each via and terminal, in units of 0.001 mm.

    Raises ValueError for a place beyond 999.999 mm, which the format cannot say.
    """
    lines = [*_parameters(result), *_records(result), "999"]
    return {f"{FOLDER}{result.design.name}-netlist.ipc": ("\n".join(lines) + "\n").encode("ascii")}


def _parameters(result: Result) -> Iterator[str]:
    yield "C  Bare-board electrical test of a planar coil"
    yield "C  The coil is one net: isolation cannot show a turn-to-turn short, resistance can"
    yield f"P  JOB   {result.design.name}"
    yield "P  CODE  00"
    yield "P  UNITS CUST 1"
    yield "P  VER   IPC-D-356A"
    yield "P  IMAGE PRIMARY"


def _records(result: Result) -> Iterator[str]:
    for via in result.coil.vias:
        yield _via(result, via)
    for terminal in result.coil.terminals:
        yield _terminal(result, terminal)


def _via(result: Result, via: Via) -> str:
    return (
        _subject(THROUGH_HOLE, "VIA", "", middle=True)
        + _hole(via.drill)
        + "A00"
        + _place(via.at, via.pad)
        + _covered(result, via.at)
    )


def _terminal(result: Result, terminal: Terminal) -> str:
    through = terminal.drill > 0
    return (
        _subject(THROUGH_HOLE if through else SURFACE, REFERENCE, str(terminal.number), middle=False)
        + _hole(terminal.drill)
        + ("A00" if through else f"A{terminal.layer:02d}")
        + _place(terminal.at, terminal.pad)
        + _covered(result, terminal.at)
    )


def _subject(record: str, reference: str, pin: str, *, middle: bool) -> str:
    # 1-3 record, 4-17 net, 18-20 blank, 21-26 reference, 27 dash, 28-31 pin, 32 M: not an end of the net
    return f"{record}{NET:<14}   {reference:<6}-{pin:<4}{'M' if middle else ' '}"


def _hole(drill: float) -> str:
    # 33 D, 34-37 diameter, 38 plated; blank on a surface feature
    return f"D{_four_digits(drill)}P" if drill > 0 else " " * 6


def _place(at: Point, pad: float) -> str:
    # 42 X, 43 sign, 44-49; 50 Y, 51 sign, 52-57; 58 X, 59-62 and 63 Y, 64-67 (0: round); 68 R, 69-71 rotation
    return f"X{_six_digits(at.real)}Y{_six_digits(at.imag)}X{_four_digits(pad)}Y0000R000"


def _covered(result: Result, at: Point) -> str:
    # 72 blank, 73 S, 74: 0 mask on neither side, 1 on the top, 2 on the bottom, 3 on both
    open_sides = {opening.side for opening in result.art.openings if opening.at == at}
    covered = {"top", "bottom"} - open_sides
    return f" S{sum({'top': 1, 'bottom': 2}[side] for side in covered)}"


def _six_digits(metres: float) -> str:
    microns = round(metres * 1e6)
    if abs(microns) > 999_999:
        raise ValueError(f"a place at {metres * 1e3} mm is beyond the 999.999 mm of IPC-D-356A")
    return f"{microns:+07d}"


def _four_digits(metres: float) -> str:
    """Sizes over 9.999 mm do not fit their columns and are left blank, which the standard allows."""
    microns = round(metres * 1e6)
    return f"{microns:04d}" if microns <= 9999 else "    "


EXPORT = Export(name="netlist", says="IPC-D-356A netlist for the electrical test", files=files)
