"""Gives the commands thousands of design files gone wrong: each is a design, or is told in clear lines.

`python tests/random_designs/mutated_files.py FOLDER`: each block of seeds leaves a file in the folder, and is
not run again; files that did not do stay beside it. A seed always draws the same file. Exit 1 on any breach.

What must hold of `check`: exit status 0 or 1, or 2 with one clear line for each fault; no traceback; under
5 s of processor time and under 500 MB. Some of the files that are designs are made in whole too, in their own
time. Every seed runs in a process of its own, forked from one that has everything loaded.
"""

import os
import random
import re
import resource
import sys
import tempfile
import traceback
from functools import partial
from pathlib import Path
from typing import NoReturn

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("NUMBA_NUM_THREADS", "1")

from blocks import Report, blocks, parser, report_of
from mutations import mutated

import coilgen
from coilgen.catalogue import templates
from coilgen.cli import main as command_line

MOST_SECONDS, MOST_MEGABYTES, MOST_LINES, LONGEST_LINE = 5.0, 500, 60, 600
PATIENCE = 120
"""Seconds of processor time after which a process is ended."""
MADE = 40
TRACEBACK = 70
INTERNAL = re.compile(
    r"Traceback|Error\b|<class|object at 0x|pydantic|NoneType|validation error|\bargument\b"
)


def main(arguments: list[str]) -> int:
    asked = parser(__doc__, "files", count=200, block=50).parse_args(arguments)
    coilgen.make(coilgen.read_text(templates()["optical-shutter"]))  # loads all that a command imports
    run = partial(_block, asked.folder)
    return _tell([report_of(asked.folder, "mutated", seeds, run) for seeds in blocks(asked)])


def _block(folder: Path, seeds: range) -> Report:
    report: Report = {"ends": {}, "made": 0, "seconds": 0.0, "megabytes": 0.0, "breaches": []}
    for seed in seeds:
        _add(report, seed, folder)
    return report


def _add(report: Report, seed: int, folder: Path) -> None:
    content = mutated(random.Random(seed))
    found = _ended("check", content)
    breaches = [*_breaches(found), *_excesses(found)]
    report["ends"][str(found["status"])] = report["ends"].get(str(found["status"]), 0) + 1
    report["seconds"] = max(report["seconds"], found["seconds"])
    report["megabytes"] = max(report["megabytes"], found["megabytes"])
    if found["status"] in (0, 1) and seed % MADE == 0:
        whole = _ended("make", content)
        breaches += [f"make: {breach}" for breach in _breaches(whole)]
        report["made"] += whole["status"] == 0
    for breach in breaches:
        print(f"seed {seed}: {breach}", flush=True)
    report["breaches"] += [{"seed": seed, "says": breach} for breach in breaches]
    if breaches:
        (folder / f"{seed}.toml").write_bytes(content)


def _ended(command: str, content: bytes) -> Report:
    """How a command ends over a file, in a process of its own that writes what it says into two files."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "any.toml").write_bytes(content)
        child = os.fork()
        if child == 0:
            _be([command, "any.toml", *(["--accept-findings"] if command == "make" else [])], folder)
        _, status, used = os.wait4(child, 0)
        return {
            "command": command,
            "status": os.waitstatus_to_exitcode(status),
            "seconds": used.ru_utime + used.ru_stime,
            "megabytes": used.ru_maxrss / 1024,
            "out": Path(folder, "out.txt").read_text(errors="replace"),
            "err": Path(folder, "err.txt").read_text(errors="replace"),
        }


def _be(command: list[str], folder: str) -> NoReturn:
    """The forked process."""
    resource.setrlimit(resource.RLIMIT_CPU, (PATIENCE, PATIENCE + 5))
    os.chdir(folder)
    status: object = TRACEBACK
    with Path("out.txt").open("w") as sys.stdout, Path("err.txt").open("w") as sys.stderr:
        try:
            command_line(command, prog_name="coilgen")
        except SystemExit as end:
            status = end.code or 0
        except BaseException:  # told by the parent
            traceback.print_exc()
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status if isinstance(status, int) else TRACEBACK)


def _breaches(found: Report) -> list[str]:
    lines = found["err"].splitlines()
    if found["status"] not in (0, 1, 2):
        return [f"status {found['status']}: {lines[-1] if lines else ''}"]
    return _unclear(lines, found) if found["status"] == 2 else []


def _excesses(found: Report) -> list[str]:
    return [
        *([f"{found['seconds']:.1f} s"] if found["seconds"] > MOST_SECONDS else []),
        *([f"{found['megabytes']:.0f} MB"] if found["megabytes"] > MOST_MEGABYTES else []),
    ]


def _unclear(lines: list[str], found: Report) -> list[str]:
    told = [] if lines else ["refused without a word"]
    if len(lines) > MOST_LINES:
        told.append(f"{len(lines)} lines")
    if len(set(lines)) < len(lines):
        told.append("a line twice")
    if found["out"] and found["command"] == "check":
        told.append("printed beside the refusal")
    for text in lines:
        if not text.strip() or not text.isprintable() or len(text) > LONGEST_LINE or INTERNAL.search(text):
            told.append(f"unclear: {text[:200]!r}")
        elif ": " not in text and not text.startswith("and "):
            told.append(f"no key: {text[:200]!r}")
    return told


def _tell(reports: list[Report]) -> int:
    ends: dict[str, int] = {}
    for report in reports:
        for status, count in report["ends"].items():
            ends[status] = ends.get(status, 0) + count
    breaches = [breach for report in reports for breach in report["breaches"]]
    print(
        f"{sum(ends.values())} files, ends {dict(sorted(ends.items()))}, "
        f"{sum(report['made'] for report in reports)} made; "
        f"slowest {max(report['seconds'] for report in reports):.2f} s, "
        f"largest {max(report['megabytes'] for report in reports):.0f} MB; "
        f"{len(breaches)} breaches, of seeds {sorted({breach['seed'] for breach in breaches})}"
    )
    return 1 if breaches else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
