"""The commands: what each takes, does, says and returns as exit status."""

from __future__ import annotations

import contextlib
import math
import os
import re
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from coilgen.cli.listing import KINDS
from coilgen.cli.terminal import show_table, step

if TYPE_CHECKING:
    from coilgen.design.design import Design

CLEAN, FINDINGS, BAD_INPUT, STOPPED = 0, 1, 2, 130
FIRST_TEMPLATE = "optical-shutter"

_DESIGN = click.argument("design", type=click.Path(path_type=Path))


def _example(command: str) -> str:
    return f"\b\nExample:\n  {command}"


class _Seconds(click.FloatRange):
    """A time in seconds; a range alone lets nan through."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        found = super().convert(value, param, ctx)
        if math.isnan(found):
            self.fail(f"{value} is no time in seconds: {self.min:g} to {self.max:,.0f} are.", param, ctx)
        return found


class _Commands(click.Group):
    """Shows the faults of the user's making as plain lines with exit status 2."""

    def invoke(self, ctx: click.Context) -> Any:
        from coilgen.errors import UserError

        try:
            return super().invoke(ctx)
        except UserError as error:
            _refuse(str(error))
        except BrokenPipeError:
            raise
        except OSError as error:
            where = f" {error.filename}:" if error.filename else ""
            _refuse(f"cannot write:{where} {error.strerror or error}")
        except KeyboardInterrupt:
            click.echo("stopped", err=True)
            sys.exit(STOPPED)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """A file in the command's place is told apart from a command that does not exist."""
        if args[0].endswith(".toml") and args[0] not in self.commands:
            _refuse(f"{args[0]} is no command; did you mean: coilgen make {shlex.quote(args[0])}")
        return super().resolve_command(ctx, args)


def _refuse(text: str) -> NoReturn:
    click.echo(text, err=True)
    sys.exit(BAD_INPUT)


@click.group(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog=_example("coilgen start shutter && coilgen make shutter.toml"),
)
@click.version_option(package_name="coilgen", prog_name="coilgen")
def main() -> None:
    """Coils wound in circuit-board copper: one design file in; board art, figures and warnings out."""
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(AttributeError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]  # a captured stream may lack it


@main.command(epilog=_example("coilgen start latch --from specimen-drawer-latch"))
@click.argument("name")
@click.option(
    "--from",
    "template",
    default=FIRST_TEMPLATE,
    show_default=True,
    help="Template to start from; see `coilgen list templates`.",
)
def start(name: str, template: str) -> None:
    """Write NAME.toml, a commented design file to start from. Never overwrites a file."""
    from coilgen.catalogue import templates, unknown
    from coilgen.errors import shown

    known = templates()
    if template not in known:
        _refuse(f'--from: "{template}" is no template; {unknown(template, known)}')
    path = Path(name if name.endswith(".toml") else f"{name}.toml")
    if not re.fullmatch(r"[A-Za-z0-9_-]{1,64}", path.stem):
        _refuse(f"{shown(path.stem)} names files; use 1 to 64 of the letters A to Z, a to z, digits, - and _")
    if not path.parent.is_dir():
        _refuse(f"{path.parent} is no folder; make it first")
    text = re.sub(r'(?m)^name = ".*?"', f'name = "{path.stem}"', known[template], count=1)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        _refuse(f"{path} exists and is left as it is; choose another name or move it away")
    click.echo(f"wrote {path} from {template}; next: coilgen make {shlex.quote(str(path))}")


@main.command(epilog=_example("coilgen check shutter.toml"))
@_DESIGN
def check(design: Path) -> None:
    """Check DESIGN against its shop's rules. Exit status 0: clean, 1: findings, 2: bad input."""
    with step("checking"):
        from coilgen.job import check

        result = check(_read(design))
    from coilgen.cli.report import show_findings, show_remarks

    show_remarks(result.cautions)
    show_findings(result.findings)
    sys.exit(FINDINGS if result.findings else CLEAN)


