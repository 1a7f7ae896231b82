"""What the files for the fab share: when there are any, their names, the function of each."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import field

from coilgen.artwork.art import Art
from coilgen.artwork.last_asked import for_last
from coilgen.design.order import Order
from coilgen.design.stackup import Stackup
from coilgen.frozen import dataclass
from coilgen.geometry.path import Path
from coilgen.layout.coil import Terminal, Via
from coilgen.result.export import Export
from coilgen.result.result import Result

FOLDER = "fab/"
"""Where the fab's files stand below a result's folder."""

REFERENCE = "L1"
"""The coil's reference designator: L is the class letter of an inductor (IEEE 315, IEC 81346)."""

SIDES = {"top": "Top", "bottom": "Bot"}
"""Faces of the board as the Gerber Layer Format Specification writes them."""


@dataclass(frozen=True, kw_only=True)
class Ordered:
    """What the fab's files are of: one board, or a panel of several.

    part: "Single" or "Array", as the Gerber format tells them. several: whether there are several nets with a
    winding. references: reference designators of nets that have one of their own. smallest_width,
    smallest_spacing: of the copper as drawn, m, where measured. scores: straight lines of a V-score.
    """

    name: str
    revision: str
    part: str = "Single"
    stackup: Stackup
    order: Order
    art: Art
    vias: tuple[Via, ...]
    terminals: tuple[Terminal, ...]
    several: bool
    references: Mapping[str, str] = field(default_factory=dict)
    smallest_width: float | None = None
    smallest_spacing: float | None = None
    scores: tuple[Path, ...] = ()

    def reference(self, net: str) -> str:
        """The reference designator of a net's terminals."""
        return self.references.get(net, REFERENCE)


@for_last
def ordered(result: Result) -> Ordered:
    """The single board of a result."""
    width, spacing = (result.figures.get(f"smallest_{what}") for what in ("width", "spacing"))
    return Ordered(
        name=result.design.name,
        revision=result.design.revision,
        stackup=result.design.board.stackup,
        order=result.design.order,
        art=result.art,
        vias=result.coil.vias,
        terminals=result.coil.terminals,
        several=bool(result.windings),
        smallest_width=None if width is None else width.value,
        smallest_spacing=None if spacing is None else spacing.value,
    )


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


def board_files(board: Ordered) -> tuple[BoardFile, ...]:
    """Every file that shows a layer or the holes of the board, top to bottom, then profile and drills."""
    layers = board.art.copper_layers
    return (
        legend_file(board),
        mask_file(board, "top"),
        *(copper_file(board, layer) for layer in range(1, layers + 1)),
        *(mask_file(board, side) for side in board.stackup.masked_faces[1:]),
        profile_file(board),
        *((score_file(board),) if board.scores else ()),
        *flex_files(board),
        *drill_files(board),
    )


def papers(board: Ordered) -> tuple[BoardFile, ...]:
    """What goes with the images: the netlist and the notes."""
    name = board.name
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


def copper_file(board: Ordered, layer: int) -> BoardFile:
    """The file of one copper layer, 1 = top."""
    layers = board.art.copper_layers
    level, word = copper_level(layer, layers)
    return BoardFile(
        name=f"{board.name}-copper-L{layer}-{word}.gbr",
        function=f"Copper,L{layer},{level}",
        says=f"copper layer {layer} of {layers}, counted from the top",
    )


def film(stackup: Stackup) -> str:
    """What covers the copper: solder mask, or coverlay on a flexible board."""
    return "coverlay" if stackup.flexible else "solder mask"


def mask_file(board: Ordered, side: str) -> BoardFile:
    """The file of the openings in the solder mask or, on a flexible board, the coverlay of a side."""
    cover = film(board.stackup)
    function = {"coverlay": "Other,Coverlay_", "solder mask": "Soldermask,"}[cover]
    opened = any(opening.side == side for opening in board.art.openings)
    return BoardFile(
        name=f"{board.name}-{cover.replace(' ', '')}-{side}.gbr",
        function=function + SIDES[side],
        says=f"openings in the {cover} on the {side}{'' if opened else ': none is meant'}",
        polarity="Negative",
    )


def legend_file(board: Ordered) -> BoardFile:
    """The file of the printed marks on the top."""
    return BoardFile(
        name=f"{board.name}-legend-top.gbr",
        function="Legend,Top",
        says="printed marks on the top",
    )


def profile_file(board: Ordered) -> BoardFile:
    """The file of the board's edge and its cut-out."""
    if board.part == "Array":
        return BoardFile(
            name=f"{board.name}-profile.gbr",
            function="Profile,NP",
            says="outline of the panel and all that is cut out of it, closed loops; the edge is the middle "
            "of the line",
        )
    cut = {0: "", 1: " and pocket cut-out"}.get(len(board.art.pockets), " and pocket cut-outs")
    return BoardFile(
        name=f"{board.name}-profile.gbr",
        function="Profile,NP",
        says=f"board outline{cut}, closed loops; the edge is the middle of the line",
    )


def score_file(board: Ordered) -> BoardFile:
    """The file of the lines along which a panel is scored from both faces."""
    return BoardFile(
        name=f"{board.name}-v-score.gbr",
        function="Vcut",
        says="V-score, from both faces; the score is the middle of the line",
    )


def flex_files(board: Ordered) -> Iterator[BoardFile]:
    """The files of stiffeners, one for each face that has some, and of bends."""
    for side in SIDES:
        if any(sheet.side == side for sheet in board.art.stiffeners):
            yield stiffener_file(board, side)
    if board.art.bends:
        yield bend_file(board)


def stiffener_file(board: Ordered, side: str) -> BoardFile:
    """The file of the stiffeners of a face."""
    return BoardFile(
        name=f"{board.name}-stiffener-{side}.gbr",
        function=f"Other,Stiffener_{SIDES[side]}",
        says=f"stiffeners on the {side}, where they lie; see the order for material and thickness",
    )


def bend_file(board: Ordered) -> BoardFile:
    """The file of the lines about which the board is bent."""
    return BoardFile(
        name=f"{board.name}-bends.gbr",
        function="Other,Bend_Lines",
        says="middle lines of the bends, for information: nothing is cut or scored there",
    )


def drill_files(board: Ordered) -> Iterator[BoardFile]:
    """The files of plated and of unplated holes, each only where there is such a hole."""
    for plated in (True, False):
        if any(hole.plated == plated for hole in board.art.holes):
            yield drill_file(board, plated=plated)


def drill_file(board: Ordered, *, plated: bool) -> BoardFile:
    """The file of the plated or of the unplated holes, all of them through the whole board."""
    layers = board.art.copper_layers
    kind, barrel, word = ("Plated", "PTH", "plated") if plated else ("NonPlated", "NPTH", "unplated")
    return BoardFile(
        name=f"{board.name}-drill-{word}.drl",
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
