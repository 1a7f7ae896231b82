"""What the files for the fab share: when there are any, their names, the function of each."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from coilgen.design.stackup import Stackup
from coilgen.result.export import Export
from coilgen.result.result import Result

FOLDER = "fab/"
"""Where the fab's files stand below a result's folder."""

REFERENCE = "L1"
"""The coil's reference designator: L is the class letter of an inductor (IEEE 315, IEC 81346)."""

SIDES = {"top": "Top", "bottom": "Bot"}
"""Faces of the board as the Gerber Layer Format Specification writes them."""


@dataclass(frozen=True, kw_only=True)
class BoardFile:
    """One file of a board: its name, its function in the terms of the Gerber Layer Format Specification.

    polarity: Positive, Negative where the file shows that material is absent, or empty for what is no image.
    says: what it holds, for people.
    """

    name: str
    function: str
    says: str
    polarity: str = "Positive"

    @property
    def path(self) -> str:
        """Path below the result's folder."""
        return FOLDER + self.name

    @property
    def negative(self) -> bool:
        """Whether the file shows where material is absent."""
        return self.polarity == "Negative"


def fab_export(
    *,
    name: str,
    says: str,
    paths: tuple[str, ...],
    files: Callable[[Result], Mapping[str, bytes]],
    bundles: bool = False,
) -> Export:
    """An export of the fabrication set: it writes nothing for a board without an outline.

    Such a board is for a layout; the only edge in its set would be the pocket's, and it would be ordered so.
    """

    def written(result: Result) -> Mapping[str, bytes]:
        return {} if result.art.outline is None else files(result)

    return Export(name=name, says=says, reader="fab", paths=paths, files=written, bundles=bundles)


def board_files(result: Result) -> tuple[BoardFile, ...]:
    """Every file that shows a layer or the holes of the board, top to bottom, then profile and drills."""
    layers = result.art.copper_layers
    return (
        legend_file(result),
        mask_file(result, "top"),
        *(copper_file(result, layer) for layer in range(1, layers + 1)),
        *(mask_file(result, side) for side in result.design.board.stackup.masked_faces[1:]),
        profile_file(result),
        *drill_files(result),
    )


def papers(result: Result) -> tuple[BoardFile, ...]:
    """What goes with the images: the netlist and the notes."""
    name = result.design.name
    return (
        BoardFile(
            name=f"{name}-netlist.ipc",
            function="Other,Netlist",
            polarity="",
            says="IPC-D-356A netlist for the electrical test",
        ),
        BoardFile(
            name=f"{name}-fabrication-notes.md",
            function="Other,Fabrication_notes",
            polarity="",
            says="these notes: plain text, tables in Markdown",
        ),
    )


def copper_file(result: Result, layer: int) -> BoardFile:
    """The file of one copper layer, 1 = top."""
    layers = result.art.copper_layers
    level, word = copper_level(layer, layers)
    return BoardFile(
        name=f"{result.design.name}-copper-L{layer}-{word}.gbr",
        function=f"Copper,L{layer},{level}",
        says=f"copper layer {layer} of {layers}, counted from the top",
    )


def film(stackup: Stackup) -> str:
    """What covers the copper: solder mask, or coverlay on a flexible board."""
    return "coverlay" if stackup.flexible else "solder mask"


def mask_file(result: Result, side: str) -> BoardFile:
    """The file of the openings in the solder mask or, on a flexible board, the coverlay of a side."""
    cover = film(result.design.board.stackup)
    function = {"coverlay": "Other,Coverlay_", "solder mask": "Soldermask,"}[cover]
    opened = any(opening.side == side for opening in result.art.openings)
    return BoardFile(
        name=f"{result.design.name}-{cover.replace(' ', '')}-{side}.gbr",
        function=function + SIDES[side],
        says=f"openings in the {cover} on the {side}{'' if opened else ': none is meant'}",
        polarity="Negative",
    )


def legend_file(result: Result) -> BoardFile:
    """The file of the printed marks on the top."""
    return BoardFile(
        name=f"{result.design.name}-legend-top.gbr",
        function="Legend,Top",
        says="printed marks on the top",
    )


def profile_file(result: Result) -> BoardFile:
    """The file of the board's edge and its cut-out."""
    cut = {0: "", 1: " and pocket cut-out"}.get(len(result.art.pockets), " and pocket cut-outs")
    return BoardFile(
        name=f"{result.design.name}-profile.gbr",
        function="Profile,NP",
        says=f"board outline{cut}, closed loops; the edge is the middle of the line",
    )


def drill_files(result: Result) -> Iterator[BoardFile]:
    """The files of plated and of unplated holes, each only where there is such a hole."""
    for plated in (True, False):
        if any(hole.plated == plated for hole in result.art.holes):
            yield drill_file(result, plated=plated)


def drill_file(result: Result, *, plated: bool) -> BoardFile:
    """The file of the plated or of the unplated holes, all of them through the whole board."""
    layers = result.art.copper_layers
    kind, barrel, word = ("Plated", "PTH", "plated") if plated else ("NonPlated", "NPTH", "unplated")
    return BoardFile(
        name=f"{result.design.name}-drill-{word}.drl",
        function=f"{kind},1,{layers},{barrel}",
        says=f"{word} holes, through the board, finished diameters",
    )


def copper_level(layer: int, layers: int) -> tuple[str, str]:
    """Where a copper layer lies, in the specification's word and in ours.

    >>> copper_level(1, 1), copper_level(2, 4), copper_level(4, 4)
    (('Top', 'top'), ('Inr', 'inner'), ('Bot', 'bottom'))
    """
    if layer == 1:
        return "Top", "top"
    return ("Bot", "bottom") if layer == layers else ("Inr", "inner")
