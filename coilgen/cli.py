"""The command line: the only module that prints, and that writes to the disk."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from coilgen import __version__

if TYPE_CHECKING:
    from rich.console import Console

    from coilgen.design import Design
    from coilgen.result import Result
    from coilgen.rule import Finding

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
"""The matrices are small: threads would spend more time waiting for each other than computing."""

CLEAN, FINDINGS, BAD_INPUT = 0, 1, 2
KINDS = ("shapes", "stackups", "shops", "materials", "magnets", "rules", "figures", "exports", "templates")
PATIENCE = 1.0
"""Seconds after which a running step says so."""

_DESIGN = click.argument("design", type=click.Path(path_type=Path))


def _example(command: str) -> str:
    return f"\b\nExample:\n  {command}"


class _Commands(click.Group):
    """Shows the faults of the user's making as plain lines with exit status 2."""

    def invoke(self, ctx: click.Context) -> Any:
        from coilgen.errors import UserError

        try:
            return super().invoke(ctx)
        except UserError as error:
            _refuse(str(error))
        except OSError as error:
            if isinstance(error, BrokenPipeError):
                raise
            where = f" {error.filename}:" if error.filename else ""
            _refuse(f"cannot write:{where} {error.strerror or error}")


def _refuse(text: str) -> NoReturn:
    click.echo(text, err=True)
    sys.exit(BAD_INPUT)


@click.group(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog=_example("coilgen start shutter && coilgen make shutter.toml"),
)
@click.version_option(__version__, prog_name="coilgen")
def main() -> None:
    """Coils wound in circuit-board copper: one design file in; board art, figures and warnings out."""
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(AttributeError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]  # a captured stream may lack it


@main.command(epilog=_example("coilgen start latch --from specimen-drawer-latch"))
@click.argument("name")
@click.option(
    "--from", "template", default=None, help="Template to start from; see `coilgen list templates`."
)
def start(name: str, template: str | None) -> None:
    """Write NAME.toml, a commented design file to start from. Never overwrites a file."""
    from coilgen.catalogue import templates, unknown

    known = templates()
    template = template or _FIRST_TEMPLATE
    if template not in known:
        _refuse(f'--from: "{template}" is no template; {unknown(template, known)}')
    path = Path(name if name.endswith(".toml") else f"{name}.toml")
    if not re.fullmatch(r"[A-Za-z0-9_-]{1,64}", path.stem):
        _refuse(f'"{path.stem}" names files; use 1 to 64 of the letters A to Z, a to z, digits, - and _')
    text = re.sub(r'(?m)^name = ".*?"', f'name = "{path.stem}"', known[template], count=1)
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        _refuse(f"{path} exists and is left as it is; choose another name or move it away")
    click.echo(f"wrote {path} from {template}; next: coilgen make {path}")


_FIRST_TEMPLATE = "optical-shutter"


@main.command(epilog=_example("coilgen check shutter.toml"))
@_DESIGN
def check(design: Path) -> None:
    """Check DESIGN against its shop's rules. Exit status 0: clean, 1: findings, 2: bad input."""
    from coilgen.job import checked

    with _step("checking"):
        result = checked(_read(design))
    _show_findings(result.findings)
    _show_remarks(result.cautions)
    sys.exit(FINDINGS if result.findings else CLEAN)


@main.command(epilog=_example("coilgen figures shutter.toml --json > shutter.json"))
@_DESIGN
@click.option("--json", "as_json", is_flag=True, help="Print the JSON document instead of a table.")
def figures(design: Path, as_json: bool) -> None:
    """Compute all figures of DESIGN."""
    from coilgen.job import studied

    with _step("computing figures"):
        result = studied(_read(design))
    if as_json:
        import json

        from coilgen.exports.result_json import document

        click.echo(json.dumps(document(result), indent=2, ensure_ascii=False, allow_nan=False))
        return
    _show_figures(result)
    _show_remarks(result.cautions)


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
def make(design: Path, out: Path, accept_findings: bool) -> None:
    """Check DESIGN, compute its figures and write every file.

    Writes nothing and ends with status 1 when a rule is broken, unless findings are accepted.
    """
    from dataclasses import replace

    from coilgen.job import files, studied

    asked = _read(design)
    target = out / asked.name
    _refuse_target(target)
    with _step("computing"):
        result = studied(asked)
    _show_findings(result.findings)
    if result.findings and not accept_findings:
        click.echo(
            "nothing written: mend the findings, or write all the same with --accept-findings", err=True
        )
        sys.exit(FINDINGS)
    with _step("writing"):
        result = replace(result, files=files(result))
        _deliver(result.files, target, asked.name)
    _show_summary(result, target)


