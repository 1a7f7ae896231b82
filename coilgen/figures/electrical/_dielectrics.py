"""The dielectrics about a winding, and how its layers lie over one another round the coil."""

import numpy as np

from coilgen.design.stackup import Stackup
from coilgen.result.figure import Case

THIN = 0.3
"""Layers nearer to each other than this share of the pitch are taken in several sections round the coil."""
SECTIONS = 3


def slides(case: Case) -> bool:
    """Whether round layers that wind inward and outward lie so near that each angle is another section."""
    asked, stackup = case.design.winding, case.design.board.stackup
    heights = np.array([stackup.height(layer) for layer in case.wound])
    pitch = asked.trace_width + asked.trace_spacing
    return (
        asked.shape == "round" and len(heights) > 1 and float(np.abs(np.diff(heights)).min()) <= THIN * pitch
    )


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
