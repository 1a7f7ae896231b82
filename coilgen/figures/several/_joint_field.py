"""The path of all current in an array whose coils copper joins, with what joins them."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from coilgen.figures.several._network import at_crest, pieces
from coilgen.layout.coil import strands
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.field.filaments import Filaments


def joined_path(case: Case, chords: float) -> "Filaments | None":
    """Strips of coils and joints with what they carry over the current of coil 1 by its own drive.

    None where nothing joins coils, whose paths are then closed straight each by itself. Open at the board's
    terminals; coils side by side share by the resistance of their joints. chords: m.
    """
    array = case.design.array
    if array is None or not array.joined:
        return None
    return case.once(f"joined path {chords}", lambda: _path(case, chords))


def coils_alone(case: Case, chords: float) -> "Filaments | None":
    """The coils of `joined_path` without what joins them, each closed straight between its pins."""
    array = case.design.array
    if array is None or not array.joined:
        return None
    return case.once(f"coils alone {chords}", lambda: _coils(case, chords))


def _coils(case: Case, chords: float) -> "Filaments":
    from coilgen.physics.field.filaments import filaments, together

    carried = list(_carried(case, at_crest(case)[0]))
    return together(
        [filaments(conductor, tolerance=chords) for conductor, _ in carried], [share for _, share in carried]
    )


def _carried(case: Case, coils: Floats) -> "Iterator[tuple[Conductor, float]]":
    """Strands of the coils, each with its share of its coil's current."""
    for each, current in zip(case.windings, coils, strict=True):
        for strand in strands(each.passed, case.design.board.stackup):
            yield strand.conductor, strand.share * float(current)


def _path(case: Case, chords: float) -> "Filaments":
    from coilgen.physics.field.filaments import filaments, together

    coils, runs = at_crest(case)
    carried = list(_carried(case, coils))
    carried += [(piece, float(current)) for piece, current in zip(pieces(case), runs, strict=True)]
    paths = [filaments(conductor, tolerance=chords, closed=False) for conductor, _ in carried]
    return together(paths, [share for _, share in carried])
