"""The drawing that all DXF files begin with, held against a new one of ezdxf, and read by its auditor."""

import io
import re

import ezdxf
from ezdxf.document import Drawing
from samples import sample

from coilgen.exports.layout_files._dxf import Sheet, add_circle, xy
from coilgen.geometry.extent import extent

LAYERS = ("copper 1 of 1 top", "board profile")
OWN = {"$EXTMIN", "$EXTMAX", "$HANDSEED", "$MEASUREMENT", "$FINGERPRINTGUID", "$VERSIONGUID"}
"""Variables that differ from those of any new drawing."""


def text() -> str:
    sheet = Sheet(LAYERS)
    add_circle(sheet, 1e-3 + 2e-3j, 4e-3, LAYERS[0])
    return sheet.written(sample("shutter").art).decode("ascii")


def read() -> Drawing:
    return ezdxf.read(io.StringIO(text()))


def new_drawing() -> Drawing:
    written = io.StringIO()
    ezdxf.new("R2000", units=4).write(written)
    return ezdxf.read(io.StringIO(written.getvalue()))


def names_in(drawing: Drawing, table: str) -> set[str]:
    return {each.dxf.name for each in getattr(drawing, table)}


def test_no_mark_is_left_and_no_clock_is_read() -> None:
    assert not re.search("<[a-z ]+>", text())
    assert text() == text()


def test_handles_are_used_once_and_the_next_one_is_free() -> None:
    told = text()
    (seed,) = re.findall(r"\$HANDSEED\n  5\n(\w+)\n", told)
    handles = [int(each, 16) for each in re.findall(r"(?m)^  5\n(\w+)$", told.replace(f"  5\n{seed}\n", ""))]
    assert len(handles) == len(set(handles)) > 40
    assert max(handles) == int(seed, 16) - 1
    owners = {int(each, 16) for each in re.findall(r"(?m)^330\n(\w+)$", told)}
    assert owners <= {0, *handles}


def test_variables_and_tables_are_those_of_a_new_drawing() -> None:
    ours, new = read(), new_drawing()
    names = {name for name in ours.header.hdrvars if not name.startswith("$TD")} - OWN
    assert len(names) > 150
    assert {name: ours.header[name] for name in names} == {name: new.header[name] for name in names}
    assert (ours.header["$INSUNITS"], ours.header["$MEASUREMENT"], ours.dxfversion) == (4, 1, "AC1015")
    for table in ("linetypes", "styles", "dimstyles", "ucs", "views", "block_records"):
        assert names_in(ours, table) == names_in(new, table)
    assert [each.dxf.name for each in ours.layers] == ["0", "Defpoints", *LAYERS]
    assert [each.dxftype() for each in ours.modelspace()] == ["CIRCLE"]
    audit = ours.audit()
    assert not audit.errors
    assert not audit.fixes


def test_it_opens_on_the_board() -> None:
    ours, outline = read(), sample("shutter").art.outline
    assert outline is not None
    low, high = (xy(corner) for corner in extent(outline))
    assert tuple(ours.header["$EXTMIN"])[:2] == low == tuple(ours.modelspace().dxf.extmin)[:2]
    assert tuple(ours.header["$EXTMAX"])[:2] == high == tuple(ours.modelspace().dxf.extmax)[:2]
    (view,) = ours.viewports.get("*Active")
    assert tuple(view.dxf.center)[:2] == ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    assert view.dxf.height >= high[1] - low[1]
