"""The currents of a coil as closed paths of strips, of which its fields are made."""

from collections.abc import Sequence

from coilgen.figures.several._joint_field import coils_alone, joined_path
from coilgen.layout.coil import Strand
from coilgen.physics.field.filaments import Filaments, filaments, together
from coilgen.result.figure import Case

CHORDS = 2e-5
"""m, largest distance between an arc and its chord; what a core adds feels it by 1e-4 or less."""


def winding_path(case: Case, chords: float = CHORDS) -> Filaments:
    """The winding with its leads as closed paths of strips; layers in parallel carry their shares.

    chords: m, largest distance between an arc and its chord.
    """
    return case.kept(_path, chords)


def _path(case: Case, chords: float) -> Filaments:
    """With what joins the coils of an array."""
    joined = joined_path(case, chords)
    return strand_path(case.strands, chords) if joined is None else joined


def coils_path(case: Case) -> Filaments:
    """As `winding_path`, closed everywhere, as what magnetises cores must be: an array's coils alone.

    Each is closed straight between its pins: what joins coils passes beside the cores and is left out.
    """
    coils = coils_alone(case, CHORDS)
    return winding_path(case) if coils is None else coils


def strand_path(strands: Sequence[Strand], chords: float) -> Filaments:
    """Strands as closed paths of strips that carry their shares; chords: m, as of `winding_path`."""
    paths = [filaments(strand.conductor, tolerance=chords) for strand in strands]
    return together(paths, [strand.share for strand in strands])
