"""A winding without an outline is for a layout: there is no set that a fab could take for a board."""

from dataclasses import replace

import coilgen
from coilgen.design.board import NO_FAB_SET
from coilgen.design.reading import read_text
from coilgen.exports.fab import drill, fab_zip, fabrication_notes, gerber, gerber_job, netlist

TEXT = """name = "bare"
[winding]
shape = "round"
layers = 2
turns = 4
trace_width = "0.3 mm"
trace_spacing = "0.3 mm"
outer_size = "20 mm"
[pocket]
size = "4 mm"
[board]
outline = "none"
"""


def test_no_export_of_the_set_writes_a_file(result):
    bare = replace(result, art=replace(result.art, outline=None), files={"fab/x.gbr": b"G04*"})
    for export in (drill, fab_zip, fabrication_notes, gerber, gerber_job, netlist):
        assert export.EXPORT.files(bare) == {}
        assert export is fab_zip or result.art.copper_layers == 1 or export.EXPORT.files(result)


def test_all_else_is_written_and_it_is_said():
    """The pocket's contour alone would pass for a board of 4 mm."""
    result = coilgen.make(read_text(TEXT))
    assert NO_FAB_SET in result.cautions
    assert not any(path.startswith("fab/") or path.endswith("-fab.zip") for path in result.files)
    assert {"bare.dxf", "bare-polylines.dxf", "bare-pads.csv", "bare.json"} <= result.files.keys()
