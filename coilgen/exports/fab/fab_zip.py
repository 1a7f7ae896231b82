"""The fab's files in one ZIP, as one sends them."""

import io
import zipfile
from collections.abc import Mapping

from coilgen.exports.fab._fabrication import FOLDER, fab_export
from coilgen.result.result import Result

FIXED_TIME = (1980, 1, 1, 0, 0, 0)
"""The earliest time a ZIP entry can have."""


def files(result: Result) -> dict[str, bytes]:
    """One ZIP with every file of the fab's folder at its root, in order of their names."""
    return zipped(result.design.name, result.files)


def zipped(name: str, files: Mapping[str, bytes]) -> dict[str, bytes]:
    """The ZIP of a board or panel of that name.

    Stored without compression: the bytes then do not depend on the machine's compressor.
    """
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as bundle:
        for path in sorted(files):
            if path.startswith(FOLDER):
                bundle.writestr(_entry(path.removeprefix(FOLDER)), files[path])
    return {f"{name}-fab.zip": buffer.getvalue()}


def _entry(name: str) -> zipfile.ZipInfo:
    """A plain file, readable by all; the entry says the same on every system."""
    entry = zipfile.ZipInfo(name, FIXED_TIME)
    entry.create_system = 3
    entry.external_attr = 0o644 << 16
    return entry


EXPORT = fab_export(
    name="fab_zip",
    says="the fab's files in one ZIP",
    paths=("<name>-fab.zip",),
    files=files,
    bundles=True,
)
