"""NC drill files in XNC: plated and unplated holes, all through the board.

XNC Format Specification, Ucamco, revision 2021.11; attributes as comments after `#@!`.
"""

from collections.abc import Iterator

import coilgen
from coilgen.artwork.art import Hole
from coilgen.exports.fab._fabrication import BoardFile, drill_file
from coilgen.result.export import Export
from coilgen.result.result import Result

Tool = tuple[float, str]


def files(result: Result) -> dict[str, bytes]:
    """The two drill files, each written also when it has no hole: an empty file says that there is none."""
    return dict(_file(result, plated=plated) for plated in (True, False))


def _file(result: Result, *, plated: bool) -> tuple[str, bytes]:
    file = drill_file(result, plated=plated)
    holes = [hole for hole in result.art.holes if hole.plated == plated]
    lines = [*_header(file, _tools(holes)), *_hits(holes), "M30"]
    return file.path, ("\n".join(lines) + "\n").encode("ascii")


def _header(file: BoardFile, tools: list[Tool]) -> Iterator[str]:
    yield "M48"
    yield f"; #@! TF.GenerationSoftware,coilgen,coilgen,{coilgen.__version__}"
    yield f"; #@! TF.FileFunction,{file.function}"
    yield "; #@! TF.FilePolarity,Positive"
    yield "METRIC"
    for number, (diameter, function) in enumerate(tools, 1):
        yield f"; #@! TA.AperFunction,{function}"
        yield f"T{number:02d}C{_decimal(diameter)}"
    yield "%"
    yield "G05"


def _hits(holes: list[Hole]) -> Iterator[str]:
    for number, tool in enumerate(_tools(holes), 1):
        yield f"T{number:02d}"
        for hole in holes:
            if _tool(hole) == tool:
                yield f"X{_decimal(hole.at.real)}Y{_decimal(hole.at.imag)}"


def _tools(holes: list[Hole]) -> list[Tool]:
    """One tool for each finished diameter and function, the smallest first."""
    return sorted({_tool(hole) for hole in holes})


def _tool(hole: Hole) -> Tool:
    if not hole.plated:
        function = "MechanicalDrill"
    else:
        function = "ViaDrill" if hole.terminal is None else "ComponentDrill"
    return round(hole.diameter, 9), function


def _decimal(metres: float) -> str:
    """Millimetres to the nanometre, as the pads have them, with no fewer than three decimals."""
    nanometres = round(metres * 1e9)
    whole, rest = divmod(abs(nanometres), 1_000_000)
    sign = "-" if nanometres < 0 else ""
    return f"{sign}{whole}.{f'{rest:06d}'.rstrip('0'):0<3}"


EXPORT = Export(
    name="drill",
    says="NC drill files in XNC, plated and unplated",
    reader="fab",
    paths=(
        "fab/<name>-plated.drl",
        "fab/<name>-unplated.drl",
    ),
    files=files,
)
