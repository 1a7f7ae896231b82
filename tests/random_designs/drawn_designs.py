"""Makes random designs over every key of the design file, and proves laws of each.

`python tests/random_designs/drawn_designs.py FOLDER`: each block of seeds leaves a file in the folder, and is
not made again; a seed always draws the same design.
Most designs are made with the figures and files that are quick, every so many whole; every so many are held
against others made from them. Exit 1 on any breach.
"""

import argparse
import signal
import sys
import time
import traceback
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial

import board_laws
import changed_laws
import figure_laws
import physical_laws
import refusal_laws
import several_laws
import tomlkit
from blocks import Report, blocks, parser, report_of
from drawing import draw
from drawn_keys import KEYS
from made import Made, made

from coilgen.errors import DesignError

Law = Callable[[Made], Iterator[str]]
LONGEST = 300
"""Seconds of processor time that a design may take."""


def main(arguments: list[str]) -> int:
    asked = _asked(arguments)
    if asked.show:
        print(tomlkit.dumps(draw(KEYS, asked.first)))
        return 0
    run = partial(_reported, asked)
    if asked.workers == 1:
        reports = [run(seeds) for seeds in blocks(asked)]
    else:
        with ProcessPoolExecutor(asked.workers) as pool:
            reports = list(pool.map(run, blocks(asked)))
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
    takes = parser(__doc__, "designs", count=300, block=25)
    takes.add_argument(
        "--whole", type=int, default=15, help="every so many with all figures and files; 0: none"
    )
    takes.add_argument(
        "--changed",
        type=int,
        default=0,
        help="every so many held against scaled, mirrored ones, and laws of physics; 0: none",
    )
    takes.add_argument("--workers", type=int, default=1, help="processes")
    takes.add_argument("--show", action="store_true", help="print the first seed's design file, and stop")
    return takes.parse_args(arguments)


def _reported(asked: argparse.Namespace, seeds: range) -> Report:
    return report_of(
        asked.folder,
        "block",
        seeds,
        partial(_block, asked.whole, asked.changed),
        f"-{asked.whole}-{asked.changed}",
    )


def _block(whole: int, changed: int, seeds: range) -> Report:
    """What became of a block's designs; whole, changed: every so many with all, and held against others."""
    report: Report = {"made": 0, "refused": 0, "whole": 0, "breaches": [], "refusals": [], "seconds": {}}
    for seed in seeds:
        held = bool(changed) and seed % changed == 1 % changed
        _add(report, seed, whole=bool(whole) and seed % whole == 0, changed=held)
    return report


def _add(report: Report, seed: int, *, whole: bool, changed: bool) -> None:
    begun, tables = time.process_time(), draw(KEYS, seed)
    signal.signal(signal.SIGPROF, _late)
    signal.setitimer(signal.ITIMER_PROF, LONGEST)
    try:
        design = made(tables, whole=whole)
        report["made"] += 1
        report["whole"] += whole
        breaches = list(broken_laws(design, (*changed_laws.LAWS, *physical_laws.LAWS) if changed else ()))
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


def broken_laws(design: Made, more: tuple[Law, ...] = ()) -> Iterator[tuple[str, str]]:
    """Name of each law that a design breaks, of `more` too, with what is wrong; one that fails is broken."""
    several = several_laws.LAWS if design.design.windings else None
    for law in (*(several or (*board_laws.LAWS, *figure_laws.LAWS)), *more):
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
