"""Cores in the pockets of an array's coils as a mover passes them: flux, cogging and pull that they add."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.core._magnetics import core_curves, placed, solvable
from coilgen.figures.mover._magnets import magnets, mover_of, plate_faces
from coilgen.figures.mover._setting import Setting
from coilgen.figures.several._linkage import path_of
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.core.body import Body
    from coilgen.physics.core.magnetisation_curve import Curve
    from coilgen.physics.field.filaments import Filaments
    from coilgen.physics.mover.cored import Passed
    from coilgen.physics.mover.images import Image
    from coilgen.physics.mover.pocket import Pocket
    from coilgen.physics.mover.pockets import Pockets
    from coilgen.physics.mover.stator_cores import Stator
    from coilgen.physics.mover.waves import Waves

CELLS, ACROSS = 240, 8
"""Cells of a pocket's cores, most, and across the narrowest of them, most: three unknowns a cell."""
_STATES = 24
"""Of a ring's pocket over half a period, least."""
_PITCHES = 3.0
"""Pole pitches beyond plates after which images of alternating poles have died away to a ten-thousandth."""
_STEPS, _MARGIN = (12, 40), 3
"""Places of a row to a pole pitch, least and most, and beyond both ends of the period."""
_FAR_CHORDS = 2e-4
"""m, largest distance between an arc and its chord, of coils seen from other pockets and of images."""
_LIFT = 0.05
"""Of the gap: how far the mover is moved to either side to find its pull."""


def has_cores(case: Case) -> bool:
    """Whether there are cores in the coils."""
    return any(core.place == "pocket" for core in case.design.core)


def cores(case: Case, setting: Setting) -> "Passed":
    """The first coil's cores as the mover passes."""
    return case.once(f"cores that a mover passes {setting}", lambda: _passed(case, setting))


def _passed(case: Case, setting: Setting) -> "Passed":
    from coilgen.physics.mover.cored import passed

    with solvable("core"):
        return passed(_stator(case, setting), pockets(case), _waves(case, setting))


def _own(case: Case) -> "Iterator[tuple[Body, Curve]]":
    """Bodies of the first coil's pocket with their curves: of a ring where they stand, of a row about 0."""
    first, row = case.design.windings[0].centre, mover_of(case).arrangement == "row"
    every = zip(case.design.stand.bodies, placed(case).cores, core_curves(case), strict=True)
    for stood, body, curve in every:
        if stood.core.place == "pocket" and abs(stood.centre - first) < 1e-9:
            yield replace(body, centre=(0.0, 0.0)) if row else body, curve


def _pocket(case: Case, setting: Setting) -> "Pocket":
    """On its grid, which hangs on nothing but the cells; with the setting's material."""
    kept = case.once(f"pocket {setting.rough}", lambda: _on_cells(case, setting.rough))
    return replace(kept, cells=kept.cells.made_of(setting.permeability, setting.saturation))


def _on_cells(case: Case, rough: bool) -> "Pocket":
    from coilgen.physics.mover.pocket import pocket

    bodies, curves = zip(*_own(case), strict=True)
    return pocket(bodies, curves, (2.0 if rough else 1.0) * case.coarser * _cell(bodies))


def _cell(bodies: "tuple[Body, ...]") -> float:
    """Width of the finer grid's cells, m."""
    from coilgen.physics.core.brick_grid import layer_counts

    def cells(width: float) -> float:
        return sum(body.area / width**2 * layer_counts((body,), width)[0][2] for body in bodies)

    width = min(min(*body.size, (body.size[0] - body.hole) / 2) for body in bodies) / ACROSS
    while cells(width) > CELLS:
        width *= 1.05
    return width


def pockets(case: Case) -> "Pockets":
    """How the coils' pockets lie to each other, and at which places the mover is looked at."""
    return case.once("pockets under a mover", lambda: _pockets(case))


def _pockets(case: Case) -> "Pockets":
    from coilgen.physics.mover.pockets import in_row, on_ring

    mover, count = mover_of(case), len(case.design.windings)
    if mover.arrangement == "ring":
        return on_ring(count, mover.poles, _STATES)
    centres = [each.centre.real for each in case.design.windings]
    pitch = (centres[-1] - centres[0]) / (count - 1) if count > 1 else mover.mean_pitch
    return in_row(count, pitch, mover.poles, row_places(case))


