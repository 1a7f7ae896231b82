"""The coupon of the thinnest dielectric: a round plate over a wider one, read by its capacitance."""

from coilgen.artwork.art import Pad
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.layout.coil import Terminal, Trace
from coilgen.physics.circuit.disc_capacitor import disc_capacitance
from coilgen.physics.circuit.layered_dielectric import VACUUM_PERMITTIVITY
from coilgen.result.spread import factor, told, within
from coilgen.study.panel.coupons import DRILL, HOLE_PAD, Coupon, Expected, Shop, art_of, printed

LEAD = 0.3e-3
"""Width of the lead to the upper plate, m, or the shop's least trace where that is more."""
SMALL, LARGE = 9e-3, 13e-3
"""Diameters of the upper plate over thin and over thick dielectrics, m."""
THIN = 0.3e-3
BEYOND = 2.5
"""Thicknesses of dielectric by which the lower plate is wider all round; 1 mm at least."""
FRINGE = (1.0, 2.0)
"""Times its plain capacitance that a narrow lead over a plate has, judged; with LEAD as wide as THIN is."""
MODEL = 0.01
"""Of the capacitance: the lower plate's end, the drill pads beside it."""


def plates(shop: Shop) -> Coupon:
    """Plates on both sides of the thinnest dielectric; contacts through plated holes below them."""
    stackup = shop.design.board.stackup
    upper = 1 + stackup.dielectric.index(min(stackup.dielectric))
    thickness = stackup.dielectric[upper - 1]
    size = SMALL if thickness <= THIN else LARGE
    margin = max(1e-3, BEYOND * thickness)
    wide, label = _whole(size + 2 * margin), "T4"
    middle = complex(wide / 2, HOLE_PAD + shop.clear + wide / 2)
    over, under = f"{label}-OVER", f"{label}-UNDER"
    pads = (complex(HOLE_PAD / 2, HOLE_PAD / 2), complex(wide - HOLE_PAD / 2, HOLE_PAD / 2))
    width = max(LEAD, shop.limits["trace_width"])
    terminals = tuple(
        Terminal(number=number, at=at, pad=HOLE_PAD, drill=DRILL, layer=1, net=net)
        for number, (at, net) in enumerate(zip(pads, (over, under), strict=True), start=1)
    )
    traces = (
        _lead(middle, pads[0], upper, width, over),
        _lead(middle, pads[1], upper + 1, width, under),
    )
    faces = (
        Pad(layer=upper, at=middle, diameter=size, terminal=None, net=over, use="plate"),
        Pad(layer=upper + 1, at=middle, diameter=wide, terminal=None, net=under, use="plate"),
    )
    text = printed(label, complex(wide / 2, HOLE_PAD / 2))
    return Coupon(
        label=label,
        says=f"thickness of the dielectric under layer {upper}",
        size=complex(wide, middle.imag + wide / 2),
        art=art_of(shop, traces, (), terminals, faces, text),
        vias=(),
        terminals=terminals,
        expects=_capacitance(shop, upper, size, margin * width),
        measures={"diameter": size, "thickness": thickness},
    )


def _lead(start: Point, end: Point, layer: int, width: float, net: str) -> Trace:
    return Trace(layer=layer, path=Path((Line(start, end),)), width=width, net=net)


def _capacitance(shop: Shop, upper: int, size: float, lead: float) -> Expected:
    """With its edge's field, and that of the lead over the lower plate (area, m2)."""
    stackup, tolerance = shop.design.board.stackup, shop.design.tolerance
    nominal, relative = stackup.dielectric[upper - 1], stackup.permittivity[upper - 1]
    over = [*zip(stackup.dielectric[: upper - 1], stackup.permittivity, strict=False)]
    mask = [(stackup.mask_thickness, stackup.mask_permittivity)] if stackup.mask_thickness else []

    def capacitance(thicker: float, more: float, wider: float, fringe: float, sure: float) -> float:
        above = [(sheet, each * more) for sheet, each in reversed(over)]
        disc = disc_capacitance((size + wider) / 2, nominal * thicker, relative * more, [*above, *mask])
        beside = VACUUM_PERMITTIVITY * relative * more * lead / (nominal * thicker) * fringe
        return (disc + beside) * sure

    return Expected(
        what="capacitance between 1 and 2",
        figure="capacitance",
        unit="F",
        formula=capacitance,
        parts={
            "dielectric thickness": factor("dielectric thickness", tolerance.dielectric_thickness),
            "permittivity": within(1.0, "permittivity", tolerance.permittivity),
            "trace width": told(0.0, "trace width", -tolerance.trace_width, tolerance.trace_width),
            "lead": told(sum(FRINGE) / 2, "lead", *FRINGE),
            "model": within(1.0, "model", MODEL),
        },
    )


def _whole(length: float) -> float:
    return round(length * 1e6) / 1e6
