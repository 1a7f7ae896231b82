"""Images in iron plates of very high permeability: of charges, magnets and currents along z."""

from dataclasses import replace

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import Filaments


@dataclass(frozen=True, kw_only=True)
class Image:
    """Where what stands at a height z has an image: at shift - z where flipped, else at shift + z, m.

    P. Hammond, Proc. IEE 107 C, 1960: a plate gives each charge one of the other sign behind its face, to a
    magnet along z and to a loop level with it one of the same sense. Two reflections shift it unchanged.
    """

    flipped: bool
    shift: float

    @property
    def sign(self) -> float:
        """Of a charge's image."""
        return -1.0 if self.flipped else 1.0

    def height(self, z: Floats) -> Floats:
        """Of the image of what stands at z, m."""
        return self.shift - z if self.flipped else self.shift + z

    def of_path(self, path: Filaments) -> Filaments:
        """The image of a current: parts level with the plate go the same way, upright ones the other."""
        return replace(path, start=self._lifted(path.start), end=self._lifted(path.end))

    def _lifted(self, points: Floats) -> Floats:
        return np.column_stack([points[:, :2], self.height(points[:, 2])])


def images(below: float | None, above: float | None, reach: float) -> tuple[Image, ...]:
    """In iron plates whose faces are at heights below and above, m; None for none; nearest first.

    Between two plates the images repeat; those farther than some `reach`, m, beyond them are left out.
    """
    if below is None or above is None:
        face = above if below is None else below
        return () if face is None else (Image(flipped=True, shift=2 * face),)
    period = 2.0 * (above - below)
    most = int(reach / period) + 1
    found = [Image(flipped=False, shift=number * period) for number in range(-most, most + 1) if number]
    found += [Image(flipped=True, shift=2 * above + number * period) for number in range(-most - 1, most + 1)]
    middle = 0.5 * (above + below)
    return tuple(sorted(found, key=lambda image: abs(float(image.height(np.array(middle))) - middle)))
