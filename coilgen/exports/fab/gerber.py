"""Gerber X2 files of copper, mask, legend and profile. Arcs stay arcs, holes are left to the drill.

Gerber Layer Format Specification, Ucamco, revision 2023.08.
"""

import math
import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import coilgen
from coilgen.artwork.art import Art, Pad
from coilgen.exports.fab._fabrication import (
    REFERENCE,
    BoardFile,
    Ordered,
    bend_file,
    copper_file,
    fab_export,
    flex_files,
    legend_file,
    mask_file,
    ordered,
    profile_file,
    score_file,
    stiffener_file,
)
from coilgen.exports.fab._identity import project
from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point
from coilgen.result.result import Result

if TYPE_CHECKING:
    import gerber_writer

PROFILE_WIDTH = 50e-6
"""Width of the profile's draws, m. The board's edge is their centre line."""

SHORTEST_ARC = 2e-6
"""Arcs shorter than this (m) are drawn straight: whole nanometres cannot hold their radius."""

Nanometres = tuple[int, int]

_FUNCTIONS = {"fiducial": "FiducialPad,Panel", "test": "TestPad", "plate": "Conductor"}
"""What pads of a panel are, in the format's words."""


@dataclass(frozen=True, kw_only=True)
class _Joined:
    """What a stroke or flash of copper is joined to: its net, and the terminal that a pad is."""

    net: str
    terminal: int | None = None
    reference: str = REFERENCE


def files(result: Result) -> dict[str, bytes]:
    """One file for each copper layer of the stack-up, wound or not; masks, top legend, profile."""
    return files_of(ordered(result))


def files_of(board: Ordered) -> dict[str, bytes]:
    """The same of a board or of a panel; the lines of a V-score too where there are any."""
    layers = range(1, board.art.copper_layers + 1)
    written = [
        *(_copper(board, layer) for layer in layers),
        *(_mask(board, side) for side in board.stackup.masked_faces),
        _legend(board),
        _profile(board),
        *((_scores(board),) if board.scores else ()),
        *_flexing(board),
    ]
    return {file.path: content for file, content in written}


def _copper(board: Ordered, layer: int) -> tuple[BoardFile, bytes]:
    art, file = board.art, copper_file(board, layer)
    sheet = _sheet(file)
    traces, pads = art.traces_on(layer), art.pads_on(layer)
    for trace in traces:
        _stroke(sheet, trace.path, trace.width, "Conductor", moves=True)
    for pad in pads:
        _add_pad(sheet, pad, _pad_function(art, pad))
    outer = layer in (1, art.copper_layers)
    joined = [
        *(_Joined(net=trace.net) for trace in traces),
        *(
            _Joined(
                net=pad.net,
                terminal=pad.terminal if outer else None,
                reference=board.reference(pad.net),
            )
            for pad in pads
        ),
    ]
    return file, _bytes(board, file, sheet, joined)


def _mask(board: Ordered, side: str) -> tuple[BoardFile, bytes]:
    file = mask_file(board, side)
    sheet = _sheet(file)
    for opening in board.art.openings:
        if opening.side == side and opening.window is not None:
            _area(sheet, opening.window, "Material")
        elif opening.side == side:
            _flash(sheet, opening.at, opening.diameter, "Material")
    return file, _bytes(board, file, sheet)


def _legend(board: Ordered) -> tuple[BoardFile, bytes]:
    file = legend_file(board)
    sheet = _sheet(file)
    for stroke in board.art.legend:
        _stroke(sheet, stroke.path, stroke.width, "Material")
    return file, _bytes(board, file, sheet)


def _profile(board: Ordered) -> tuple[BoardFile, bytes]:
    file = profile_file(board)
    sheet = _sheet(file)
    for loop in (board.art.outline, *board.art.pockets):
        if loop is not None:
            _stroke(sheet, loop, PROFILE_WIDTH, "Profile")
    return file, _bytes(board, file, sheet)


def _scores(board: Ordered) -> tuple[BoardFile, bytes]:
    file = score_file(board)
    sheet = _sheet(file)
    for line in board.scores:
        _stroke(sheet, line, PROFILE_WIDTH, "Other,Vcut")
    return file, _bytes(board, file, sheet)


