"""The command line: the only package that prints, and that writes to the disk."""

from coilgen.cli.commands import main

__all__ = ["main"]
