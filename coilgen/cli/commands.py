"""The commands for one design: what each takes, does, says and returns as exit status."""

from __future__ import annotations

import contextlib
import os
import re
import shlex
import sys
from pathlib import Path

import click

from coilgen.cli.design_file import DESIGN, read_named
from coilgen.cli.listing import KINDS
from coilgen.cli.program import CLEAN, FINDINGS, accepting, example, main, out_folder, refuse
from coilgen.cli.terminal import show_table, step

FIRST_TEMPLATE = "optical-shutter"


@main.command(epilog=example("coilgen start latch --from specimen-drawer-latch"))
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
    from coilgen.design.keys import file_name

    known = templates()
    if template not in known:
        refuse(f'--from: "{template}" is no template; {unknown(template, known)}')
    path = Path(name if name.endswith(".toml") else f"{name}.toml")
    try:
        file_name(path.stem)
    except ValueError as error:
        refuse(str(error))
    if not path.parent.is_dir():
        refuse(f"{path.parent} is no folder; make it first")
    text = re.sub(r'(?m)^name = ".*?"', f'name = "{path.stem}"', known[template], count=1)
    # Comments that say what to call name the file.
    text = text.replace(f"{template}.toml", path.name)
    command = "panel" if f"coilgen panel {path.name}" in text else "make"
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        refuse(f"{path} exists and is left as it is; choose another name or move it away")
    click.echo(f"wrote {path} from {template}; next: coilgen {command} {shlex.quote(str(path))}")


@main.command(epilog=example("coilgen check shutter.toml"))
@DESIGN
def check(design: Path) -> None:
    """Check DESIGN against its shop's rules. Exit status 0: clean, 1: findings, 2: bad input."""
    with step("checking"):
        from coilgen.job import check

        result = check(read_named(design))
    from coilgen.cli.findings import show_findings, show_remarks

    show_remarks(result.cautions)
    show_findings(result.findings)
    sys.exit(FINDINGS if result.findings else CLEAN)


@main.command(
    short_help="Compute all figures of DESIGN.",
    epilog=example("coilgen figures shutter.toml --json > shutter.json"),
)
@DESIGN
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
        from coilgen.processors import processors

        asked = read_named(design)
        announce_compilation(asked)
        result = predict(asked, workers=processors())
    if as_json:
        from coilgen.exports.data.result_json import files

        for content in files(result).values():
            click.echo(content, nl=False)
        return
    from coilgen.cli.findings import show_remarks
    from coilgen.cli.report import show_figures, show_in_short

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
        refuse(f'{absent}; a pair needs both, such as --beside other.toml --distance "5 mm"')
    from coilgen.cli.facing import distance_of, faults_in, shift_of, show_pair, turn_of
    from coilgen.study.placed_boards import Standing

    standing = Standing(
        distance=distance_of(distance),
        shift=shift_of("0, 0" if shift is None else shift),
        turn=turn_of("0" if turn is None else turn),
    )
    with faults_in(design):
        lower = read_named(design)
    with faults_in(beside):
        upper = read_named(beside)
    show_pair((design, lower), (beside, upper), standing, as_json)


@main.command(epilog=example("coilgen make shutter.toml --out boards"))
@DESIGN
@out_folder("a folder named after the design")
@accepting
@click.option("--png", is_flag=True, help="Write the picture as PNG too; needs `pip install 'coilgen[png]'`.")
def make(design: Path, out: Path, accept_findings: bool, png: bool) -> None:
    """Check DESIGN, compute its figures and write every file.

    Writes nothing and ends with status 1 when a rule is broken, unless findings are accepted.
    """
    from coilgen.cli.compiling import announce_compilation
    from coilgen.cli.delivery import recover, refuse_blocked
    from coilgen.cli.fab_set_before import deliver_set

    with step("checking"):
        from coilgen.job import check, completed
        from coilgen.processors import processors

        asked = read_named(design)
        target = out / asked.name
        refuse_blocked(target)
        recover(target)
        result = check(asked)
    from coilgen.cli.findings import show_findings, show_refusal, show_remarks
    from coilgen.cli.report import show_summary
    from coilgen.result.caution import warns

    show_remarks([remark for remark in result.cautions if not warns(remark)])
    show_findings(result.findings)
    if result.findings and not accept_findings:
        show_refusal(target)
        sys.exit(FINDINGS)
    announce_compilation(asked)
    with step("computing figures"):
        result = completed(result, workers=processors())
    with step("writing files"):
        if png:
            from coilgen.exports.picture._raster import with_png

            result = with_png(result)
        replaced = deliver_set(result.files, target, asked.name)
    show_summary(result, design, target)
    show_remarks(replaced)


@main.command(
    short_help="Serve DESIGN's page, which follows the file.", epilog=example("coilgen watch shutter.toml")
)
@DESIGN
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
        read_named(design)
    with contextlib.suppress(DesignError):  # the page tells what is wrong
        announce_compilation(read_named(design))
    watch(design, port)


@main.command(
    name="list",
    help=f"List what there is of KIND: {', '.join(KINDS)}.",
    short_help="List shapes, stack-ups, shops, rules, figures and the rest.",
    epilog=example("coilgen list stackups"),
)
@click.argument("kind", metavar="KIND", type=click.Choice(KINDS))
def list_kind(kind: str) -> None:
    """Names and what they mean, in a table."""
    from coilgen.cli.listing import listing

    show_table(*listing(kind))


@main.command(epilog=example("coilgen schema > design.schema.json"))
def schema() -> None:
    """Print the JSON Schema of the design file."""
    import json

    from coilgen.design.reading import json_schema

    click.echo(json.dumps(json_schema(), indent=2, ensure_ascii=False).encode())
