"""The command line: the only package that prints, and that writes to the disk."""

import os

from coilgen.cli.commands import main

__all__ = ["main"]

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
"""The matrices are small: threads would spend more time waiting for each other than computing."""
