"""Drawings and tables are the same bytes in every process, whatever the order of hashes, and at any time."""

import os
import subprocess
import sys
from pathlib import Path

PRINT_DIGESTS = """
import hashlib, sys, time
sys.path.insert(0, sys.argv[1])
from samples import sample
from coilgen.exports.picture import drawing
from coilgen.exports.layout_files import dxf_centrelines
from coilgen.exports.layout_files import dxf_outlines
from coilgen.exports.layout_files import pads_csv
from coilgen.exports.data import result_json
for export in (drawing, dxf_centrelines, dxf_outlines, pads_csv, result_json):
    for path, content in export.files(sample("latch")).items():
        print(path, hashlib.sha256(content).hexdigest())
"""


def digests(hash_seed: str) -> dict[str, str]:
    run = subprocess.run(
        [sys.executable, "-c", PRINT_DIGESTS, str(Path(__file__).parent)],
        env={**os.environ, "PYTHONHASHSEED": hash_seed},
        capture_output=True,
        text=True,
        check=True,
    )
    return dict(line.split() for line in run.stdout.splitlines())


def test_same_bytes_in_two_processes() -> None:
    first, second = digests("1"), digests("2718")
    assert len(first) == 5
    assert first == second
