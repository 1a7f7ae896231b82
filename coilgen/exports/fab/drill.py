"""NC drill files in XNC: plated and unplated holes, all through the board.

XNC Format Specification, Ucamco, revision 2021.11; attributes as comments after `#@!`.
"""

from collections.abc import Iterator

import coilgen
from coilgen.artwork.art import Hole
from coilgen.exports.fab._fabrication import BoardFile, Ordered, drill_files, fab_export, ordered
from coilgen.exports.fab._identity import Project, project
from coilgen.result.result import Result

Tool = tuple[float, str]


def files(result: Result) -> dict[str, bytes]:
    """The two drill files, each only where it has holes."""
    return files_of(ordered(result))


def files_of(board: Ordered) -> dict[str, bytes]:
    """The same of a board or of a panel."""
    return dict(_file(board, file) for file in drill_files(board))


def _file(board: Ordered, file: BoardFile) -> tuple[str, bytes]:
    plated = file.function.startswith("Plated")
    holes = [hole for hole in board.art.holes if hole.plated == plated]
    lines = [*_header(file, project(board), _tools(holes)), *_hits(holes), "M30"]
    return file.path, ("\n".join(lines) + "\n").encode("ascii")


def _header(file: BoardFile, board: Project, tools: list[Tool]) -> Iterator[str]:
    yield "M48"
    yield f"; #@! TF.GenerationSoftware,coilgen,coilgen,{coilgen.__version__}"
    yield f"; #@! TF.FileFunction,{file.function}"
    yield "; #@! TF.FilePolarity,Positive"
    yield f"; #@! TF.ProjectId,{board.name},{board.guid},{board.revision}"
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


EXPORT = fab_export(
    name="drill",
    says="NC drill files in XNC, plated and unplated",
    paths=(
        "fab/<name>-drill-plated.drl",
        "fab/<name>-drill-unplated.drl",
    ),
    files=files,
)
