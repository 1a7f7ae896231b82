"""Coupons of copper: two long meanders of different width, and a chain of vias, each with four wires."""

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np

from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point
from coilgen.layout.coil import Coil, Trace, Via, conductor
from coilgen.physics.base.conductor import Conductor
from coilgen.physics.circuit.resistance import barrel_resistance, path_squares
from coilgen.result.spread import factor, told
from coilgen.study.panel.coupons import PAD, Coupon, Expected, Shop, art_of, four_wires, pad_of, printed

WIDEST = 22e-3
"""Of a coupon, m: boards between two scores are seldom narrower."""
SQUARES = (1600.0, 250.0)
"""Of the narrow and of the wide meander: some 0.8 and 0.12 ohm in copper of 35 um."""
WIDER = 4.0
LEAST_WIDE = 0.8e-3
PAD_SQUARES = (0.0, 0.5)
"""From a sense pad's edge into it, for both ends of a meander together, judged."""
LINK_SQUARES = 0.15
"""By which the current's way round holes is in doubt for a link between two vias, judged."""
READ = "resistance between 2 and 3, 20 degC"
CHAIN = (12, 8)
"""Columns and rows of the via chain."""


LABELS = {1: ("T1", "T2"), 2: ("T5", "T6")}
"""Of the narrow and the wide one on a layer."""


def meanders(shop: Shop, layer: int) -> tuple[Coupon, Coupon]:
    """The narrow one, of the boards' narrowest trace, and the wide one, on layer 1 or 2."""
    wide = max(WIDER * shop.narrow, LEAST_WIDE)
    return _meander(shop, layer, shop.narrow, SQUARES[0]), _meander(shop, layer, wide, SQUARES[1])


def _meander(shop: Shop, layer: int, width: float, squares: float) -> Coupon:
    own, other = LABELS[layer] if squares == SQUARES[0] else LABELS[layer][::-1]
    pad, _ = pad_of(layer)
    pitch = width + max(shop.limits["trace_spacing"], 0.2e-3)
    aside = max(pad, width) / 2
    legs = 2 * int((WIDEST - 2 * aside) / pitch / 2)
    height = squares * width / legs
    low = pad + shop.clear + (pitch + width) / 2
    path = Path(tuple(_legs(complex(aside, pad / 2), pitch, legs, low, _whole(low + height))))
    terminals, (first, last) = four_wires(own, path.start, path.end, max(width, PAD / 3), layer)
    traces = (first, Trace(layer=layer, path=path, width=width, net=own), last)
    size = complex(path.end.real + aside, _whole(low + height) + (pitch + width) / 2)
    strip = _strip(shop, traces[1])
    count = float(np.sum(path_squares(strip))) - pad / width + sum(PAD_SQUARES) / 2
    return Coupon(
        label=own,
        says=f"copper thickness and etch undercut of layer {layer}, with {other}",
        size=size,
        art=art_of(shop, traces, (), terminals, (), printed(own, complex(size.real / 2, pad / 2))),
        vias=(),
        terminals=terminals,
        expects=_resistance(shop, strip, layer),
        measures={"width": width, "effective_length": count * width},
    )


def _legs(start: Point, pitch: float, legs: int, low: float, high: float) -> Iterator[Segment]:
    """Up, over, down, under, … and down to the level of the start; an even number of legs."""
    for number in range(legs):
        x = start.real + number * pitch
        upward = number % 2 == 0
        begin = start.imag if number == 0 else (low if upward else high)
        end = high if upward else (start.imag if number == legs - 1 else low)
        yield Line(complex(x, begin), complex(x, end))
        if number < legs - 1:
            centre = complex(x + pitch / 2, high if upward else low)
            yield Arc(centre, pitch / 2, math.pi, -math.pi if upward else math.pi)


def _strip(shop: Shop, trace: Trace) -> Conductor:
    """Between a meander's sense pads, from middle to middle."""
    coil = Coil(traces=(trace,), vias=(), terminals=(), pockets=(), turns=1.0)
    return conductor(coil, shop.design.board.stackup)


