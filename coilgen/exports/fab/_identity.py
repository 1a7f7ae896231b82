"""Which board a file is of: name, revision, and a number that follows from what is made."""

import hashlib
import uuid
from collections.abc import Iterator

from coilgen.artwork.art import Art
from coilgen.artwork.last_asked import for_last
from coilgen.exports.fab._fabrication import Ordered
from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point


@dataclass(frozen=True, kw_only=True)
class Project:
    """Name, GUID and revision, as the attribute .ProjectId and the job file tell them."""

    name: str
    guid: str
    revision: str


@for_last
def project(board: Ordered) -> Project:
    """The identity of a board: two designs share a GUID only when name, revision and all that is made agree.

    A GUID of version 4 in form (RFC 4122), its bits those of a digest in place of random ones, so that the
    same design has the same GUID on every run.
    """
    told = [board.name, board.revision, board.stackup.model_dump_json()]
    told += [
        board.order.model_dump_json(),
        *drawn(board.art),
        *(f"score {_path(each)}" for each in board.scores),
    ]
    digest = hashlib.sha256("\n".join(told).encode()).digest()
    return Project(
        name=board.name, guid=str(uuid.UUID(bytes=digest[:16], version=4)), revision=board.revision
    )


def drawn(art: Art) -> Iterator[str]:
    """A line for everything made, in whole nanometres, so that the last bits of a computer do not count."""
    for trace in art.traces:
        yield f"trace {trace.layer} {_nm(trace.width)} {_path(trace.path)}"
    for pad in art.pads:
        yield f"pad {pad.layer} {_at(pad.at)} {_nm(pad.diameter)}{f' {_at(pad.span)}' if pad.span else ''}"
    for hole in art.holes:
        yield f"hole {_at(hole.at)} {_nm(hole.diameter)} {hole.plated}"
    for opening in art.openings:
        window = "" if opening.window is None else f" {_path(opening.window)}"
        yield f"opening {opening.side} {_at(opening.at)} {_nm(opening.diameter)}{window}"
    for stroke in art.legend:
        yield f"print {_nm(stroke.width)} {_path(stroke.path)}"
    for loop in (art.outline, *(art.pockets or (None,))):
        yield "none" if loop is None else f"edge {_path(loop)}"
    for sheet in art.stiffeners:
        sizes = f"{_nm(sheet.thickness)} {_nm(sheet.adhesive)}"
        yield f"stiffener {sheet.side} {sheet.material} {sizes} {_path(sheet.path)}"
    for bend in art.bends:
        yield f"bend {bend.says} {_path(bend.path)}"


def _path(path: Path) -> str:
    """Ends of the pieces, and the centres of arcs."""
    pieces = (
        f"{_at(piece.end)} {_at(piece.centre) if isinstance(piece, Arc) else '-'}" for piece in path.segments
    )
    return " ".join((_at(path.start), *pieces))


def _at(point: Point) -> str:
    return f"{_nm(point.real)},{_nm(point.imag)}"


def _nm(metres: float) -> int:
    return round(metres * 1e9)