@main.command(
    short_help="Compute all figures of DESIGN.",
    epilog=_example("coilgen figures shutter.toml --json > shutter.json"),
)
@_DESIGN
@click.option("--json", "as_json", is_flag=True, help="Print the JSON document instead of tables.")
@click.option("--all", "whole", is_flag=True, help="Print every figure and note, not only the key figures.")
@click.option(
    "--beside",
    type=click.Path(path_type=Path),
    help="A second design, its board above DESIGN's: the figures of the pair instead.",
)
@click.option("--distance", help='From the top face of DESIGN to the other\'s bottom face, such as "5 mm".')
@click.option("--shift", help='x and y of its centre over that of DESIGN, such as "10 mm, 0"; default 0, 0.')
@click.option("--turn", help='Its turn, counter-clockwise, such as "30 deg"; default 0.')
def figures(
    design: Path,
    as_json: bool,
    whole: bool,
    beside: Path | None,
    distance: str | None,
    shift: str | None,
    turn: str | None,
) -> None:
    """Compute all figures of DESIGN, or with --beside those of two boards face to face."""
    if any(given is not None for given in (beside, distance, shift, turn)):
        _show_pair(design, beside, (distance, shift, turn), as_json)
        return
    with step("computing figures"):
        from coilgen.cli.compiling import announce_compilation
        from coilgen.job import predict

        asked = _read(design)
        announce_compilation(asked)
        result = predict(asked)
    if as_json:
        from coilgen.exports.data.result_json import files

        for content in files(result).values():
            click.echo(content, nl=False)
        return
    from coilgen.cli.report import show_figures, show_in_short, show_remarks

    if not whole:
        show_in_short(result, design)
        return
    show_figures(result)
    show_remarks(result.cautions)


def _show_pair(
    design: Path, beside: Path | None, place: tuple[str | None, str | None, str | None], as_json: bool
) -> None:
    distance, shift, turn = place
    if beside is None or distance is None:
        absent = "--beside: names no second design" if beside is None else "--distance: not given"
        _refuse(f'{absent}; a pair needs both, such as --beside other.toml --distance "5 mm"')
    from coilgen.cli.facing import distance_of, faults_in, shift_of, show_pair, turn_of
    from coilgen.study.placed_boards import Standing

    standing = Standing(
        distance=distance_of(distance),
        shift=shift_of("0, 0" if shift is None else shift),
        turn=turn_of("0" if turn is None else turn),
    )
    with faults_in(design):
        lower = _read(design)
    with faults_in(beside):
        upper = _read(beside)
    show_pair((design, lower), (beside, upper), standing, as_json)


@main.command(epilog=_example("coilgen make shutter.toml --out boards"))
@_DESIGN
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("out"),
    show_default=True,
    help="Folder that gets a folder named after the design.",
)
@click.option("--accept-findings", is_flag=True, help="Write the files although a rule is broken.")
@click.option("--png", is_flag=True, help="Write the picture as PNG too; needs `pip install 'coilgen[png]'`.")
def make(design: Path, out: Path, accept_findings: bool, png: bool) -> None:
    """Check DESIGN, compute its figures and write every file.

    Writes nothing and ends with status 1 when a rule is broken, unless findings are accepted.
    """
    from coilgen.cli.compiling import announce_compilation
    from coilgen.cli.delivery import deliver, recover, refuse_blocked

    with step("checking"):
        from coilgen.job import check, with_figures, with_files

        asked = _read(design)
        target = out / asked.name
        refuse_blocked(target)
        recover(target)
        result = check(asked)
    from coilgen.cli.report import show_findings, show_summary

    show_findings(result.findings)
    if result.findings and not accept_findings:
        _refuse_broken(target)
    announce_compilation(asked)
    with step("computing figures"):
        result = with_figures(result)
    with step("writing files"):
        result = with_files(result)
        if png:
            from coilgen.exports.picture._raster import with_png

            result = with_png(result)
        deliver(result.files, target, asked.name)
    show_summary(result, design, target)


def _refuse_broken(target: Path) -> NoReturn:
    kept = f"; {target} is left as it was" if target.exists() else ""
    click.echo(
        f"nothing written{kept}: mend the findings, or write all the same with --accept-findings", err=True
    )
    sys.exit(FINDINGS)


@main.command(
    short_help="Compare DESIGN with its variants.",
    epilog=_example("coilgen compare latch.toml --csv > latch.csv"),
)
@_DESIGN
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
        _refuse("--json and --csv are given together; keep one of the two")
    from coilgen.cli.comparing import compare

    compare(_read(design), design, "json" if as_json else "csv" if as_csv else None, out)


@main.command(
    short_help="Sweep keys of DESIGN over all combinations of values.",
    epilog=_example("coilgen sweep push.toml --out push.csv"),
)
@_DESIGN
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
        _refuse("--workers and --cluster are given together; keep one of the two")
    from coilgen.cli.sweeping import sweep

    sweep(_read(design), design, out, figures, workers=workers, cluster=cluster, screen=screen)


@main.command(
    short_help="Search the keys of DESIGN for the best board within limits.",
    epilog=_example("coilgen optimize push.toml"),
)
@_DESIGN
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

    sys.exit(search(_read(design), out, seconds))


