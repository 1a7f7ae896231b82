"""Designs alike but for numbers: these as columns, scaled so that distances mean the same in each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from coilgen.errors import DesignError
from coilgen.frozen import dataclass
from coilgen.physics.inductance.ring_tables import RingWindings, RoundMagnets
from coilgen.study.screen.told import Reader, Told, left_to_exact

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.study.screen.bodies import BesideBodies

Array = np.ndarray[Any, np.dtype[np.float64]]
Index = np.ndarray[Any, np.dtype[np.intp]]
COPPER = ("winding", "rules", "pocket", "hole", "via", "terminals", "board.stackup", "tolerance")
"""What copper depends on; the board's outline changes no figure of it."""
_SIZES = (
    "first", "pitch", "width", "thickness", "turns", "opening", "spacing", "volts", "amperes", "ambient",
    "least_width", "least_spacing", "radius", "hole", "bottom", "top", "remanence",
)  # fmt: skip
"""Plain numbers of each design that closed forms start from, SI; 0 where it has none."""


_BODIES = ("core", "target", "magnet", "board.stackup")
"""Tables that tell where magnetic bodies and copper stand."""
_BLOCK = 1000
"""Designs whose numbers are packed at once."""
_SAME = 1e-12
"""Of a number: what differs by less is one."""


@dataclass(frozen=True, kw_only=True)
class Family:
    """Designs whose words agree. rows: their places among all, (n,). names: of the numbers that differ.

    numbers: (n, k). sizes: by name, (n,). heights: of the wound layers, m. magnet, core, target: whether they
    have one; cores, target and what stands beside them are then the same in all, and `beside` tells what they
    do once it was computed.
    """

    rows: Index
    names: tuple[str, ...]
    numbers: Array
    sizes: dict[str, Array]
    heights: tuple[float, ...]
    magnet: bool
    core: bool = False
    target: bool = False
    beside: BesideBodies | None = None

    def __len__(self) -> int:
        return len(self.rows)

    @cached_property
    def features(self) -> Array:
        """Numbers from 0 to 1, by their logarithm where all are positive, (n, k)."""
        columns = [_scaled(self.numbers[:, k]) for k in range(len(self.names))]
        return np.stack(columns, axis=1) if columns else np.zeros((len(self), 0))

    def features_of(self, *tables: str, but: Sequence[str] = ()) -> Array:
        """Columns of some tables."""
        places = [
            k
            for k, name in enumerate(self.names)
            if name.startswith(tables) and not any(name.startswith(each) for each in but)
        ]
        return self.features[:, places]

    @property
    def bodies(self) -> bool:
        """Whether there are cores or a target."""
        return self.core or self.target

    @property
    def windings(self) -> RingWindings:
        """As rings."""
        return RingWindings(
            **{name: self.sizes[name] for name in ("first", "pitch", "width", "thickness", "turns")}
        )

    @property
    def magnets(self) -> RoundMagnets:
        """As round ones of the same area."""
        return RoundMagnets(
            **{name: self.sizes[name] for name in ("radius", "hole", "bottom", "top", "remanence")}
        )

    def spread(self, count: int, among: Index) -> Index:
        """Places far from one another, all over the space, corners first; of those among which to choose."""
        features = self.features[among]
        if len(among) <= count:
            return among
        chosen = [int(np.argmax(np.square(features - features.mean(axis=0)).sum(axis=1)))]
        far = np.square(features - features[chosen[0]]).sum(axis=1)
        while len(chosen) < count and far.max() > 0:
            chosen.append(int(np.argmax(far)))
            far = np.minimum(far, np.square(features - features[chosen[-1]]).sum(axis=1))
        told: Index = among[np.array(chosen)]
        return told


def _scaled(column: Array) -> Array:
    told = np.log(column) if column.min() > 0 else column
    low, high = float(told.min()), float(told.max())
    scaled: Array = (told - low) / (high - low)
    return scaled


@dataclass(frozen=True, kw_only=True)
class Gathered:
    """Designs read once: families of those the screen covers, faults of what cannot be built, by place."""

    families: tuple[Family, ...]
    faults: dict[int, DesignError]
    left: dict[int, str]


def gathered(designs: Sequence[Design]) -> Gathered:
    """All designs, taken one by one; taking one may raise the DesignError that it cannot be built with."""
    reader, faults, left = Reader(), dict[int, DesignError](), dict[int, str]()
    sizes = _Sizes()
    found: dict[object, _Members] = {}
    for row, design in _taken(designs, faults):
        reason = left_to_exact(design)
        if reason is not None:
            left[row] = reason
            continue
        told, heights = reader.of(design), _heights(design)
        key = told.words, tuple(told.numbers), heights, _fixed(design, told)
        if key not in found:
            found[key] = _Members(design, told.numbers, heights)
        found[key].add(row, told.numbers, sizes.of(design))
    families = tuple(each.family() for each in found.values())
    return Gathered(families=families, faults=faults, left=left)


