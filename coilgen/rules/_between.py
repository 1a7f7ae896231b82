"""Gaps between copper of two nets: told once for each two nets, at the worst place."""

from collections.abc import Iterable, Iterator

import numpy as np

from coilgen.artwork.art import NO_NET
from coilgen.artwork.copper_pieces import Copper
from coilgen.geometry.clearance import Gaps
from coilgen.geometry.distance import Index, Mask
from coilgen.layout.coil import NET


def between_nets(board: Copper, near: Gaps) -> Mask:
    """Which gaps are between copper of two nets, (n,)."""
    differ: Mask = board.net[near.first] != board.net[near.second]
    return differ


def by_nets(board: Copper, near: Gaps) -> Iterator[tuple[tuple[str, str], Gaps]]:
    """Two nets at a time with the gaps between them, the worst first."""
    first, second = board.net[near.first], board.net[near.second]
    low, high = np.minimum(first, second), np.maximum(first, second)
    for one, other in sorted(set(zip(low.tolist(), high.tolist(), strict=True))):
        here = near.where((low == one) & (high == other))
        yield (board.nets[one], board.nets[other]), here.where(np.argsort(here.value, kind="stable"))


def named(nets: Iterable[str]) -> str:
    """Two nets in words.

    >>> named(("drive", "sense")), named(("", "sense"))
    ('Windings drive and sense', 'Winding sense and the ring of a hole')
    """
    names = [net for net in nets if net != NO_NET]
    if len(names) == 2:
        return f"Windings {names[0]} and {names[1]}"
    if not names:
        return "Rings of two holes"
    return f"{'The coil' if names[0] == NET else f'Winding {names[0]}'} and the ring of a hole"


def one_layer(layers: Index) -> int | None:
    """The layer of all places, (n,); None where they lie on several."""
    return int(layers[0]) if (layers == layers[0]).all() else None


def where_told(layers: Index) -> str:
    """How many places a finding stands for, and on which layers, (n,).

    >>> where_told(np.array([1, 2, 1])), where_told(np.array([2]))
    (' The worst of 3 places, on copper layers 1 and 2.', '')
    """
    if len(layers) < 2:
        return ""
    listed = [str(layer) for layer in sorted(set(layers.tolist()))]
    told = f"layers {', '.join(listed[:-1])} and {listed[-1]}" if len(listed) > 1 else f"layer {listed[0]}"
    return f" The worst of {len(layers)} places, on copper {told}."
