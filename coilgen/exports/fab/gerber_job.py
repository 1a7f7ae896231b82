"""The Gerber job file: JSON that tells what the board is and what each file shows.

Gerber Job File Format Specification, Ucamco, revision 2020.08. Lengths in mm.
"""

import json
from collections.abc import Iterator
from itertools import zip_longest
from typing import Any

import coilgen
from coilgen.artwork.art import Art
from coilgen.design.stackup import Stackup
from coilgen.exports.fab._fabrication import (
    FOLDER,
    Ordered,
    board_files,
    fab_export,
    film,
    ordered,
    papers,
)
from coilgen.exports.fab._identity import project
from coilgen.geometry.extent import extent
from coilgen.geometry.point import Point
from coilgen.result.result import Result

Json = dict[str, Any]

FINISHES = {
    "enig": "ENIG",
    "lead-free-hasl": "HAL lead-free",
    "immersion-silver": "IAg",
    "immersion-tin": "ISn",
    "osp": "OSP",
    "hard-gold": "Hard gold",
}
"""The format's words for finishes; values from memory."""

VIA_PROTECTION = {"tented": "Ib", "open": "None", "filled": "VI"}
"""Types of IPC-4761: Ib tented on both sides, VI filled and covered; values from memory."""

FIXED_DATE = "1980-01-01T00:00:00Z"
"""The format asks for a date; a fixed one keeps the file the same for the same design."""


def files(result: Result) -> dict[str, bytes]:
    """The one job file."""
    return files_of(ordered(result))


def files_of(board: Ordered) -> dict[str, bytes]:
    """The same of a board or of a panel."""
    job: Json = {
        "Header": _header(),
        "GeneralSpecs": _general(board),
        "DesignRules": list(_design_rules(board)),
        "FilesAttributes": list(_files_attributes(board)),
        "MaterialStackup": list(_stackup(board)),
    }
    text = json.dumps({key: value for key, value in job.items() if value}, indent=2, ensure_ascii=True)
    return {f"{FOLDER}{board.name}.gbrjob": (text + "\n").encode("ascii")}


def _header() -> Json:
    return {
        "GenerationSoftware": {"Vendor": "coilgen", "Application": "coilgen", "Version": coilgen.__version__},
        "CreationDate": FIXED_DATE,
        "Comment": "The date is fixed: the same design gives the same bytes.",
    }


def _general(board: Ordered) -> Json:
    identity, size, order = project(board), _size(board.art), board.order
    general: Json = {
        "ProjectId": {"Name": identity.name, "GUID": identity.guid, "Revision": identity.revision},
        "Size": {"X": _mm(size.real), "Y": _mm(size.imag)},
        "LayerNumber": board.art.copper_layers,
        "BoardThickness": _mm(_thickness(board.stackup)),
    }
    if not board.stackup.flexible:
        general["IPC-6012-Class"] = str(order.ipc_class)
    if order.finish is not None:
        general["Finish"] = FINISHES[order.finish]
    if board.vias:
        general["ViaProtection"] = VIA_PROTECTION[order.vias]
    return general


def _thickness(stackup: Stackup) -> float:
    """Nominal, m: rigid boards are sold by copper and laminate, flexible ones over their coverlays."""
    return stackup.finished_thickness if stackup.flexible else stackup.thickness


def _design_rules(board: Ordered) -> Iterator[Json]:
    """Smallest width and spacing as drawn, outer and inner layers alike; nothing where not measured."""
    rules: Json = {}
    if board.smallest_spacing is not None:
        rules |= dict.fromkeys(("PadToPad", "PadToTrack", "TrackToTrack"), _mm(board.smallest_spacing))
    if board.smallest_width is not None:
        rules["MinLineWidth"] = _mm(board.smallest_width)
    for level in ("Outer", "Inner") if board.art.copper_layers > 2 else ("Outer",):
        if rules:
            yield {"Layers": level, **rules}


def _files_attributes(board: Ordered) -> Iterator[Json]:
    for file in (*board_files(board), *papers(board)):
        entry = {"Path": file.name, "FileFunction": file.function}
        yield {**entry, "FilePolarity": file.polarity} if file.polarity else entry


def _stackup(board: Ordered) -> Iterator[Json]:
    """Every layer of the finished board, top to bottom."""
    stackup, order = board.stackup, board.order
    between = zip(stackup.dielectric, stackup.permittivity, strict=True)
    yield {"Type": "Legend", **_coloured(order.legend_colour), "Name": "Legend top"}
    yield _mask(board, "top")
    for number, (copper, below) in enumerate(zip_longest(stackup.copper, between), 1):
        yield {"Type": "Copper", "Thickness": _mm(copper), "Name": f"L{number}"}
        if below is not None:
            yield _dielectric(stackup, number, *below)
    if "bottom" in stackup.masked_faces:
        yield _mask(board, "bottom")


def _dielectric(stackup: Stackup, above: int, thickness: float, permittivity: float) -> Json:
    return {
        "Type": "Dielectric",
        "Thickness": _mm(thickness),
        "Material": stackup.material,
        "DielectricConstant": permittivity,
        "Name": f"L{above}/L{above + 1}" if above < stackup.layers else "Base",
    }


def _mask(board: Ordered, side: str) -> Json:
    stackup = board.stackup
    return {
        "Type": {"coverlay": "Coverlay", "solder mask": "SolderMask"}[film(stackup)],
        **_coloured(board.order.soldermask_colour),
        "Thickness": _mm(stackup.mask_thickness),
        "DielectricConstant": stackup.mask_permittivity,
        "Name": f"{film(stackup).capitalize()} {side}",
    }


def _coloured(colour: str | None) -> Json:
    return {} if colour is None else {"Color": colour.capitalize()}


def _size(art: Art) -> Point:
    """Width and height of the board's outline; a board without one has no job file."""
    if art.outline is None:
        raise ValueError("a board without an outline has no size")
    low, high = extent(art.outline)
    return high - low


def _mm(metres: float) -> float:
    return round(metres * 1e3, 6)


EXPORT = fab_export(
    name="gerber_job",
    says="Gerber job file: what the board is and what each file shows",
    paths=("fab/<name>.gbrjob",),
    files=files,
)