def _resistance(shop: Shop, strip: Conductor, layer: int) -> Expected:
    """Between the sense pads, with what width, thickness, pads and copper may add."""
    design, (pad, _) = shop.design, pad_of(layer)
    sheet = design.board.stackup.metal.resistivity / design.board.stackup.copper[layer - 1]
    width = float(strip.width[0])

    def resistance(wider: float, thicker: float, pads: float, conducting: float) -> float:
        inside = max(wider, 0.05 * width - width)
        squares = float(np.sum(path_squares(replace(strip, width=strip.width + inside))))
        return sheet * (squares - pad / width + pads) / thicker / conducting

    by = design.tolerance
    return Expected(
        what=READ,
        figure="resistance",
        unit="ohm",
        formula=resistance,
        parts={
            "trace width": told(0.0, "trace width", -by.trace_width, by.trace_width),
            "copper thickness": factor("copper thickness", by.copper_thickness),
            "pads": told(sum(PAD_SQUARES) / 2, "pads", *PAD_SQUARES),
            "conductivity": factor("conductivity", by.conductivity_of("copper")),
        },
    )


def via_chain(shop: Shop) -> Coupon:
    """Vias one after another, joined on the top and on the bottom in turn."""
    via, layers = shop.design.via, shop.design.board.stackup.layers
    pad = max(via.pad, via.drill + 2 * shop.limits["annular_ring"])
    step = _up(max(pad + shop.clear, via.drill + shop.limits["hole_to_hole"] + 0.05e-3))
    places = list(_grid(complex(max(PAD, pad) / 2, PAD + shop.clear + pad / 2), step))
    label = "T3"
    vias = tuple(Via(at=at, drill=via.drill, pad=pad, joins=(1, layers), net=label) for at in places)
    ends = complex(places[0].real, PAD / 2), complex(places[-1].real, PAD / 2)
    terminals, (first, last) = four_wires(label, *ends, pad)
    stops = [ends[0], *places, ends[1]]
    links = tuple(
        Trace(layer=1 if number % 2 == 0 else layers, path=Path((Line(one, other),)), width=pad, net=label)
        for number, (one, other) in enumerate(pairwise(stops))
    )
    size = complex(_whole(ends[1].real + max(PAD, pad) / 2), _whole(max(at.imag for at in places) + pad / 2))
    return Coupon(
        label=label,
        says=f"copper of the barrels: {len(places)} vias in a row",
        size=size,
        art=art_of(
            shop, (first, *links, last), vias, terminals, (), printed(label, complex(size.real / 2, PAD / 2))
        ),
        vias=vias,
        terminals=terminals,
        expects=_chain(shop, len(places), step, pad, via.drill),
        measures={"drill": via.drill, "link_width": pad, "link_length": step},
    )


def _grid(corner: Point, step: float) -> Iterator[Point]:
    columns, rows = CHAIN
    for column in range(columns):
        upward = column % 2 == 0
        for row in range(rows):
            yield corner + step * complex(column, row if upward else rows - 1 - row)


def _chain(shop: Shop, count: int, step: float, pad: float, drill: float) -> Expected:
    """Barrels over the board's whole height; a link as a strip between the edges of two holes."""
    design = shop.design
    stackup = design.board.stackup
    height = stackup.height(1) - stackup.height(stackup.layers)
    resistivity = stackup.metal.resistivity
    squares = (step - drill) / pad
    least, usual = design.tolerance.plating

    def resistance(wall: float, thicker: float, link: float, conducting: float) -> float:
        barrels = count * float(barrel_resistance(height, drill, wall, resistivity))
        above = (count // 2 + 1) * link / stackup.copper[0]
        below = count // 2 * link / stackup.copper[-1]
        return (barrels + resistivity * (above + below) / thicker) / conducting

    way = "way round the holes"
    return Expected(
        what=READ,
        figure="resistance",
        unit="ohm",
        formula=resistance,
        parts={
            "plating": told(usual, "plating", least, usual),
            "copper thickness": factor("copper thickness", design.tolerance.copper_thickness),
            way: told(squares, way, squares - LINK_SQUARES, squares + LINK_SQUARES),
            "conductivity": factor("conductivity", design.tolerance.conductivity_of("copper")),
        },
    )


def _up(length: float) -> float:
    return math.ceil(length / 1e-5 - 1e-6) * 1e-5


def _whole(length: float) -> float:
    return round(length * 1e6) / 1e6
