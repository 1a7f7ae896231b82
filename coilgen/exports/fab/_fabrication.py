"""What the files for the fab share: their names, the function of each, the coil's reference designator."""

from dataclasses import dataclass

from coilgen.result.result import Result

FOLDER = "fab/"
"""Where the fab's files stand below a result's folder."""

REFERENCE = "L1"
"""The coil's reference designator: L is the class letter of an inductor (IEEE 315, IEC 81346)."""


@dataclass(frozen=True, kw_only=True)
class BoardFile:
    """One file of a board: its name, its function in the terms of the Gerber Layer Format Specification.

    negative: the file shows where material is absent. says: what it holds, for people.
    """

    name: str
    function: str
    says: str
    negative: bool = False

    @property
    def path(self) -> str:
        """Path below the result's folder."""
        return FOLDER + self.name


def board_files(result: Result) -> tuple[BoardFile, ...]:
    """Every file that shows a layer or the holes of the board, top to bottom, then profile and drills."""
    return (
        legend_file(result),
        mask_file(result, "top"),
        *(copper_file(result, layer) for layer in range(1, result.art.copper_layers + 1)),
        mask_file(result, "bottom"),
        profile_file(result),
        drill_file(result, plated=True),
        drill_file(result, plated=False),
    )


def copper_file(result: Result, layer: int) -> BoardFile:
    """The file of one copper layer, 1 = top."""
    return BoardFile(
        name=f"{result.design.name}-copper-L{layer}.gbr",
        function=f"Copper,L{layer},{_level(layer, result.art.copper_layers)}",
        says=f"copper layer {layer} of {result.art.copper_layers}, counted from the top",
    )


def mask_file(result: Result, side: str) -> BoardFile:
    """The file of the openings in the solder mask or, on a flexible board, the coverlay of a side."""
    flexible = result.design.board.stackup.flexible
    film, function = ("coverlay", "Other,Coverlay_") if flexible else ("solder mask", "Soldermask,")
    return BoardFile(
        name=f"{result.design.name}-mask-{side}.gbr",
        function=function + {"top": "Top", "bottom": "Bot"}[side],
        says=f"openings in the {film} on the {side}",
        negative=True,
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
    return BoardFile(
        name=f"{result.design.name}-profile.gbr",
        function="Profile,NP",
        says="board outline and pocket cut-out, as closed loops",
    )


def drill_file(result: Result, *, plated: bool) -> BoardFile:
    """The file of the plated or of the unplated holes, all of them through the whole board."""
    layers = result.art.copper_layers
    kind, barrel = ("Plated", "PTH") if plated else ("NonPlated", "NPTH")
    return BoardFile(
        name=f"{result.design.name}-{'plated' if plated else 'unplated'}.drl",
        function=f"{kind},1,{layers},{barrel}",
        says=f"{'plated' if plated else 'unplated'} holes, through the board",
    )


def _level(layer: int, layers: int) -> str:
    if layer == 1:
        return "Top"
    return "Bot" if layer == layers else "Inr"
