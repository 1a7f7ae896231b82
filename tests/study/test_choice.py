"""A choice as designers meet it: which core, if any, behind a flexible coil that pushes a magnet?"""

import pytest

from coilgen.design.reading import read_text
from coilgen.study.compare import BASE, compare

LOUVRE_FLAP = """
name = "louvre-flap"
note = "two seconds of push out of ten, either way"
[winding]
shape = "round"
layers = 2
turns = 26
trace_width = "0.15 mm"
trace_spacing = "0.13 mm"
outer_size = "20 mm"
[board]
stackup = "flex-2-layer"
[drive]
voltage = 3.0
waveform = "square"
frequency = 0.1
duty = 0.2
[magnet]
form = "disc"
diameter = "6 mm"
thickness = "2 mm"
grade = "N42"
gap = "1 mm"
[[variant]]
name = "ferrite sheet"
[[variant.core]]
material = "ferrite sheet"
form = "disc"
diameter = "20 mm"
thickness = "0.3 mm"
[[variant]]
name = "iron plate"
[[variant.core]]
form = "disc"
diameter = "20 mm"
thickness = "1 mm"
[[variant]]
name = "all of 5 V"
[variant.drive]
voltage = 5.0
"""


@pytest.mark.slow
def test_no_core_pushes_best_and_five_volts_burn_the_board() -> None:
    """Iron makes most of each ampere and yet never lets go; the magnet alone floods the sheet."""
    found = compare(read_text(LOUVRE_FLAP))
    rows = {row.name: row for row in found.rows}
    assert rows[BASE].cannot == ()
    for held in ("ferrite sheet", "iron plate"):
        assert any(says.startswith("cannot push: held at rest with") for says in rows[held].cannot)
        values = rows[held].values
        assert values["force_on_magnet"] * values["force_reversed"] > 0
        assert abs(values["force_at_rest"]) > 3 * abs(values["force_on_magnet"] - values["force_at_rest"])
    assert abs(rows["iron plate"].values["force_constant"]) > 1.5 * abs(rows[BASE].values["force_constant"])
    assert rows["ferrite sheet"].values["core_saturated"] > 0.3
    assert any(says.startswith("cannot stay on:") for says in rows["all of 5 V"].cannot)
    assert [row.name for row in found.rows if not row.cannot] == [BASE]
