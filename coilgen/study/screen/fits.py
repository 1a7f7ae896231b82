"""Which designs of a family fit: room inside for layer changes and pocket, and rules of the shop."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from coilgen.frozen import dataclass
from coilgen.rules._places import TOLERANCE
from coilgen.study.margins import least_inner_size
from coilgen.study.screen.estimates import evaluated
from coilgen.study.screen.family import COPPER, Array, Family, Index
from coilgen.study.search.surface import surface

if TYPE_CHECKING:
    from coilgen.study.screen.anchors import Anchors

Mask = np.ndarray[tuple[int], np.dtype[np.bool_]]
_PROBES = 24
"""Designs whose room is looked at first."""
_TO_LEARN, _TO_TRY = 20, 10
"""Designs whose least inner size is learned from, and those that tell its error, where some have no room."""
_SURE = 2.0
"""Errors off a limit from which on an estimate decides."""
_MICROMETRE = 1e-6
_REACH = {"trace_spacing": 2e-4}
_FAR = 2e-3
"""m within which a margin is told: of gaps between turns, of others."""
_SCALAR = {"trace_width": ("width", "least_width"), "trace_spacing": ("spacing", "least_spacing")}
"""Rules that a number of the winding alone breaks as a rule, with the limit it is held against."""


class LeftError(Exception):
    """Why a family is left to exact runs."""


def room(family: Family, anchors: Anchors, source: np.random.Generator) -> Mask:
    """Whether each design has room, (n,): exact where a few look the same or an estimate is not sure."""
    every = np.arange(len(family))
    probes = {*family.spread(_PROBES, every).tolist(), *source.choice(every, _PROBES, replace=False).tolist()}
    found = {place: anchors.has_room(int(family.rows[place])) for place in sorted(probes)}
    if len({*found.values()}) == 1:
        return np.full(len(family), next(iter(found.values())))
    spare, error = _spare(family, anchors, source)
    fitting = spare > 0
    for place in np.flatnonzero(np.abs(spare) <= _SURE * error + _MICROMETRE):
        fitting[place] = anchors.has_room(int(family.rows[place]))
    return fitting


def _spare(family: Family, anchors: Anchors, source: np.random.Generator) -> tuple[Array, float]:
    """What each opening has more than it needs, m, (n,), estimated; and the largest error that was met."""
    features = family.features_of(*COPPER, but=("winding.outer_size",))
    learn = family.spread(_TO_LEARN, np.arange(len(family)))
    tried = source.choice(np.setdiff1d(np.arange(len(family)), learn), _TO_TRY, replace=False)
    both = np.concatenate([learn, tried])
    least = np.array([least_inner_size(anchors.designs[int(family.rows[place])]) for place in both])
    if not np.all(np.isfinite(least)):
        raise LeftError("some have no room at any size")
    before = _plain(features, learn, least[: len(learn)])[tried]
    error = float(np.abs(before - least[len(learn) :]).max())
    return family.sizes["opening"] - _plain(features, both, least), error


def _plain(features: Array, rows: Index, values: Array) -> Array:
    places, same = np.unique(features[rows], axis=0, return_inverse=True)
    mean = np.bincount(same.ravel(), values) / np.bincount(same.ravel())
    if len(places) == 1 or float(np.ptp(mean)) == 0.0:
        return np.full(len(features), mean[0])
    return evaluated(surface(places, mean, plain=True), features)


@dataclass(frozen=True, kw_only=True)
class Ruled:
    """Whether each design breaks a rule, and whether that is sure enough to tell, (n,)."""

    broken: Mask
    sure: Mask


def ruled(family: Family, anchors: Anchors, rows: Sequence[int], tried: Sequence[int]) -> Ruled:
    """By the findings of exact runs at places, some of which were tried after the others."""
    places = np.array([*rows, *tried])
    broken, sure = np.zeros(len(family), bool), np.ones(len(family), bool)
    for rule in anchors.run(int(family.rows[places[0]])).broken:
        found = np.array([anchors.run(int(family.rows[place])).broken[rule] > 0 for place in places])
        if not found.any():
            continue
        own, certain = _of_rule(family, anchors, rule, places, found, len(rows))
        broken |= own & certain
        sure &= certain
    return Ruled(broken=broken, sure=sure | broken)


def _of_rule(
    family: Family, anchors: Anchors, rule: str, places: Index, found: Mask, learned: int
) -> tuple[Mask, Mask]:
    """Which break one that some break, and where that is sure."""
    every = np.ones(len(family), bool)
    if found.all():
        return every, every
    if rule in _SCALAR:
        number, limit = (family.sizes[name] for name in _SCALAR[rule])
        told = number < limit - TOLERANCE
        if np.array_equal(told[places], found):
            return told, every
    margin, error = _margins(family, anchors, rule, places, learned)
    return margin < 0, np.abs(margin) > _SURE * error + TOLERANCE


def _margins(family: Family, anchors: Anchors, rule: str, places: Index, learned: int) -> tuple[Array, float]:
    """How far each design is within a rule's limit, m, estimated, and the largest error that was met."""
    reach = _REACH.get(rule, _FAR)
    met = [anchors.margin(int(family.rows[place]), rule, reach) for place in places]
    if any(each is None for each in met):
        raise LeftError(f"{rule} holds for some only, and its limit is not one number")
    values = np.array(met, float)
    features = family.features_of(*COPPER, "board")
    before = _plain(features, places[:learned], values[:learned])[places[learned:]]
    off = np.abs(before - values[learned:])[values[learned:] < reach]
    return _plain(features, places, values), float(off.max(initial=0.0))
