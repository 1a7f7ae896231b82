"""The text plot of the flux density: bars in proportion, from above to below, only where it can be drawn."""

import io
import sys

import pytest

from coilgen.cli.axis_field import WIDTH, axis_field, show_axis_field
from coilgen.result.figure import Figure

ROWS = [
    {"side": side, "height": height, "flux_density": sign * b, "per_ampere": b}
    for side, sign in (("top", 1), ("bottom", -0.5))
    for height, b in ((5e-4, 4e-3), (1e-3, 2e-3), (5e-3, 0.0))
]


def _figure(name: str) -> Figure:
    unit = "table(side, height m, flux_density T, per_ampere T/A)"
    return Figure(
        name=name, unit=unit, says="field", group="field", value=ROWS, model="", band=None, cautions=()
    )


def test_bars_are_in_proportion_and_in_order_of_height() -> None:
    lines = axis_field(ROWS)
    places = [line[:14].strip() for line in lines[1:]]
    assert places == [
        "5 mm above", "1 mm above", "0.5 mm above", "board", "0.5 mm below", "1 mm below", "5 mm below",
    ]  # fmt: skip
    full = [line.count("█") for line in lines]
    assert full[1:] == [0, WIDTH // 2, WIDTH, 0, WIDTH // 2, WIDTH // 4, 0]
    assert lines[3].endswith("4.00 mT")
    assert lines[5].endswith("-2.00 mT")


def test_with_cores_it_says_so() -> None:
    lines = axis_field(ROWS, with_cores=True)
    assert lines[0] == "B on the axis with the cores"
    assert lines[4].startswith("coil and cores  ─")


def test_no_field_has_no_bars() -> None:
    assert "█" not in "".join(axis_field([{**row, "flux_density": 0.0} for row in ROWS]))


@pytest.mark.parametrize(
    ("terminal", "encoding", "drawn"),
    [(True, "utf-8", True), (True, "ascii", False), (False, "utf-8", False)],
)
def test_is_drawn_where_it_can_be(
    monkeypatch: pytest.MonkeyPatch, terminal: bool, encoding: str, drawn: bool
) -> None:
    class Stream(io.TextIOWrapper):
        def isatty(self) -> bool:
            return terminal

    raw = io.BytesIO()
    stream = Stream(raw, encoding=encoding)
    monkeypatch.setattr(sys, "stdout", stream)
    show_axis_field(_figure("flux_density"))
    stream.flush()
    monkeypatch.undo()
    assert ("█" in raw.getvalue().decode("utf-8")) == drawn
