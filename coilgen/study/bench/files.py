"""The files of a bench: a calibration that designs take, all readings as CSV, an empty form."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from coilgen.errors import DesignError, shown
from coilgen.study.bench.forecast import Forecaster
from coilgen.study.bench.form import COLUMNS
from coilgen.study.bench.kinds import CONDITIONS
from coilgen.study.bench.page import page
from coilgen.study.bench.proposals import coupon_readings, usual_readings
from coilgen.units import DIMENSIONS

if TYPE_CHECKING:
    from coilgen.design.calibration import Calibration, Learnt
    from coilgen.design.design import Design
    from coilgen.study.bench.bench import Bench, Compared
    from coilgen.study.bench.reading import Reading
    from coilgen.study.panel.coupons import Expected

_AFTER = (
    "predicted",
    "predicted_low",
    "predicted_high",
    "explained",
    "explained_low",
    "explained_high",
    "residual",
    "wrong",
)
_USED_UNITS = {
    "resistance": "ohm",
    "inductance": "uH",
    "quality": "",
    "capacitance": "pF",
    "self_resonance": "MHz",
    "flux_density": "mT",
    "force": "mN",
    "pull": "N",
    "temperature": "degC",
}


def files_of(bench: Bench) -> dict[str, bytes]:
    """Page, CSV and calibration by file name; no calibration where no reading counts."""
    name = bench.design.name
    found = {f"{name}-bench.html": page(bench), f"{name}-bench.csv": table(bench.compared)}
    if bench.teaches:
        found[f"{name}-calibration.toml"] = calibration_text(bench.calibration).encode()
    return found


def table(compared: Iterable[Compared]) -> bytes:
    """A row for each reading, SI: as read, as predicted, as explained; the residual in its standard
    deviations.
    """
    text = io.StringIO(newline="")
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow((*COLUMNS, "count", *_AFTER))
    for each in compared:
        rows.writerow((*_as_read(each.reading), *_as_told(each)))
    return text.getvalue().encode()


def _as_read(reading: Reading) -> tuple[object, ...]:
    at = [_number(getattr(reading.at, name)) for name in CONDITIONS]
    own = (_number(reading.value), reading.kind.unit, _number(reading.uncertainty))
    return (reading.sample, reading.figure, *own, *at, reading.at.side or "", reading.count)


def _as_told(each: Compared) -> tuple[str, ...]:
    numbers = (each.before, *each.before_limits, each.after, *each.after_limits)
    return (*map(_number, numbers), f"{each.off:.3f}", each.wrong)


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.9g}"


def calibration_text(calibration: Calibration) -> str:
    """The TOML that `calibration = "FILE"` of a design reads."""
    rows = "".join(f"  [{', '.join(f'{entry:.6f}' for entry in row)}],\n" for row in calibration.correlation)
    head = (
        "# What a bench taught: expected, and the limits between which 95 % lie. A length is added to what\n"
        '# was asked, a factor multiplies it. Take it in a design of boards to come: calibration = "FILE".\n'
        f"name = {json.dumps(calibration.name)}\nsays = {json.dumps(calibration.says)}\n"
        f"correlation = [\n{rows}]\n"
    )
    return head + "".join(_learnt_text(each) for each in calibration.learnt)


def _learnt_text(learnt: Learnt) -> str:
    from coilgen.design.calibration import LENGTHS

    length = learnt.cause in LENGTHS
    told = [f'"{each * 1e6:.8g} um"' if length else f"{each:.9g}" for each in learnt.limits]
    return (
        f"\n[[learnt]]\ncause = {json.dumps(learnt.cause)}\nof = {json.dumps(learnt.of)}\n"
        f"low = {told[0]}\nvalue = {told[1]}\nhigh = {told[2]}\n"
    )


def blank(
    boards: Mapping[str, Design],
    coupons: Mapping[str, Expected] | None = None,
    *,
    toml: bool,
    alike: Iterable[Sequence[str]] = (),
) -> bytes:
    """An empty form: a row for each reading that boards by their labels, and coupons, allow.

    alike: a label and the variants that its board is as well, which the form's head tells.
    """
    forecaster = Forecaster()
    rows = [reading for sample, design in boards.items() for reading in _allowed(forecaster, design, sample)]
    rows += coupon_readings(coupons or {})
    told = "".join(_one_board(*each) for each in alike)
    return (_blank_toml(rows, told) if toml else _blank_csv(rows, told)).encode()


def _one_board(label: str, *variants: str) -> str:
    """A line of the form's head."""
    others = ", ".join(map(shown, variants))
    return f"# {label} is the board of {others} too: another drive makes no other board.\n"


def _allowed(forecaster: Forecaster, design: Design, sample: str) -> Iterable[Reading]:
    for reading in usual_readings(design, sample, forecaster):
        try:
            forecaster.of(design, reading, {})
        except DesignError:
            continue
        yield reading


def _cells(reading: Reading) -> dict[str, str]:
    at = reading.at
    told = {name: _condition(name, getattr(at, name)) for name in CONDITIONS}
    return {
        "sample": reading.sample,
        "figure": reading.figure,
        "value": "",
        "unit": _USED_UNITS[reading.figure],
        "uncertainty": reading.kind.usual_uncertainty,
        **told,
        "side": at.side or "",
    }


def _condition(name: str, value: float | None) -> str:
    """In the dimension's bare unit, written out."""
    if value is None:
        return ""
    kind = DIMENSIONS[CONDITIONS[name]]
    own = (value - float(kind.offsets.get(kind.bare, "0"))) / float(kind.units[kind.bare])
    return f"{own:.6g} {kind.bare}"


def _blank_csv(rows: list[Reading], told: str) -> str:
    text = io.StringIO(newline="")
    text.write(
        "# Fill in value; rows without one are left out. uncertainty: one standard deviation, in the unit or "
        "per cent.\n# temperature: of the copper; of the air beside a reading of temperature.\n"
        "# Force and flux density count up, away from the top, as positive.\n" + told
    )
    written = csv.DictWriter(text, COLUMNS, lineterminator="\n")
    written.writeheader()
    written.writerows(_cells(each) for each in rows)
    return text.getvalue()


def _blank_toml(rows: list[Reading], told: str) -> str:
    head = (
        '# Fill in value; readings whose value is "" are left out. uncertainty: one standard deviation, in\n'
        "# the unit or per cent. temperature: of the copper; of the air beside a reading of temperature.\n"
        "# Force and flux density count up, away from the top, as positive.\n" + told
    )
    blocks = [
        "\n[[reading]]\n"
        + "".join(
            f"{key} = {json.dumps(cell)}\n" for key, cell in _cells(row).items() if cell or key == "value"
        )
        for row in rows
    ]
    return head + "".join(blocks)
