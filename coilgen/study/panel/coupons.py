"""Test coupons on the frame, which tell what was made: copper, barrels, dielectric."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import field

from coilgen.artwork.art import Art, Hole, Opening, Pad, Stroke
from coilgen.artwork.legend import LINE_WIDTH
from coilgen.design.design import Design
from coilgen.frozen import dataclass
from coilgen.geometry.lettering import lettering
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.layout.coil import Terminal, Trace, Via
from coilgen.result.spread import Spread, carried

PAD = 1.5e-3
"""Of test pads, for two probes or a clip; common practice, no source."""
HOLE_PAD, DRILL = 1.8e-3, 1.0e-3
"""Of test pads through the board; common practice, no source."""
PITCH = 2.5e-3
"""Between test pads side by side; common practice, no source."""
CLEAR = 0.3e-3
"""Of copper that is not joined, at least; the shop's spacing where that is more."""
LETTERS = 1.0e-3


@dataclass(frozen=True, kw_only=True)
class Expected:
    """What a coupon should read. what: in words; figure: the sort of reading; unit: of its value.

    formula: of its parts, in their order, each with how it is asked and what its tolerance makes of it.
    """

    what: str
    figure: str
    unit: str
    formula: Callable[..., float]
    parts: Mapping[str, Spread]

    @property
    def spread(self) -> Spread:
        """As asked."""
        return self.made({})

    def made(self, parts: Mapping[str, float]) -> Spread:
        """With some parts made just so; the others leave their spread."""
        given = (Spread(parts[name]) if name in parts else part for name, part in self.parts.items())
        return carried(self.formula, *given)


@dataclass(frozen=True, kw_only=True)
class Coupon:
    """One coupon about the lower left corner of its box, m.

    label: printed, and the reference of its pads. says: what it tells. expects: what is measured on it.
    measures: lengths of it by name, m, that its evaluation needs.
    """

    label: str
    says: str
    size: Point
    art: Art
    vias: tuple[Via, ...]
    terminals: tuple[Terminal, ...]
    expects: Expected
    measures: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Shop:
    """What coupons are drawn by: a design whose stack-up and tolerances are all boards', strictest limits.

    narrow: the narrowest trace of the boards, m. limit: by name, the strictest of all boards.
    """

    design: Design
    narrow: float
    limits: Mapping[str, float]

    @property
    def clear(self) -> float:
        """Between pieces of copper, m."""
        return max(CLEAR, self.limits["trace_spacing"])

    @property
    def opening(self) -> float:
        """By which an opening of the mask is wider than its pad, m; negative where coverlay holds it."""
        hold = self.limits["coverlay_hold"]
        return -2 * hold if hold else 2 * self.limits["mask_opening"]


def shop_of(designs: Sequence[Design], narrow: float) -> Shop:
    """What the coupons of some designs' panel are drawn by."""
    names = designs[0].rules.limits
    return Shop(
        design=designs[0],
        narrow=narrow,
        limits={name: max(design.rules.limit(name) for design in designs) for name in names},
    )


def pad_of(layer: int) -> tuple[float, float]:
    """Diameter and drill of a strip's test pads, m: inner layers are reached by plated holes."""
    return (PAD, 0.0) if layer == 1 else (HOLE_PAD, DRILL)


def four_wires(
    net: str, start: Point, end: Point, width: float, layer: int = 1
) -> tuple[tuple[Terminal, ...], tuple[Trace, ...]]:
    """Current and sense pads at both ends: 1 and 4 for the current, 2 and 3 for the voltage.

    Sense pads stand at the ends, those of the current beside them, towards the middle.
    """
    pad, drill = pad_of(layer)
    places = (start + PITCH, start, end, end - PITCH)
    terminals = tuple(
        Terminal(number=number, at=at, pad=pad, drill=drill, layer=1, net=net)
        for number, at in enumerate(places, start=1)
    )
    leads = tuple(
        Trace(layer=layer, path=Path((Line(one, other),)), width=width, net=net)
        for one, other in ((places[0], places[1]), (places[2], places[3]))
    )
    return terminals, leads


def art_of(
    shop: Shop,
    traces: Sequence[Trace],
    vias: Sequence[Via],
    terminals: Sequence[Terminal],
    plates: Sequence[Pad],
    print_: Sequence[Stroke],
) -> Art:
    """A coupon's art: pads of vias and drilled terminals on every layer, openings over terminals."""
    stackup = shop.design.board.stackup
    layers = range(1, stackup.layers + 1)
    return Art(
        copper_layers=stackup.layers,
        traces=tuple(traces),
        pads=(*_pads(vias, terminals, layers), *plates),
        holes=(
            *(Hole(at=via.at, diameter=via.drill, plated=True, terminal=None, net=via.net) for via in vias),
            *(
                Hole(at=each.at, diameter=each.drill, plated=True, terminal=each.number, net=each.net)
                for each in terminals
                if each.drill
            ),
        ),
        openings=tuple(_openings(shop, terminals)),
        legend=tuple(print_),
        outline=None,
        pockets=(),
    )


def _pads(vias: Sequence[Via], terminals: Sequence[Terminal], layers: range) -> Iterator[Pad]:
    for via in vias:
        for layer in layers:
            yield Pad(layer=layer, at=via.at, diameter=via.pad, terminal=None, net=via.net)
    for each in terminals:
        for layer in layers if each.drill else (each.layer,):
            yield Pad(
                layer=layer, at=each.at, diameter=each.pad, terminal=each.number, net=each.net, use="test"
            )


def _openings(shop: Shop, terminals: Sequence[Terminal]) -> Iterator[Opening]:
    for each in terminals:
        for side in shop.design.board.stackup.masked_faces if each.drill else ("top",):
            yield Opening(side=side, at=each.at, diameter=each.pad + shop.opening)


def printed(text: str, at: Point) -> tuple[Stroke, ...]:
    """A text with its middle at a place."""
    return tuple(Stroke(path=path, width=LINE_WIDTH) for path in lettering(text, LETTERS, at))
