"""The tables of a bench as people read them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilgen.result.figure_text import band_text, value_text
from coilgen.study.bench.learnt import limits_text
from coilgen.units import per_cent, readable

if TYPE_CHECKING:
    from coilgen.study.bench.bench import Bench

READINGS = ("sample", "figure", "measured", "predicted", "band", "explained", "off by", "")
CAUSES = ("cause", "of", "before", "after", "width left", "")
BETTER = ("figure", "before", "band", "boards to come", "band")


def reading_rows(bench: Bench) -> list[tuple[str, ...]]:
    """A row for each reading, `READINGS`."""
    rows: list[tuple[str, ...]] = []
    for each in bench.compared:
        reading, unit = each.reading, each.reading.kind.unit
        low, high = (readable(end, unit) for end in each.before_limits)
        rows.append(
            (
                reading.sample,
                reading.name,
                f"{readable(reading.value, unit, 4)} ± {_spread(reading.uncertainty, unit)}",
                readable(each.before, unit, 4),
                f"{low} to {high}",
                readable(each.after, unit, 4),
                f"{each.off:+.1f} sd",
                each.wrong,
            )
        )
    return rows


def _spread(value: float, unit: str) -> str:
    return f"{value:.2g} K" if unit == "degC" else readable(value, unit, 2)


def cause_rows(bench: Bench) -> list[tuple[str, ...]]:
    """A row for each cause, `CAUSES`."""
    return [
        (
            each.cause.label,
            each.cause.of,
            limits_text(each.cause, each.cause.limits),
            limits_text(each.cause, each.after),
            per_cent(each.left),
            "pinned" if each.pinned else "open",
        )
        for each in bench.causes
    ]


def better_rows(bench: Bench) -> list[tuple[str, ...]]:
    """A row for each figure told anew, `BETTER`."""
    return [
        (
            each.before.name,
            value_text(each.before),
            band_text(each.before),
            value_text(each.after),
            band_text(each.after),
        )
        for each in bench.better
    ]
