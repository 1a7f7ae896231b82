"""How coupons are read: in sentences, and as a table for programs."""

from collections.abc import Iterator, Sequence

from coilgen.artwork.art import Art
from coilgen.result.csv_table import csv_table
from coilgen.study.panel.coupons import Coupon
from coilgen.study.panel.meanders import LABELS
from coilgen.units import readable

Stood = Sequence[tuple[Coupon, Art]]
ENDING = "-coupons.csv"
HEAD = ("label", "tells", "measured", "unit", "expected", "low", "high", "measures")
READ = ("label", "tells", "measured", "expected", "95 % between")


def readings(coupons: Stood) -> Iterator[str]:
    """What is made of the readings."""
    known = {coupon.label: coupon for coupon, _ in coupons}
    for pair in (each for each in LABELS.values() if each[0] in known):
        yield _undercut(*(known[label] for label in pair))
    if "T3" in known:
        yield (
            "T3 with four wires too; what it reads over or under the expected value is the copper of its "
            "barrels, once T1 and T2 have told the thickness of its links."
        )
    if "T4" in known:
        yield (
            "T4 after the meter was zeroed with its leads in place: the dielectric's thickness is the "
            "designed one times expected over measured, as far as its permittivity is known."
        )


def _undercut(narrow: Coupon, wide: Coupon) -> str:
    """How copper and undercut follow from two meanders."""
    length, other = (each.measures["effective_length"] * 1e3 for each in (narrow, wide))
    width, wider = (each.measures["width"] * 1e3 for each in (narrow, wide))
    one, two = (f"R{each.label.removeprefix('T')}" for each in (narrow, wide))
    return (
        f"{narrow.label} and {wide.label} with four wires, current through 1 and 4, voltage between 2 and 3, "
        f"both at one temperature: with q = ({one} x {other:.1f} mm) / ({two} x {length:.1f} mm) the etch "
        "undercut, both sides of a trace together, is "
        f"(q x {width:g} mm - {wider:g} mm) / (q - 1), and the copper is "
        f"resistivity x {other:.1f} mm / ({two} x ({wider:g} mm - undercut)) thick."
    )


def read_rows(coupons: Stood) -> list[tuple[str, ...]]:
    """A row for each, `READ`."""
    return [
        (
            coupon.label,
            coupon.says,
            coupon.expects.what,
            readable(spread.value, coupon.expects.unit),
            " to ".join(readable(end, coupon.expects.unit) for end in spread.band),
        )
        for coupon, _ in coupons
        for spread in (coupon.expects.spread,)
    ]


def coupons_csv(coupons: Stood) -> bytes:
    """A row for each value to expect, with its 95 % limits; measures in mm."""
    rows = [
        (
            coupon.label,
            coupon.says,
            coupon.expects.what,
            coupon.expects.unit,
            *(f"{value:.6g}" for value in (spread.value, *spread.band)),
            measures_text(coupon),
        )
        for coupon, _ in coupons
        for spread in (coupon.expects.spread,)
    ]
    return csv_table([HEAD, *rows]).encode()


def measures_text(coupon: Coupon) -> str:
    """Its lengths by name, mm."""
    return "; ".join(f"{name} {length * 1e3:.6g}" for name, length in coupon.measures.items())
