"""The command line: the only package that prints, and that writes to the disk."""

from coilgen.cli import commands, study_commands
from coilgen.cli.program import main

__all__ = ["commands", "main", "study_commands"]
