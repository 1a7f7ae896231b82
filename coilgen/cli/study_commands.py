"""The commands for many boards: compare, sweep, optimize, panel, bench."""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import Any

import click

from coilgen.cli.design_file import DESIGN, read_named, refuse_missing
from coilgen.cli.program import CLEAN, FINDINGS, accepting, example, main, out_folder, refuse


class _Seconds(click.FloatRange):
    """A time in seconds; a range alone lets nan through."""

    name = "seconds"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        try:
            found = float(value)
        except ValueError:
            found = math.nan
        if math.isnan(found):
            self.fail(f"{value} is no time in seconds: {self.min:g} to {self.max:,.0f} are.", param, ctx)
        return super().convert(found, param, ctx)


@main.command(
    short_help="Compare DESIGN with its variants.",
    epilog=example("coilgen compare latch.toml --csv > latch.csv"),
)
@DESIGN
@click.option("--json", "as_json", is_flag=True, help="JSON document in SI instead of a table.")
@click.option("--csv", "as_csv", is_flag=True, help="CSV in SI instead of a table.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="File that gets it, .json or .csv, in place of standard output.",
)
def compare(design: Path, as_json: bool, as_csv: bool, out: Path | None) -> None:
    """Compare DESIGN with its variants: field, pull, cores, temperature."""
    if as_json and as_csv:
        refuse("--json and --csv are given together; keep one of the two")
    from coilgen.cli.comparing import compare

    compare(read_named(design), design, "json" if as_json else "csv" if as_csv else None, out)


@main.command(
    short_help="Sweep keys of DESIGN over all combinations of values.",
    epilog=example("coilgen sweep push.toml --out push.csv"),
)
@DESIGN
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    required=True,
    help="File that gets a row for each combination, .csv; one that was stopped is gone on with.",
)
@click.option("--figures", help="Names of figures with a comma between them, and rules_broken.")
@click.option(
    "--workers", type=click.IntRange(1, 256), help="Processes; as many as processors when left out."
)
@click.option("--cluster", help="Address of a dask scheduler whose workers compute instead.")
@click.option(
    "--screen", is_flag=True, help="Fast figures, learned from exact runs of some rows; see column exact."
)
def sweep(
    design: Path,
    out: Path,
    figures: str | None,
    workers: int | None,
    cluster: str | None,
    screen: bool,
) -> None:
    """Sweep the keys of DESIGN's [sweep] table over all combinations of their values into a file."""
    if workers is not None and cluster is not None:
        refuse("--workers and --cluster are given together; keep one of the two")
    from coilgen.cli.sweeping import sweep

    sweep(read_named(design), design, out, figures, workers=workers, cluster=cluster, screen=screen)


@main.command(
    short_help="Search the keys of DESIGN for the best board within limits.",
    epilog=example("coilgen optimize push.toml"),
)
@DESIGN
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("out"),
    show_default=True,
    help="Folder that gets the optimum as a design file, a table of all runs, and a page.",
)
@click.option("--seconds", type=_Seconds(0.1, 1e6), help="Stops then, with the best so far.")
def optimize(design: Path, out: Path, seconds: float | None) -> None:
    """Search what DESIGN's [optimize] table lets vary for the best board within its limits.

    Exit status 1 when nothing satisfies the limits.
    """
    from coilgen.cli.optimizing import search

    sys.exit(search(read_named(design), out, seconds))


@main.command(
    short_help="Make several boards as one panel of samples.",
    epilog=example("coilgen panel latch-samples.toml --out boards"),
)
@click.argument("file", type=click.Path(path_type=Path))
@out_folder("a folder named after the panel")
@accepting
def panel(file: Path, out: Path, accept_findings: bool) -> None:
    """Put the variants of a design, or the samples of a panel file, on one panel and write its files.

    Writes nothing and ends with status 1 when a rule is broken, unless findings are accepted.
    """
    from coilgen.cli.paneling import panel

    refuse_missing(file)
    sys.exit(FINDINGS if panel(file, out, accept_findings=accept_findings) else CLEAN)


@main.command(
    name="bench",
    short_help="Hold readings of boards against their design.",
    epilog=example("coilgen bench shutter-readings.csv --design shutter.toml"),
)
@click.argument("measured", type=click.Path(path_type=Path))
@click.option("--design", type=click.Path(path_type=Path), help="Design that was built.")
@click.option(
    "--samples", type=click.Path(path_type=Path), help="Or the key of the panel that was: NAME-samples.csv."
)
@out_folder("page, table and calibration")
@click.option("--blank", is_flag=True, help="Write an empty form to MEASURED instead, .csv or .toml.")
def bench(measured: Path, design: Path | None, samples: Path | None, out: Path, blank: bool) -> None:
    """Hold the readings in MEASURED against what was built: what explains them, and better predictions.

    Give the design, or the key of a panel of samples, whose labels then name the boards.
    """
    from coilgen.study.bench.samples import Samples, read_samples

    if design is not None and samples is None:
        built = Samples(design=read_named(design), boards=None)
    elif samples is not None and design is None:
        refuse_missing(samples)
        built = read_samples(samples)
    else:
        raise click.UsageError("give --design FILE, or --samples NAME-samples.csv")
    from coilgen.cli.benching import show_bench, write_blank

    if blank:
        write_blank(measured, built)
    else:
        show_bench(measured, built, out)
