"""`python -m coilgen` is the command `coilgen`."""

from coilgen.cli import main

main(prog_name="coilgen")
