"""Makes random designs over every key of the design file, and proves laws of each.

`python tests/random_designs/drawn_designs.py FOLDER`: each block of seeds leaves a file in the folder, and is
not made again; a seed always draws the same design.
Most designs are made with the figures and files that are quick, every so many whole. Exit 1 on any breach.
"""

import argparse
import json
import signal
import sys
import time
import traceback
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import board_laws
import figure_laws
import refusal_laws
import several_laws
import tomlkit
from drawing import draw
from drawn_keys import KEYS
from made import Made, made

from coilgen.errors import DesignError

LONGEST = 300
"""Seconds of processor time that a design may take."""

Report = dict[str, Any]


def main(arguments: list[str]) -> int:
    asked = _asked(arguments)
    if asked.show:
        print(tomlkit.dumps(draw(KEYS, asked.first)))
        return 0
    asked.folder.mkdir(parents=True, exist_ok=True)
    firsts = range(asked.first, asked.first + asked.designs, asked.block)
    run = partial(_block, asked)
    if asked.workers == 1:
        reports = [run(first) for first in firsts]
    else:
        with ProcessPoolExecutor(asked.workers) as pool:
            reports = list(pool.map(run, firsts))
    breaches = [breach for report in reports for breach in report["breaches"]]
    for breach in breaches:
        print(f"seed {breach['seed']}: {breach['law']}: {breach['says']}")
    counts = {key: sum(report[key] for report in reports) for key in ("made", "refused", "whole")}
    print(
        f"{counts['made']} made, {counts['whole']} of them whole; {counts['refused']} refused; "
        f"{len(breaches)} breaches of laws"
    )
    return 1 if breaches else 0


def _asked(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, help="where the blocks' files are")
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--designs", type=int, default=300, help="how many seeds")
    parser.add_argument("--block", type=int, default=25, help="seeds in a block")
    parser.add_argument(
        "--whole", type=int, default=15, help="every so many with all figures and files; 0: none"
    )
    parser.add_argument("--workers", type=int, default=1, help="processes")
    parser.add_argument("--show", action="store_true", help="print the first seed's design file, and stop")
    return parser.parse_args(arguments)


def _block(asked: argparse.Namespace, first: int) -> Report:
    """The report of a block: the one in the folder, or a new one."""
    last = min(first + asked.block, asked.first + asked.designs)
    file = asked.folder / f"block-{first:06d}-{last - 1:06d}-{asked.whole}.json"
    if file.exists():
        return dict(json.loads(file.read_text(encoding="utf-8")))
    report: Report = {"made": 0, "refused": 0, "whole": 0, "breaches": [], "refusals": [], "seconds": {}}
    for seed in range(first, last):
        _add(report, seed, whole=bool(asked.whole) and seed % asked.whole == 0)
    part = file.with_suffix(".part")
    part.write_text(json.dumps(report, indent=1), encoding="utf-8")
    part.replace(file)
    return report


def _add(report: Report, seed: int, *, whole: bool) -> None:
    begun, tables = time.process_time(), draw(KEYS, seed)
    signal.signal(signal.SIGPROF, _late)
    signal.setitimer(signal.ITIMER_PROF, LONGEST)
    try:
        design = made(tables, whole=whole)
        report["made"] += 1
        report["whole"] += whole
        breaches = list(broken_laws(design))
    except DesignError as error:
        report["refused"] += 1
        report["refusals"] += [f"{seed}: {fault}" for fault in error.faults]
        breaches = [("refusal", says) for says in refusal_laws.broken(error, tables)]
    except Exception:
        breaches = [("traceback", _last_lines())]
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    report["breaches"] += [{"seed": seed, "law": law, "says": says} for law, says in breaches]
    report["seconds"][seed] = round(time.process_time() - begun, 2)


def broken_laws(design: Made) -> Iterator[tuple[str, str]]:
    """Name of each law that a design breaks, with what is wrong; a law that fails is broken too."""
    several = several_laws.LAWS if design.design.windings else None
    for law in several or (*board_laws.LAWS, *figure_laws.LAWS):
        try:
            yield from ((law.__name__, says) for says in law(design))
        except TimeoutError:
            raise
        except Exception:
            yield law.__name__, _last_lines()


def _late(signum: int, frame: object) -> None:
    raise TimeoutError(f"over {LONGEST} s of processor time")


def _last_lines() -> str:
    return " | ".join(line.strip() for line in traceback.format_exc().splitlines()[-7:])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