def _flexing(board: Ordered) -> Iterator[tuple[BoardFile, bytes]]:
    """Stiffeners as areas, bends as lines."""
    for file in flex_files(board):
        sheet = _sheet(file)
        for stiff in board.art.stiffeners:
            if file == stiffener_file(board, stiff.side):
                _area(sheet, stiff.path, "Other,Stiffener")
        for bend in board.art.bends if file == bend_file(board) else ():
            _stroke(sheet, bend.path, PROFILE_WIDTH, "Other,Bend")
        yield file, _bytes(board, file, sheet)


def _pad_function(art: Art, pad: Pad) -> str:
    if pad.use != "coil":
        return _FUNCTIONS[pad.use]
    if pad.span:
        return "ConnectorPad"
    if pad.terminal is None:
        return "ViaPad"
    if any((hole.terminal, hole.net) == (pad.terminal, pad.net) for hole in art.holes):
        return "ComponentPad"
    return "SMDPad,SMDef" if _held(art, pad) else "SMDPad,CuDef"


def _held(art: Art, pad: Pad) -> bool:
    """Whether mask or coverlay lies on a pad's edge, so that its opening and not its copper is soldered."""
    return any(opening.at == pad.at and opening.diameter < pad.diameter for opening in art.openings)


def _sheet(file: BoardFile) -> "gerber_writer.DataLayer":
    from gerber_writer import DataLayer

    return DataLayer(file.function, negative=file.negative)


def _flash(sheet: "gerber_writer.DataLayer", at: Point, diameter: float, function: str) -> None:
    from gerber_writer import Circle

    sheet.add_pad(Circle(_size(diameter), function), _millimetres(_nanometres(at)))


def _add_pad(sheet: "gerber_writer.DataLayer", pad: Pad, function: str) -> None:
    """An oblong pad is a rectangle to the library, whose aperture becomes the oblong one of its sizes."""
    from gerber_writer import Rectangle

    if not pad.span:
        _flash(sheet, pad.at, pad.diameter, function)
        return
    x, y = (_size(size) for size in pad.size)
    sheet.add_pad(Rectangle(x, y, function), _millimetres(_nanometres(pad.at)))


def _area(sheet: "gerber_writer.DataLayer", path: Path, function: str) -> None:
    """The inside of a closed path."""
    sheet.add_region(_line(path), function)


def _stroke(
    sheet: "gerber_writer.DataLayer", path: Path, width: float, function: str, *, moves: bool = False
) -> None:
    """Draws along a path with a round tool; each draw begins exactly where the one before ended.

    moves: the stroke begins with a move also where the stroke before ended at its start, which the library
    leaves out for a place that is the same to the last digit: another share of a nanometre makes it another.
    """
    sheet.add_traces_path(_line(path, moves=moves), _size(width), function)


def _line(path: Path, *, moves: bool = False) -> "gerber_writer.Path":
    import gerber_writer

    pieces = [piece for segment in path.segments for piece in _pieces(segment)]
    stops = [_nanometres(path.start), *(_nanometres(piece.end) for piece in pieces)]
    if path.closed:
        stops[-1] = stops[0]
    line = gerber_writer.Path()
    line.moveto(_millimetres(stops[0], 0.35 if moves else 0.25))
    for piece, (here, there) in zip(pieces, pairwise(stops), strict=True):
        _draw(line, piece, here, there)
    return line


def _draw(line: "gerber_writer.Path", piece: Segment, here: Nanometres, there: Nanometres) -> None:
    if here == there:
        return
    if isinstance(piece, Arc) and piece.length > SHORTEST_ARC:
        line.arcto(_millimetres(there), _centre(here, piece.centre), "+" if piece.sweep > 0 else "-")
    else:
        line.lineto(_millimetres(there))


def _pieces(segment: Segment) -> Iterator[Segment]:
    """The segment; an arc over half a turn in equal arcs of no more, whose ends and centre leave no doubt."""
    count = 1 if not isinstance(segment, Arc) else math.ceil(abs(segment.sweep) / math.pi - 1e-9)
    if not isinstance(segment, Arc) or count <= 1:
        yield segment
        return
    sweep = segment.sweep / count
    for number in range(count):
        yield Arc(segment.centre, segment.radius, segment.start_angle + number * sweep, sweep)


