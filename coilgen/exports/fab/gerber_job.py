"""The Gerber job file: JSON that tells what the board is and what each file shows.

Gerber Job File Format Specification, Ucamco, revision 2020.08. Lengths in mm.
"""

import json
import uuid
from collections.abc import Iterator
from itertools import zip_longest
from typing import Any

import coilgen
from coilgen.artwork.art import Art
from coilgen.design.stackup import Stackup
from coilgen.exports.fab._fabrication import FOLDER, board_files
from coilgen.geometry.extent import extent
from coilgen.geometry.point import Point
from coilgen.result.export import Export
from coilgen.result.result import Result

Json = dict[str, Any]

FIXED_DATE = "1980-01-01T00:00:00Z"
"""The format asks for a date; a fixed one keeps the file the same for the same design."""


def files(result: Result) -> dict[str, bytes]:
    """The one job file."""
    job: Json = {
        "Header": _header(),
        "GeneralSpecs": _general(result),
        "DesignRules": list(_design_rules(result)),
        "FilesAttributes": list(_files_attributes(result)),
        "MaterialStackup": list(_stackup(result)),
    }
    text = json.dumps({key: value for key, value in job.items() if value}, indent=2, ensure_ascii=True)
    return {f"{FOLDER}{result.design.name}.gbrjob": (text + "\n").encode("ascii")}


def _header() -> Json:
    return {
        "GenerationSoftware": {"Vendor": "coilgen", "Application": "coilgen", "Version": coilgen.__version__},
        "CreationDate": FIXED_DATE,
        "Comment": "The date is fixed: the same design gives the same bytes.",
    }


def _general(result: Result) -> Json:
    name, stackup = result.design.name, result.design.board.stackup
    size = _size(result.art)
    return {
        "ProjectId": {"Name": name, "GUID": str(uuid.uuid5(uuid.NAMESPACE_OID, name)), "Revision": "1"},
        "Size": {"X": _mm(size.real), "Y": _mm(size.imag)},
        "LayerNumber": result.art.copper_layers,
        "BoardThickness": _mm(stackup.thickness),
    }


def _design_rules(result: Result) -> Iterator[Json]:
    """Smallest width and spacing as drawn, outer and inner layers alike; nothing where not measured."""
    width, spacing = (result.figures.get(f"smallest_{what}") for what in ("width", "spacing"))
    rules: Json = {}
    if spacing is not None:
        rules |= dict.fromkeys(("PadToPad", "PadToTrack", "TrackToTrack"), _mm(spacing.value))
    if width is not None:
        rules["MinLineWidth"] = _mm(width.value)
    for level in ("Outer", "Inner") if result.art.copper_layers > 2 else ("Outer",):
        if rules:
            yield {"Layers": level, **rules}


def _files_attributes(result: Result) -> Iterator[Json]:
    for file in board_files(result):
        polarity = "Negative" if file.negative else "Positive"
        yield {"Path": file.name, "FileFunction": file.function, "FilePolarity": polarity}


def _stackup(result: Result) -> Iterator[Json]:
    """Every layer of the finished board, top to bottom."""
    stackup = result.design.board.stackup
    between = zip(stackup.dielectric, stackup.permittivity, strict=True)
    yield {"Type": "Legend", "Name": "Legend top"}
    yield _mask(stackup, "top")
    for number, (copper, below) in enumerate(zip_longest(stackup.copper, between), 1):
        yield {"Type": "Copper", "Thickness": _mm(copper), "Name": f"L{number}"}
        if below is not None:
            yield _dielectric(stackup, number, *below)
    yield _mask(stackup, "bottom")


def _dielectric(stackup: Stackup, above: int, thickness: float, permittivity: float) -> Json:
    return {
        "Type": "Dielectric",
        "Thickness": _mm(thickness),
        "Material": stackup.material,
        "DielectricConstant": permittivity,
        "Name": f"L{above}/L{above + 1}" if above < stackup.layers else "Base",
    }


def _mask(stackup: Stackup, side: str) -> Json:
    return {
        "Type": "SolderMask",
        "Thickness": _mm(stackup.mask_thickness),
        "DielectricConstant": stackup.mask_permittivity,
        "Name": f"{'Coverlay' if stackup.flexible else 'Solder mask'} {side}",
    }


def _size(art: Art) -> Point:
    """Width and height of the board; without an outline those of the copper."""
    if art.outline is not None:
        low, high = extent(art.outline)
        return high - low
    corners = [corner for box in _copper_boxes(art) for corner in box]
    across, up = [corner.real for corner in corners], [corner.imag for corner in corners]
    return complex(max(across) - min(across), max(up) - min(up))


def _copper_boxes(art: Art) -> Iterator[tuple[Point, Point]]:
    for trace in art.traces:
        low, high = extent(trace.path)
        margin = complex(trace.width, trace.width) / 2
        yield low - margin, high + margin
    for pad in art.pads:
        margin = complex(pad.diameter, pad.diameter) / 2
        yield pad.at - margin, pad.at + margin


def _mm(metres: float) -> float:
    return round(metres * 1e3, 6)


EXPORT = Export(
    name="gerber_job",
    says="Gerber job file: what the board is and what each file shows",
    reader="fab",
    paths=("fab/<name>.gbrjob",),
    files=files,
)