def _taken(designs: Sequence[Design], faults: dict[int, DesignError]) -> Iterator[tuple[int, Design]]:
    for row in range(len(designs)):
        try:
            yield row, designs[row]
        except DesignError as error:
            faults[row] = error


class _Members:
    """Numbers of the designs of a family, kept where they differ from the first one's."""

    def __init__(self, design: Design, first: Mapping[str, float], heights: tuple[float, ...]) -> None:
        self._names, self._first = tuple(first), np.array([*first.values()])
        self._heights, self._design = heights, design
        self._rows: list[int] = []
        self._numbers: list[tuple[float, ...]] = []
        self._sizes: list[Array] = []
        self._differ: list[dict[int, Array]] = []

    def add(self, row: int, numbers: Mapping[str, float], sizes: tuple[float, ...]) -> None:
        """One more."""
        self._rows.append(row)
        self._numbers.append((*numbers.values(), *sizes))
        if len(self._numbers) == _BLOCK:
            self._pack()

    def _pack(self) -> None:
        block = np.array(self._numbers).reshape(len(self._numbers), -1)
        count = len(self._first)
        differ = np.flatnonzero(np.any(block[:, :count] != self._first, axis=0))
        self._differ.append({int(k): block[:, k].copy() for k in differ} | {-1: np.zeros(len(block))})
        self._sizes.append(block[:, count:].copy())
        self._numbers.clear()

    def family(self) -> Family:
        """All of them."""
        if self._numbers:
            self._pack()
        places = sorted({k for block in self._differ for k in block} - {-1})
        columns = [
            np.concatenate([block.get(k, self._first[k] + block[-1]) for block in self._differ])
            for k in places
        ]
        kept = [k for k, each in enumerate(columns) if np.ptp(each) > _SAME * np.abs(each).max()]
        sizes = np.concatenate(self._sizes)
        return Family(
            rows=np.array(self._rows),
            names=tuple(self._names[places[k]] for k in kept),
            numbers=np.array([columns[k] for k in kept]).reshape(len(kept), len(sizes)).T,
            sizes={name: sizes[:, k] for k, name in enumerate(_SIZES)},
            heights=self._heights,
            magnet=self._design.magnet is not None,
            core=bool(self._design.core),
            target=self._design.target is not None,
        )


def _fixed(design: Design, told: Told) -> tuple[float, ...]:
    """Numbers that tell magnetic bodies apart where they stand; none of designs without cores and target."""
    if not design.core and design.target is None:
        return ()
    return tuple(value for key, value in told.numbers.items() if key.startswith(_BODIES))


def _heights(design: Design) -> tuple[float, ...]:
    return tuple(design.board.stackup.height(layer) for layer in range(1, design.winding.layers + 1))


class _Sizes:
    """Sizes of designs one after another; a magnet that two have in common stands where it stood."""

    def __init__(self) -> None:
        self._stood: tuple[object, object] = (None, None)
        self._magnet: tuple[float, ...] = ()

    def of(self, design: Design) -> tuple[float, ...]:
        """In the order of _SIZES."""
        stands = design.magnet, design.board.stackup
        if not self._magnet or stands != self._stood:
            self._stood, self._magnet = stands, magnet_sizes(design)
        return (*_of_winding(design), *self._magnet)


def _of_winding(design: Design) -> tuple[float, ...]:
    winding, drive, rules = design.winding, design.drive, design.rules
    width, pitch = winding.trace_width, winding.trace_width + winding.trace_spacing
    return (
        sum(winding.outer) / 4 - width / 2,
        pitch,
        width,
        design.board.stackup.copper[0],
        winding.turns,
        winding.opening,
        winding.trace_spacing,
        drive.voltage or 0.0,
        drive.current or 0.0,
        drive.ambient,
        rules.trace_width,
        rules.trace_spacing,
    )


def magnet_sizes(design: Design) -> tuple[float, ...]:
    """Radius, hole, ends along z, m, and remanence, T, of a round magnet as strong; zeros without one."""
    magnet = design.magnet
    if magnet is None:
        return (0.0,) * 5
    standing = design.stand.of(magnet)
    area = magnet.size[0] * magnet.size[1] / (np.pi if magnet.form == "block" else 4.0)
    pole = 1.0 if magnet.pole == "up" else -1.0
    ends = standing.bottom, standing.top
    return (float(np.sqrt(area)), magnet.hole / 2, *ends, pole * magnet.remanences[1])