def row_places(case: Case) -> Floats:
    """Of a row's middle, m, over a period and a little beyond both its ends, alike on both sides."""
    mover = mover_of(case)
    assert mover.pitch is not None
    least, most = _STEPS
    steps = int(np.clip(np.ceil(mover.pitch / (0.7 * mover.gap)), least, most))
    return np.asarray(mover.pitch / steps * np.arange(-steps - _MARGIN, steps + _MARGIN + 1.0))


def _images(case: Case, setting: Setting, only: str | None = None) -> "tuple[Image, ...]":
    from coilgen.physics.mover.images import images

    if not setting.plates:
        return ()
    faces = plate_faces(case, setting.lifted, only)
    return images(*faces, _PITCHES * mover_of(case).mean_pitch)


def _stator(case: Case, setting: Setting, only: str | None = None) -> "Stator":
    from coilgen.physics.mover.cored import stator

    mirrored = _images(case, setting, only)
    key = f"potentials of pockets {setting.rough} {mirrored}"
    kept = case.once(key, lambda: stator(_pocket(case, setting), pockets(case), mirrored))
    return replace(kept, pocket=_pocket(case, setting))


def _waves(case: Case, setting: Setting, only: str | None = None) -> "Waves":
    unit = replace(setting, strength=1.0, permeability=1.0, saturation=1.0)
    found = case.once(f"waves over a pocket {unit} {only}", lambda: _unit_waves(case, unit, only))
    return replace(found, potentials=setting.strength * found.potentials)


def _unit_waves(case: Case, setting: Setting, only: str | None) -> "Waves":
    from coilgen.physics.mover.waves import ring_waves, row_waves

    mover, carriers = mover_of(case), _pocket(case, setting).carriers
    row = mover.arrangement == "row"
    found = magnets(case, setting, alone=row, only=only, pitches=_PITCHES)
    if not row:
        return ring_waves(carriers, found, mover.poles)
    farthest = float(np.abs(pockets(case).places).max())
    return row_waves(carriers, found, mover.poles, mover.mean_pitch, farthest)


def linkage(case: Case, setting: Setting) -> Floats:
    """Wb that the cores add to coil 1 of a ring, or to each of a row, in all states, (f,)."""
    from coilgen.physics.field.filaments import together

    near, far = (_first_path(case, chords) for chords in (None, _FAR_CHORDS))
    mirrored = [image.of_path(far) for image in _images(case, setting)]
    return cores(case, setting).linkage(together([near, *mirrored]), together([far, *mirrored]))


def _first_path(case: Case, chords: float | None) -> "Filaments":
    """Coil 1: of a ring where it stands, of a row about the origin."""
    from coilgen.physics.field.filaments import lifted

    path, at = path_of(case, case.windings[0], chords), case.design.windings[0].centre
    row = mover_of(case).arrangement == "row"
    return lifted(path, np.array([-at.real, -at.imag, 0.0])) if row else path


def pull(case: Case, setting: Setting) -> float:
    """Force, N, that draws mover and cores together, a mean over its places; on a half above the board."""
    from coilgen.physics.mover.cored import pull as pulled

    mover = mover_of(case)
    step = _LIFT * mover.gap
    only = "top" if mover.place == "both" else None
    ends = [replace(setting, lifted=setting.lifted + move) for move in (-step, step)]
    near, far = ((_stator(case, end, only), _waves(case, end, only)) for end in ends)
    each = pulled(cores(case, setting), near, far, 2.0 * step)
    return float(each.mean() * len(case.design.windings))


def flux_density(case: Case, setting: Setting) -> tuple[float, float]:
    """Mean in a coil's cores, T, and the saturated share of them, both at the worst place of the mover."""
    found = cores(case, setting)
    field, saturated = found.flux_densities()
    volume = found.stator.pocket.cells.volume
    share = volume / volume.sum()
    return float((share @ field).max()), float((share @ saturated).max())