def _nanometres(at: Point) -> Nanometres:
    return round(at.real * 1e9), round(at.imag * 1e9)


def _millimetres(at: Nanometres, outward: float = 0.25) -> tuple[float, float]:
    """A point for the library, which cuts coordinates off: hence a share of a nanometre outward."""
    return _outward(at[0], outward), _outward(at[1], outward)


def _outward(nanometres: int, share: float = 0.25) -> float:
    return (nanometres + math.copysign(share, nanometres)) / 1e6


def _centre(here: Nanometres, centre: Point) -> tuple[float, float]:
    """An arc's centre such that the library, taking its difference to the start, cuts off to the true one."""
    start, goal = _millimetres(here), _nanometres(centre)
    return start[0] + _outward(goal[0] - here[0]), start[1] + _outward(goal[1] - here[1])


def _size(metres: float) -> float:
    return round(metres * 1e3, 6)


def _bytes(
    board: Ordered,
    file: BoardFile,
    sheet: "gerber_writer.DataLayer",
    joined: Sequence[_Joined] = (),
) -> bytes:
    lines = [*_header(board, file), *_commands(sheet.dumps_gerber(), joined)]
    return ("\n".join(lines) + "\n").encode("ascii")


def _header(board: Ordered, file: BoardFile) -> Iterator[str]:
    """File attributes. No date: the same design gives the same bytes."""
    identity = project(board)
    yield f"G04 {board.name}: {file.says}*"
    yield f"%TF.GenerationSoftware,coilgen,coilgen,{coilgen.__version__}*%"
    yield f"%TF.FileFunction,{file.function}*%"
    yield f"%TF.FilePolarity,{file.polarity}*%"
    yield f"%TF.Part,{board.part}*%"
    yield f"%TF.ProjectId,{identity.name},{identity.guid},{identity.revision}*%"
    yield f"%TF.SameCoordinates,{board.name}*%"


def _commands(text: str, joined: Sequence[_Joined]) -> Iterator[str]:
    """The library's lines with attributes as commands in place of comments, and nets and pins added.

    Strokes and flashes stand in the order in which they were added; a stroke begins with its only move.
    """
    rest, net = iter(joined), ""
    for line in text.splitlines():
        if line.startswith("G04"):
            yield from _aperture_attribute(line)
        elif line.startswith("%ADD"):
            yield re.sub(r"^(%ADD\d+)R,", r"\1O,", line)
        elif line.startswith("%LP") and joined:
            net = joined[0].net
            yield from (_of_net(net), line)
        elif joined and line.endswith(("D02*", "D03*")):
            one = next(rest)
            if one.net != net:
                net = one.net
                yield _of_net(net)
            yield from _pinned(line, one)
        else:
            yield line


def _of_net(net: str) -> str:
    """An empty name stands for copper that is joined to nothing."""
    return f"%TO.N,{net}*%"


def _aperture_attribute(comment: str) -> Iterator[str]:
    attribute = comment.removeprefix("G04 #@! ")
    if attribute.startswith("TA.AperFunction,") or attribute == "TD*":
        yield f"%{attribute}%"


def _pinned(flash: str, one: _Joined) -> Iterator[str]:
    if one.terminal is None:
        yield flash
    else:
        yield from (f"%TO.P,{one.reference},{one.terminal}*%", flash, "%TD.P*%")


EXPORT = fab_export(
    name="gerber",
    says="Gerber X2 files of copper, mask, legend and profile; stiffeners and bends of flexible boards",
    paths=(
        "fab/<name>-copper-L<k>-<level>.gbr",
        "fab/<name>-soldermask-<side>.gbr",
        "fab/<name>-coverlay-<side>.gbr",
        "fab/<name>-legend-top.gbr",
        "fab/<name>-profile.gbr",
        "fab/<name>-stiffener-<side>.gbr",
        "fab/<name>-bends.gbr",
    ),
    files=files,
)
