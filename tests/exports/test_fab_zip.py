"""The ZIP holds the fab's files byte for byte and is the same on every run."""

import io
import zipfile
from dataclasses import replace

import pytest

from coilgen.exports.fab import drill, fabrication_notes, gerber, gerber_job, netlist
from coilgen.exports.fab.fab_zip import EXPORT


@pytest.fixture
def bundled(result):
    exports = (gerber, drill, netlist, gerber_job, fabrication_notes)
    files = {path: content for export in exports for path, content in export.EXPORT.files(result).items()}
    return replace(result, files={**files, "elsewhere.json": b"{}"})


def test_it_runs_after_the_others():
    assert EXPORT.bundles


def test_it_holds_the_fab_folder_and_nothing_else(bundled):
    ((path, content),) = EXPORT.files(bundled).items()
    assert path == f"{bundled.design.name}-fab.zip"
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert archive.testzip() is None
        held = {f"fab/{name}": archive.read(name) for name in archive.namelist()}
    assert held == {path: content for path, content in bundled.files.items() if path.startswith("fab/")}


def test_same_bytes_whatever_the_order_of_the_files(bundled):
    backwards = replace(bundled, files=dict(reversed(bundled.files.items())))
    assert EXPORT.files(bundled) == EXPORT.files(backwards)


def test_entries_have_one_fixed_time(bundled):
    (content,) = EXPORT.files(bundled).values()
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
