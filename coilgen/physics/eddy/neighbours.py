"""Who stands beside whom at each station along the turns, and what field of them rings do not tell."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.eddy.sides import rings_field, sides_field
from coilgen.physics.eddy.turns import Turns, is_round, sides_beside_turns

_SAME_SHIFT = 0.1
"""Of the narrowest width: shifts nearer than this count as equal."""
_FAR_LAYERS = 0.35
"""Of the distance between layers: shifts nearer than this count as equal; costs under 1 % of the rise."""


def alike(winding: Turns) -> list[list[int]]:
    """Stations that the same turns reach, by equal relative shifts, of which opposite ones are equal too.

    Left out are those that no turn reaches.
    """
    relative = _relative_shifts(winding)
    reached = np.isfinite(relative)
    relative = np.where(reached, relative, 0.0)
    groups: list[list[int]] = []
    levels = np.unique(np.round(winding.z, 9))
    nearest = float(np.diff(levels).min()) if len(levels) > 1 else 0.0
    same = max(_SAME_SHIFT * float(winding.width.min()), _FAR_LAYERS * nearest)
    for station in np.flatnonzero(reached.any(axis=1)).tolist():
        shift = relative[station]
        for group in groups:
            known = relative[group[0]]
            off = min(np.abs(shift - known).max(), np.abs(shift + known).max())
            if off <= same and np.array_equal(reached[station], reached[group[0]]):
                group.append(station)
                break
        else:
            groups.append([station])
    return groups


def local_turns(winding: Turns, places: list[int]) -> tuple[Turns, NDArray[np.bool_]]:
    """The turns that reach these stations, at the distances they have there, and which (turns,) they are."""
    relative = _relative_shifts(winding)[places[0]]
    there = np.isfinite(relative)
    local = Turns(
        radius=_moved_radii(winding, relative)[there],
        length=winding.length[there],
        fraction=winding.fraction[there],
        z=winding.z[there],
        width=winding.width[there],
        thickness=winding.thickness[there],
        piece=winding.piece[there],
        points=winding.points[places][:, there],
        share=winding.share[places],
        shift=winding.shift[places][:, there],
    )
    return local, there


def excess_field(conductor: Conductor, winding: Turns, carried: Floats) -> Floats:
    """Field (ports, stations, turns) T/A of the sides less that of rings at the distances they have there.

    Full turns of a round winding are rings, everywhere beside one another: its leads and parts of turns alone
    are told.
    """
    told = np.full(len(winding.radius), not is_round(conductor)) | np.isnan(winding.shift).any(axis=0)
    relative = _relative_shifts(winding)
    kinds, which = np.unique(np.nan_to_num(relative, nan=np.inf), axis=0, return_inverse=True)
    amperes = np.where(told, carried[:, winding.piece], 0.0)
    rings = [rings_field(_at(winding, kind), amperes) for kind in kinds]
    beside = sides_beside_turns(conductor, ~told)
    field = sides_field(beside, winding.points, winding.z, winding.width, carried)
    return np.asarray(field.transpose(0, 2, 1) - np.stack(rings, axis=1)[:, which.ravel()])


def _at(winding: Turns, relative: Floats) -> Turns:
    """The turns moved outward; no current in those that are nowhere there."""
    there = np.isfinite(relative)
    return replace(
        winding,
        radius=_moved_radii(winding, relative),
        fraction=np.where(there, winding.fraction, 0.0),
    )


def _moved_radii(winding: Turns, relative: Floats) -> Floats:
    """Of turns moved outward, where they are, (turns,) m.

    Where that takes one nearer to the axis than its copper is wide, all there go outward by what is missing:
    at a polygon's chamfers turns stand further apart than their mean radii have room for. Distances tell
    the field of one on another; what other rings they are is made up by the excess field.
    """
    there = np.isfinite(relative)
    moved = winding.radius + np.where(there, relative, 0.0)
    missing = float((winding.width - moved)[there].max(initial=0.0))
    return np.where(there, moved + missing, winding.radius)


def _relative_shifts(winding: Turns) -> Floats:
    """Shifts (stations, turns) m less their mean over the turns that reach the station; nan of others."""
    reached = np.isfinite(winding.shift)
    mean = np.where(reached, winding.shift, 0.0).sum(axis=1) / np.maximum(reached.sum(axis=1), 1)
    return np.asarray(winding.shift - mean[:, None])
