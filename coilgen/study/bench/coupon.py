"""Readings of a panel's coupons: what they should be where coupons are made just so."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from coilgen.errors import DesignError
from coilgen.study.bench.forecast import Forecast, half, warmer

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.study.bench.reading import Reading
    from coilgen.study.panel.coupons import Expected

FOUR_WIRES = "coupons are read with four wires at direct current; leave it out"


def coupon_forecast(
    coupon: Expected, design: Design, reading: Reading, made: Mapping[str, float]
) -> Forecast:
    """Of a reading of a coupon. design: whose stack-up it has; made: causes, SI.

    What pads and leads leave open is the model's error. DesignError for what is not read of it.
    """
    _refuse_other(coupon, reading)
    parts = {name: value for name, value in made.items() if name in coupon.parts}
    spread, warm = coupon.made(parts), 1.0
    if reading.figure == "resistance":
        warm = warmer(design, reading.at)
    return Forecast(spread.value * warm, half(*spread.band) * warm)


def _refuse_other(coupon: Expected, reading: Reading) -> None:
    if reading.figure != coupon.figure:
        says = f"{reading.sample} is a coupon, which is read by its {coupon.figure} ({coupon.what})"
        raise DesignError.at("figure", f"{says}; write {coupon.figure}")
    for name in ("frequency", "gap"):
        if getattr(reading.at, name) is not None:
            raise DesignError.at(name, f"{reading.sample} is a coupon: {FOUR_WIRES}")
