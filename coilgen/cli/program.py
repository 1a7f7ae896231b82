"""The program: what every command shares; the user's faults as plain lines, and its exit status."""

from __future__ import annotations

import atexit
import contextlib
import gc
import shlex
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])
CLEAN, FINDINGS, BAD_INPUT, STOPPED = 0, 1, 2, 130


def example(command: str) -> str:
    """A command to try, below the help of another."""
    return f"\b\nExample:\n  {command}"


def out_folder(gets: str) -> Callable[[Command], Command]:
    """The option for the folder that a command writes to; gets: what it gets, for the help."""
    kind = click.Path(path_type=Path)
    return click.option(
        "--out", type=kind, default=Path("out"), show_default=True, help=f"Folder that gets {gets}."
    )


def accepting(command: Command) -> Command:
    """The option to write files although rules are broken."""
    option = click.option(
        "--accept-findings", is_flag=True, help="Write the files although a rule is broken."
    )
    return option(command)


class _Commands(click.Group):
    """Shows the faults of the user's making as plain lines with exit status 2."""

    def invoke(self, ctx: click.Context) -> Any:
        from coilgen.errors import UserError

        try:
            return super().invoke(ctx)
        except UserError as error:
            refuse(str(error))
        except BrokenPipeError:
            raise
        except OSError as error:
            where = f" {error.filename}:" if error.filename else ""
            refuse(f"cannot write:{where} {error.strerror or error}")
        except KeyboardInterrupt:
            click.echo("stopped", err=True)
            sys.exit(STOPPED)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """A file in the command's place is told apart from a command that does not exist."""
        if args[0].endswith(".toml") and args[0] not in self.commands:
            refuse(f"{args[0]} is no command; did you mean: coilgen make {shlex.quote(args[0])}")
        return super().resolve_command(ctx, args)


def refuse(text: str) -> NoReturn:
    """Says what is wrong and ends with the status of bad input."""
    click.echo(text, err=True)
    sys.exit(BAD_INPUT)


@click.group(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog=example("coilgen start shutter && coilgen make shutter.toml"),
)
@click.version_option(package_name="coilgen", prog_name="coilgen")
def main() -> None:
    """Coils wound in circuit-board copper: one design file in; board art, figures and warnings out."""
    atexit.register(gc.freeze)  # what is left goes with the process, and need not be searched
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(AttributeError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]  # a captured stream may lack it