@main.command(name="list", epilog=_example("coilgen list stackups"))
@click.argument("kind", type=click.Choice(KINDS))
def list_kind(kind: str) -> None:
    """List what there is of KIND."""
    _show_table(*_listing(kind))


@main.command(epilog=_example("coilgen schema > design.schema.json"))
def schema() -> None:
    """Print the JSON Schema of the design file."""
    import json

    from coilgen.reading import json_schema

    click.echo(json.dumps(json_schema(), indent=2, ensure_ascii=False))


def _read(path: Path) -> Design:
    from coilgen.reading import read

    return read(path)


def _listing(kind: str) -> tuple[Sequence[str], list[Sequence[str]]]:
    from coilgen import catalogue

    if kind in ("stackups", "shops", "materials", "magnets"):
        rows = catalogue.rows(kind)
        return ("name", "what", "numbers from"), [
            (name, str(row.get("says", "")), str(row.get("source", ""))) for name, row in rows.items()
        ]
    if kind == "templates":
        return ("name", "what"), [
            (name, _first_comment(text)) for name, text in catalogue.templates().items()
        ]
    if kind == "figures":
        from coilgen.job import quantities

        return ("name", "unit", "what"), [(each.name, each.unit, each.says) for each in quantities().values()]
    package, attribute = {
        "shapes": ("coilgen.shapes", "SHAPE"),
        "rules": ("coilgen.rules", "RULE"),
        "exports": ("coilgen.exports", "EXPORT"),
    }[kind]
    found: Mapping[str, Any] = catalogue.specimens(package, attribute)
    return ("name", "what"), [(name, each.says) for name, each in found.items()]


def _first_comment(text: str) -> str:
    first = text.lstrip().splitlines()[0]
    return first.lstrip("# ") if first.startswith("#") else ""


def _refuse_target(target: Path) -> None:
    """A target that is a file, or reached through one, cannot become a folder."""
    for folder in (target, *target.parents):
        if folder.exists() and not folder.is_dir():
            _refuse(f"--out: {folder} is a file; name a folder")


