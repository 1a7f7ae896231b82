"""The dielectrics about a winding, and how its layers lie over one another round the coil."""

import numpy as np

from coilgen.design.stackup import Stackup
from coilgen.result.figure import Case

_THIN = ((0.05, 7), (0.3, 3))
"""Layers nearer to each other than a share of the pitch are taken in so many sections round the coil."""


def sections(case: Case) -> int:
    """In how many sections round the coil the layers differ that wind inward and outward over one another.

    One where they are far apart or alike. With corners turns lie over one another but for the side on which
    they change their levels.
    """
    return 1 if case.design.winding.measure.cornered else _sections(case)


def _sections(case: Case) -> int:
    asked, stackup = case.design.winding, case.design.board.stackup
    heights = np.array([stackup.height(layer) for layer in case.wound])
    if case.coil.parallel or len(heights) == 1:
        return 1
    apart = float(np.abs(np.diff(heights)).min()) / (asked.trace_width + asked.trace_spacing)
    return next((count for thin, count in _THIN if apart <= thin), 1)


def faces_less(case: Case) -> float:
    """Share of a capacitance that the layers may have less, as they do not lie over one another everywhere.

    Measured with plates a fortieth of the pitch apart (tests): where corners are, on one of the sides the
    turns of one layer face others than is reckoned, or none.
    """
    measure = case.design.winding.measure
    if _sections(case) == 1:
        return 0.0
    return 0.5 / (measure.corners or 4) if measure.cornered else 0.05


def dielectrics(stackup: Stackup) -> tuple[list[float], list[float]]:
    """Rising heights of the planes between dielectrics, m, and the relative permittivities between them.

    Solder mask fills the height of the outer copper; the laminates meet in the middle of inner copper.
    """
    layers = stackup.layers
    single = layers == 1
    planes = [stackup.mask_thickness, -stackup.copper[0]]
    materials = [stackup.mask_permittivity]
    for layer in range(1, layers - 1):
        planes.append(stackup.height(layer + 1))
        materials.append(stackup.permittivity[layer - 1])
    bottom = -stackup.thickness if single else -stackup.thickness + stackup.copper[-1]
    planes.append(bottom)
    materials.append(stackup.permittivity[-1])
    if not single:
        planes.append(-stackup.thickness - stackup.mask_thickness)
        materials.append(stackup.mask_permittivity)
    return planes[::-1], materials[::-1]
