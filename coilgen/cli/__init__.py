"""The command line: the only package that prints, and that writes to the disk."""

import gc
import os

from coilgen.cli.deferred import defer

# What is imported stays, and a command leaves few objects that nothing reaches: they are seldom searched for.
gc.set_threshold(400_000, 2, 2)
# Nor are plug-ins of other packages that would take part in reading a design.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
defer("importlib.metadata", "entry_points")  # would look for them; to load it takes a twentieth of `check`
defer("secrets")  # its keys of random digits, which no design has

from coilgen.cli import commands, study_commands  # noqa: E402  # after what their imports are quicker for
from coilgen.cli.program import main  # noqa: E402

__all__ = ["commands", "main", "study_commands"]