def _deliver(files: Mapping[str, bytes], target: Path, name: str) -> None:
    """Writes all files beside the target, then moves them in whole.

    What is not ours in the target is kept.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
    try:
        for path, content in files.items():
            place = fresh / path
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(content)
        fresh.chmod(0o777 & ~_umask())
        if not target.exists():
            fresh.rename(target)
            return
        _keep_foreign(target, fresh, name, files)
        _swap(fresh, target)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _swap(fresh: Path, target: Path) -> None:
    old = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
    aside = old / "old"
    target.rename(aside)
    try:
        fresh.rename(target)
    except OSError:
        aside.rename(target)
        raise
    finally:
        shutil.rmtree(old, ignore_errors=True)


_FAB_ENDINGS = (".gbr", ".drl", ".ipc", ".gbrjob", ".txt")


def _keep_foreign(target: Path, fresh: Path, name: str, files: Mapping[str, bytes]) -> None:
    """Copies over what somebody else put into the target; stale fabrication files of ours stay behind."""
    for path in sorted(target.rglob("*")):
        inside = path.relative_to(target)
        stale = inside.parts[0] == "fab" and path.name.startswith(name) and path.suffix in _FAB_ENDINGS
        if path.is_dir() or stale or inside.as_posix() in files:
            continue
        (fresh / inside).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, fresh / inside, follow_symlinks=False)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _show_findings(findings: Sequence[Finding]) -> None:
    if not findings:
        click.echo("rules: clean")
        return
    rows = [
        (
            finding.rule,
            _amount(finding.value, finding.unit),
            _amount(finding.limit, finding.unit),
            "" if finding.layer is None else str(finding.layer),
            "" if finding.at is None else f"{finding.at.real * 1e3:.3f}, {finding.at.imag * 1e3:.3f}",
            finding.says,
        )
        for finding in findings
    ]
    _show_table(("rule", "value", "limit", "layer", "at x, y mm", "what to do"), rows)
    click.echo(f"rules: {len(findings)} finding{'s' if len(findings) > 1 else ''}")


def _amount(value: float, unit: str) -> str:
    if unit == "m":
        return f"{value * 1e3:.4g} mm"
    return f"{value:.4g}" if unit == "1" else f"{value:.4g} {unit}"


def _show_figures(result: Result) -> None:
    rows = []
    group = ""
    for figure in sorted(result.figures.values(), key=lambda each: _GROUPS.index(each.group)):
        if figure.group != group:
            group = figure.group
            rows.append((f"[{group}]", "", "", ""))
        rows.append((figure.name, _value(figure.value, figure.unit), _band(figure), figure.says))
    _show_table(("figure", "value", "band", "what"), rows)


_GROUPS = ("winding", "electrical", "drive", "field", "core", "force", "heat")


def _value(value: Any, unit: str) -> str:
    from coilgen.units import readable

    if isinstance(value, int | float):
        return readable(value, unit)
    if not value:
        return "none"
    if isinstance(value[0], Mapping):
        return f"table of {len(value)} rows (--json)"
    return f"{len(value)} by {len(value[0])} matrix (--json)"


def _band(figure: Any) -> str:
    from coilgen.units import readable

    return "" if figure.band is None else " to ".join(readable(end, figure.unit) for end in figure.band)


_SUMMARY = (
    "turns_total",
    "trace_length",
    "resistance_20c",
    "inductance",
    "current",
    "power",
    "temperature",
    "flux_density",
    "smallest_spacing",
)


def _show_summary(result: Result, target: Path) -> None:
    shown = [result.figures[name] for name in _SUMMARY if name in result.figures]
    _show_table(
        ("figure", "value", "band"),
        [(figure.name, _value(figure.value, figure.unit), _band(figure)) for figure in shown],
    )
    _show_remarks(result.cautions)
    name = result.design.name
    click.echo(f"{len(result.files)} files in {target}{os.sep}")
    click.echo(f"  for the fab      {name}-fab.zip")
    click.echo(f"  for a layout     {name}.dxf, {name}-pads.csv")
    click.echo(f"  for the eye      {name}.svg")
    click.echo(f"  all figures      {name}.json, or: coilgen figures DESIGN")


def _show_remarks(remarks: Sequence[str]) -> None:
    for remark in remarks:
        click.echo(f"note: {remark}")


def _show_table(headers: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """A table with rules on a terminal, aligned plain text elsewhere."""
    if sys.stdout.isatty():
        _console().print(_rich_table(headers, rows))
        return
    widths = [max(len(row[k]) for row in (headers, *rows)) for k in range(len(headers))]
    for row in (headers, *rows):
        line = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        click.echo(line.rstrip())


def _rich_table(headers: Sequence[str], rows: Sequence[Sequence[str]]) -> Any:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, header_style="bold", pad_edge=False)
    for header in headers:
        table.add_column(header, overflow="fold")
    for row in rows:
        table.add_row(*(Text(cell, style="bold" if row[0].startswith("[") else "") for cell in row))
    return table


def _console(stderr: bool = False) -> Console:
    from rich.console import Console

    return Console(stderr=stderr, highlight=False)


@contextlib.contextmanager
def _step(says: str) -> Iterator[None]:
    """Says what is going on once it takes longer than a moment, on a terminal only."""
    if not sys.stderr.isatty():
        yield
        return
    from threading import Timer

    status = _console(stderr=True).status(f"{says} …")
    timer = Timer(PATIENCE, status.start)
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        timer.join()
        status.stop()