@main.command(
    short_help="Make several boards as one panel of samples.",
    epilog=_example("coilgen panel latch-samples.toml --out boards"),
)
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("out"),
    show_default=True,
    help="Folder that gets a folder named after the panel.",
)
@click.option("--accept-findings", is_flag=True, help="Write the files although a rule is broken.")
def panel(file: Path, out: Path, accept_findings: bool) -> None:
    """Put the variants of a design, or the samples of a panel file, on one panel and write its files.

    Writes nothing and ends with status 1 when a rule is broken, unless findings are accepted.
    """
    from coilgen.cli.paneling import panel

    _refuse_missing(file)
    sys.exit(FINDINGS if panel(file, out, accept_findings=accept_findings) else CLEAN)


@main.command(
    name="bench",
    short_help="Hold readings of boards against their design.",
    epilog=_example("coilgen bench shutter-readings.csv --design shutter.toml"),
)
@click.argument("measured", type=click.Path(path_type=Path))
@click.option("--design", type=click.Path(path_type=Path), help="Design that was built.")
@click.option(
    "--samples", type=click.Path(path_type=Path), help="Or the key of the panel that was: NAME-samples.csv."
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("out"),
    show_default=True,
    help="Folder that gets page, table and calibration.",
)
@click.option("--blank", is_flag=True, help="Write an empty form to MEASURED instead, .csv or .toml.")
def bench(measured: Path, design: Path | None, samples: Path | None, out: Path, blank: bool) -> None:
    """Hold the readings in MEASURED against what was built: what explains them, and better predictions.

    Give the design, or the key of a panel of samples, whose labels then name the boards.
    """
    from coilgen.study.bench.samples import Samples, read_samples

    if design is not None and samples is None:
        built = Samples(design=_read(design), boards=None)
    elif samples is not None and design is None:
        _refuse_missing(samples)
        built = read_samples(samples)
    else:
        raise click.UsageError("give --design FILE, or --samples NAME-samples.csv")
    from coilgen.cli.benching import show_bench, write_blank

    if blank:
        write_blank(measured, built)
    else:
        show_bench(measured, built, out)


@main.command(
    short_help="Serve DESIGN's page, which follows the file.", epilog=_example("coilgen watch shutter.toml")
)
@_DESIGN
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=0,
    help="Port on this machine; a free one when left out.",
)
def watch(design: Path, port: int) -> None:
    """Serve DESIGN's page to this machine alone; it follows the file, and numbers can be tried on it."""
    from coilgen.cli.compiling import announce_compilation
    from coilgen.cli.watching import watch
    from coilgen.errors import DesignError

    if not os.path.isfile(design):  # noqa: PTH113  # Path.is_file raises for a name that is too long
        _read(design)
    with contextlib.suppress(DesignError):  # the page tells what is wrong
        announce_compilation(_read(design))
    watch(design, port)


@main.command(
    name="list",
    help=f"List what there is of KIND: {', '.join(KINDS)}.",
    short_help="List shapes, stack-ups, shops, rules, figures and the rest.",
    epilog=_example("coilgen list stackups"),
)
@click.argument("kind", metavar="KIND", type=click.Choice(KINDS))
def list_kind(kind: str) -> None:
    """Names and what they mean, in a table."""
    from coilgen.cli.listing import listing

    show_table(*listing(kind))


@main.command(epilog=_example("coilgen schema > design.schema.json"))
def schema() -> None:
    """Print the JSON Schema of the design file."""
    import json

    from coilgen.design.reading import json_schema

    click.echo(json.dumps(json_schema(), indent=2, ensure_ascii=False).encode())


def _read(path: Path) -> Design:
    """The design; a name that is a little off is refused with the likely one."""
    from coilgen.design.reading import read

    _refuse_missing(path)
    return read(path)


def _refuse_missing(path: Path) -> None:
    """Tells the likely name of a file that is not there."""
    if not os.path.exists(path):  # noqa: PTH110  # Path.exists raises for a name that is too long
        likely = _likely(path)
        if likely is not None:
            _refuse(f"{path}: no such file; did you mean {likely}?")


def _likely(path: Path) -> Path | None:
    """The design file that stands where a missing one was looked for, with a name most like it."""
    from coilgen.catalogue import nearest

    if not path.parent.is_dir():
        return None
    near = nearest(f"{path.name.removesuffix('.toml')}.toml", (p.name for p in path.parent.glob("*.toml")))
    return None if near is None else path.parent / near
