"""What layouts take of a board besides its copper: closed shapes and bends, each with its layer's name."""

import math
from collections.abc import Iterator

from coilgen.artwork.art import Art
from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point

HOLES = {True: "holes plated", False: "holes unplated"}
OPENINGS = {"top": "mask openings top", "bottom": "mask openings bottom"}
POCKET = "core pocket"
PROFILE = "board profile"
STIFFENERS = {"top": "stiffener top", "bottom": "stiffener bottom"}
BENDS = "bends"


@dataclass(frozen=True)
class Disc:
    """What is round because a drill or a pad is; sizes in m."""

    at: Point
    diameter: float

    @property
    def path(self) -> Path:
        """Its edge."""
        return Path((Arc(self.at, self.diameter / 2, 0.0, math.tau),))


def board_layers(art: Art) -> list[str]:
    """Names of layers, those of stiffeners and bends only where a board has them."""
    sides = [name for side, name in STIFFENERS.items() if any(each.side == side for each in art.stiffeners)]
    bends = [BENDS] if art.bends else []
    return [*HOLES.values(), *OPENINGS.values(), POCKET, PROFILE, *sides, *bends]


def board_shapes(art: Art) -> Iterator[tuple[str, Disc | Path]]:
    """Each closed shape with its layer."""
    for hole in art.holes:
        yield HOLES[hole.plated], Disc(hole.at, hole.diameter)
    for opening in art.openings:
        yield OPENINGS[opening.side], opening.window or Disc(opening.at, opening.diameter)
    for pocket in art.pockets:
        yield POCKET, pocket
    if art.outline is not None:
        yield PROFILE, art.outline
    for stiff in art.stiffeners:
        yield STIFFENERS[stiff.side], stiff.path
