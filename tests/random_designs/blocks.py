"""Seeds run in blocks: each block leaves a file in a folder, and is not run again."""

import argparse
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

Report = dict[str, Any]


def parser(told: str | None, counted: str, *, count: int, block: int) -> argparse.ArgumentParser:
    """What every runner takes: the folder, the first seed, how many seeds (`--{counted}`), a block's."""
    found = argparse.ArgumentParser(description=told, formatter_class=argparse.RawDescriptionHelpFormatter)
    found.add_argument("folder", type=Path, help="where the blocks' files are")
    found.add_argument("--first", type=int, default=0, help="the first seed")
    found.add_argument(f"--{counted}", dest="count", type=int, default=count, help="how many seeds")
    found.add_argument("--block", type=int, default=block, help="seeds in a block")
    return found


def blocks(asked: argparse.Namespace) -> Iterator[range]:
    """The seeds of each block; the last may have fewer. Makes the folder."""
    asked.folder.mkdir(parents=True, exist_ok=True)
    end = asked.first + asked.count
    return (range(first, min(first + asked.block, end)) for first in range(asked.first, end, asked.block))


def report_of(
    folder: Path, name: str, seeds: range, run: Callable[[range], Report], mark: str = ""
) -> Report:
    """A block's report: the one in the folder, or a new one, written whole or not at all."""
    file = folder / f"{name}-{seeds[0]:06d}-{seeds[-1]:06d}{mark}.json"
    if file.exists():
        return dict(json.loads(file.read_text(encoding="utf-8")))
    report = run(seeds)
    part = file.with_suffix(".part")
    part.write_text(json.dumps(report, indent=1), encoding="utf-8")
    part.replace(file)
    return report
