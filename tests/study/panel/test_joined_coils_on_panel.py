"""Boards of joined coils on a panel: what a meter can read of them, which is between terminals."""

import csv
import io

import pytest

from coilgen.design.reading import read_text
from coilgen.job import case_of, draw
from coilgen.study.panel import files

TEXT = """
name = "stator"
[winding]
shape = "wedge"
layers = 2
turns = 2
trace_width = 0.3
trace_spacing = 0.2
inner_radius = 8
outer_radius = 18
[array]
arrangement = "ring"
count = 3
phases = 3
coils = "series"
connection = "{connection}"
[[variant]]
name = "fewer"
winding = {{ turns = 3 }}
"""


@pytest.mark.parametrize(("connection", "read"), [("star", "1-2 1-3 2-3"), ("open", "A B C")])
def test_key_and_electrical_test_tell_what_stands_between_terminals(connection, read, tmp_path):
    text = TEXT.format(connection=connection)
    path = tmp_path / "stator.toml"
    path.write_text(text, encoding="utf-8")
    written = files.panel(path).files
    design = read_text(text)
    bands = case_of(design, *draw(design)).figure("phase_bands").columns
    wanted = {
        between: [
            bands[name][k] for name in ("resistance", "resistance_low", "inductance", "inductance_high")
        ]
        for k, between in enumerate(bands["between"])
        if between in read.split()
    }
    rows = [
        row
        for row in csv.DictReader(io.StringIO(written["stator-samples.csv"].decode()))
        if row["label"] == "A1"
    ]
    names = ("resistance_20c_ohm", "resistance_20c_ohm_low", "inductance_H", "inductance_H_high")
    pairs = ["1-2", "1-3", "2-3"] if connection == "star" else ["1-2", "3-4", "5-6"]
    assert [row["winding"] for row in rows] == pairs
    for row, values in zip(rows, wanted.values(), strict=True):
        assert [float(row[name]) for name in names] == pytest.approx(values, rel=1e-5, abs=0)
    notes = written["fab/stator-fabrication-notes.md"].decode()
    assert all(f"| {' | '.join(pair.split('-'))} | " in notes for pair in pairs)
