"""How coupons are read: in sentences, and as a table for programs."""

from collections.abc import Iterator, Sequence

from coilgen.artwork.art import Art
from coilgen.result.csv_table import csv_table
from coilgen.study.panel.coupons import Coupon

Stood = Sequence[tuple[Coupon, Art]]
HEAD = ("label", "tells", "measured", "unit", "expected", "low", "high", "measures")


def readings(coupons: Stood) -> Iterator[str]:
    """What is made of the readings."""
    known = {coupon.label: coupon for coupon, _ in coupons}
    if "T1" in known:
        lengths, widths = (
            [known[label].measures[name] * 1e3 for label in ("T1", "T2")]
            for name in ("effective_length", "width")
        )
        yield (
            "T1 and T2 with four wires, current through 1 and 4, voltage between 2 and 3, both at one "
            f"temperature: with q = (R1 x {lengths[1]:.1f} mm) / (R2 x {lengths[0]:.1f} mm) the etch "
            "undercut, both sides of a trace together, is "
            f"(q x {widths[0]:g} mm - {widths[1]:g} mm) / (q - 1), and the copper is "
            f"resistivity x {lengths[1]:.1f} mm / (R2 x ({widths[1]:g} mm - undercut)) thick."
        )
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


def coupons_csv(coupons: Stood) -> bytes:
    """A row for each value to expect, with its 95 % limits; measures in mm."""
    rows = [
        (
            coupon.label,
            coupon.says,
            what,
            unit,
            *(f"{value:.6g}" for value in (spread.value, *spread.band)),
            "; ".join(f"{name} {length * 1e3:.6g}" for name, length in coupon.measures.items()),
        )
        for coupon, _ in coupons
        for what, (unit, spread) in coupon.expects.items()
    ]
    return csv_table([HEAD, *rows]).encode()
