"""Bodies on the board's faces that only its openings lie under, or nothing of it at all."""

from collections.abc import Iterator, Sequence

from coilgen.artwork.art import Art
from coilgen.artwork.bodies import touches_board
from coilgen.design.bodies import Face
from coilgen.design.design import Design
from coilgen.design.soft_material import written

_FACES: tuple[Face, ...] = ("top", "bottom")


def bodies_off_board(design: Design, board: Art) -> Iterator[str]:
    """What to know of bodies that are told on a face of the board and touch nothing of it."""
    for face in _FACES:
        cores = [each for each in enumerate(design.core, start=1) if each[1].place == face]
        if cores and not touches_board(board, [core for _, core in cores]):
            names = [f"core {number} ({written(core.material)})" for number, core in cores]
            yield _says(names, face, board)
    plate, magnet = design.mounting.base_plate, design.magnet
    if plate is not None and not touches_board(board, [plate]):
        yield _says([f"the base plate ({plate.material})"], plate.place, board)
    if magnet is not None and magnet.contact is not None and not touches_board(board, [magnet]):
        yield (
            f"The magnet is told to be stuck to the board, but nothing of the board's {magnet.place} lies "
            "under it: it counts as free. Leave out its contact, or move it."
        )


def _says(names: Sequence[str], face: str, board: Art) -> str:
    which, under = " and ".join(names), "the pocket" if len(board.pockets) == 1 else "pockets"
    lie, touch, them = ("lies", "it touches", "it") if len(names) == 1 else ("lie", "they touch", "them")
    return (
        f"{which[0].upper()}{which[1:]} on the {face} {lie} over {under} alone: {touch} no board. Something "
        f"else must hold {them}, such as a core in the pocket; the figures let no heat pass between {them} "
        "and the board."
    )
