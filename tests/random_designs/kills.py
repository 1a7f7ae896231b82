"""Kills commands at random moments, and holds what they leave against what they were to write.

`python tests/random_designs/kills.py FOLDER`: each block of seeds leaves a file in the folder, and is not run
again. Exit 1 on any breach.

What must hold after every kill of `make`, `panel`, `optimize`, `sweep` and of `watch` as it saves: every file
that is there is whole, of the run before or of this one, and those of `make` and `panel` are all of one run;
what the user put among them is as it was; so is the design file, which `watch` alone changes, from one whole
text to another. After some, the same command runs to its end (`watch` has then saved) and writes what it
writes in one go, and nothing else is left. Commands run in processes forked from one that has everything
loaded, each in a session of its own that is killed with all its workers.

Moments are drawn over a whole run, and every other time over the writing alone, from when its scratch shows.
"""

import argparse
import contextlib
import http.client
import json
import os
import random
import re
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path
from typing import Any, NoReturn

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("NUMBA_NUM_THREADS", "1")

from blocks import Report, blocks, parser, report_of

import coilgen
from coilgen.cli import main as command_line

Files = dict[str, bytes]

DESIGN = """# The user's own words stay.
name = "small"
winding = { shape = "round", layers = 2, turns = 6, trace_width = 0.3, trace_spacing = 0.3, outer_size = 14 }
board = { stackup = "rigid-2-layer-1.6mm", outline = "rectangle", width = "30 mm", height = "32 mm" }
terminals = { pitch = "5 mm" }
drive = { current = "100 mA" }
[optimize]
largest = "inductance"
[optimize.vary]
winding.turns = { from = 4, to = 9 }
[sweep]
winding.turns = { from = 3, to = 9, step = 0.5 }
drive.current = ["50 mA", "100 mA", "200 mA"]
[[variant]]
name = "fewer"
winding = { turns = 5 }
"""
OTHER = DESIGN.replace("turns = 6,", "turns = 7,")
TEXTS = (DESIGN, OTHER)
USERS = {
    "out/mine.txt": b"the user's own",
    "out/small/notes/bench.md": b"measured",
    "out/small/mine.csv": b"1",
}
EVERY = 10
"""Kills after which a command runs to its end."""
WRITING = 0.05
"""Seconds that writing takes, about."""
PATIENCE = 120.0


def main(arguments: list[str]) -> int:
    asked = _asked(arguments)
    trials = [each for each in _TRIALS if each.command in asked.commands]
    reports = [
        report_of(asked.folder, trial.command, seeds, partial(_block, trial))
        for seeds in blocks(asked)
        for trial in trials
    ]
    for trial in trials:
        _tell(trial.command, [report for report in reports if report["command"] == trial.command])
    return 1 if any(report["breaches"] for report in reports) else 0


def _asked(arguments: list[str]) -> argparse.Namespace:
    takes = parser(__doc__, "kills", count=20, block=20)
    takes.add_argument("--commands", nargs="+", default=[each.command for each in _TRIALS])
    return takes.parse_args(arguments)


def _tell(command: str, reports: Sequence[Report]) -> None:
    counts = {key: sum(report[key] for report in reports) for key in ("killed", "ended", "whole")}
    breaches = [breach for report in reports for breach in report["breaches"]]
    print(
        f"{command}: {counts['killed']} killed, {counts['ended']} had ended before; "
        f"{counts['whole']} then ran to their end; {len(breaches)} breaches"
    )
    for breach in breaches:
        print(f"  seed {breach['seed']}: {breach['says']}")


@dataclass(frozen=True, kw_only=True)
class Trial:
    """A command that is killed. options: what follows the design's name. scratch: shows that it writes.

    breaches: what is amiss with the files that it left, by the files of whole runs for each text.
    """

    command: str
    options: tuple[str, ...] = ()
    scratch: str
    breaches: "Callable[[Files, Sequence[Files]], list[str]]"

    @cached_property
    def whole(self) -> tuple[list[Files], float]:
        """Files of a run in one go for each text, and seconds that one takes."""
        found, began = [], time.monotonic()
        for text in TEXTS:
            with _laid(text) as place:
                assert _ended(self.begun(place)) in (0, 1)
                found.append(_files(place))
        return found, (time.monotonic() - began) / len(TEXTS)

    def begun(self, place: Path) -> int:
        return _forked([self.command, "small.toml", *self.options], place)


def _one_run(left: Files, whole: Sequence[Files]) -> list[str]:
    """All files are of one run, or none is there yet."""
    ours = {path: content for path, content in left.items() if path.startswith("out/small/")}
    runs = [
        {path: content for path, content in each.items() if path.startswith("out/small/")} for each in whole
    ]
    users = {path: content for path, content in USERS.items() if path.startswith("out/small/")}
    if ours in (users, *runs):
        return []
    return [f"{sum(ours.get(p) != c for p, c in each.items())} files are not those of a run" for each in runs]


def _whole_files(left: Files, whole: Sequence[Files]) -> list[str]:
    """Each file is of some run."""
    return [
        f"{path} is not whole"
        for path, content in left.items()
        if path.startswith("out/small-") and content not in [each.get(path) for each in whole]
    ]


def _rows(left: Files, whole: Sequence[Files]) -> list[str]:
    """Every line but the last, which may be broken off, is a row of the whole table."""
    lines = left.get("out/swept.csv", b"").split(b"\n")
    for each in whole:
        known = each["out/swept.csv"].split(b"\n")
        begins = any(line.startswith(lines[-1]) for line in known)
        if set(lines[:-1]) <= set(known) and len(set(lines[:-1])) == len(lines) - 1 and begins:
            return []
    return ["rows that no run writes"]


_TRIALS = (
    Trial(
        command="make",
        options=("--accept-findings", "--out", "out"),
        scratch="out/.small-delivery",
        breaches=_one_run,
    ),
    Trial(
        command="panel",
        options=("--accept-findings", "--out", "out"),
        scratch="out/.small-delivery",
        breaches=_one_run,
    ),
    Trial(
        command="optimize",
        options=("--out", "out"),
        scratch="out/.small-optimum.toml-delivery",
        breaches=_whole_files,
    ),
    Trial(
        command="sweep",
        options=("--figures", "inductance", "--workers", "1", "--out", "out/swept.csv"),
        scratch="out/.swept.html-delivery",
        breaches=_rows,
    ),
    Trial(command="watch", scratch=".small.toml-delivery", breaches=lambda left, whole: []),
)


def _block(trial: Trial, seeds: range) -> Report:
    report: Report = {"command": trial.command, "killed": 0, "ended": 0, "whole": 0, "breaches": []}
    kill = _kill_saving if trial.command == "watch" else _kill
    with _laid(DESIGN) as place:
        for seed in seeds:
            kill(trial, place, seed, report)
    return report


def _kill(trial: Trial, place: Path, seed: int, report: Report) -> None:
    chosen = random.Random(seed)
    whole, seconds = trial.whole
    # A sweep goes on with the file that is there, which must be of the same design.
    number = 0 if trial.command == "sweep" else seed % len(TEXTS)
    (place / "small.toml").write_text(TEXTS[number], encoding="utf-8")
    child = trial.begun(place)
    if seed % 4 < 2:
        _await(child, place / trial.scratch)
        time.sleep(chosen.uniform(0.0, WRITING))
    else:
        time.sleep(chosen.uniform(0.0, seconds))
    ended = not _killed(child)
    report["ended" if ended else "killed"] += 1
    left = _files(place)
    told = [*_users_breaches(left, TEXTS[number : number + 1]), *trial.breaches(left, whole)]
    after: Files = {}
    if seed % EVERY == EVERY - 1:
        report["whole"] += 1
        status = _ended(trial.begun(place))
        if status not in (0, 1):
            told.append(f"did not go on: status {status}: {(place / 'err.txt').read_text(encoding='utf-8')}")
        after = _files(place, hidden=True)
        told += [
            f"{path} is not as in one go" for path in whole[number] if after.get(path) != whole[number][path]
        ]
        told += [f"{path} is left" for path in after if path not in whole[number]]
    if trial.command == "sweep" and (ended or after):
        (place / "out/swept.csv").unlink()
    report["breaches"] += [{"seed": seed, "says": says} for says in told]


def _kill_saving(trial: Trial, place: Path, seed: int, report: Report) -> None:
    """Saves other turns from the page, and kills the server meanwhile; it begins again every time."""
    chosen = random.Random(seed)
    (place / "out.txt").unlink(missing_ok=True)
    child = _forked(["watch", "small.toml", "--port", "0"], place)
    before = (place / "small.toml").read_text(encoding="utf-8")
    after = OTHER if before == DESIGN else DESIGN
    turns = re.search("turns = ([0-9]),", after)
    assert turns is not None and before in TEXTS
    port = _port(child, place / "out.txt")
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    headers = {"Content-Type": "application/json", "If-Match": '"1"'}
    connection.request("POST", "/save", json.dumps({"winding.turns": int(turns[1])}), headers)
    if seed % 4 < 2:
        _await(child, place / trial.scratch, PATIENCE if seed % 2 else 2.0)
        time.sleep(chosen.uniform(0.0, WRITING) / 10)
    else:
        time.sleep(chosen.uniform(0.0, 1.0))
    report["killed" if _killed(child) else "ended"] += 1
    connection.close()
    told = _users_breaches(_files(place), TEXTS)
    now = (place / "small.toml").read_text(encoding="utf-8")
    report["whole"] += now == after
    if now not in TEXTS:
        (place / "small.toml").write_text(DESIGN, encoding="utf-8")
    report["breaches"] += [{"seed": seed, "says": says} for says in told]


def _users_breaches(left: Files, texts: Sequence[str]) -> list[str]:
    told = [f"{path} is not as it was" for path, content in USERS.items() if left.get(path) != content]
    if left.get("small.toml") not in [text.encode() for text in texts]:
        told.append("the design file is not as it was")
    return told


@contextlib.contextmanager
def _laid(text: str) -> Any:
    """A folder with the design and what the user keeps beside its files."""
    with tempfile.TemporaryDirectory() as folder:
        for path, content in {**USERS, "small.toml": text.encode()}.items():
            file = Path(folder, path)
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(content)
        yield Path(folder)


def _files(place: Path, *, hidden: bool = False) -> Files:
    """All files by their paths; hidden ones, of runs under way, where asked for."""
    found = (each for each in place.rglob("*") if each.is_file())
    paths = {each.relative_to(place).as_posix(): each for each in found}
    return {
        path: file.read_bytes()
        for path, file in sorted(paths.items())
        if path not in ("out.txt", "err.txt") and (hidden or "/." not in f"/{path}")
    }


def _forked(command: Sequence[str], place: Path) -> int:
    child = os.fork()
    if child == 0:
        _be(command, place)
    return child


def _be(command: Sequence[str], place: Path) -> NoReturn:
    """The forked process, with its workers a session of its own."""
    os.setsid()
    os.chdir(place)
    status: object = 70
    with Path("out.txt").open("w", buffering=1) as sys.stdout, Path("err.txt").open("w") as sys.stderr:
        try:
            command_line(list(command), prog_name="coilgen")
        except SystemExit as end:
            status = end.code or 0
        except BaseException as error:  # told by the parent
            print(repr(error), file=sys.stderr)
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status if isinstance(status, int) else 70)


def _over(child: int) -> bool:
    return os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT) is not None


def _await(child: int, path: Path, patience: float = PATIENCE) -> None:
    """Until something is there, or the child has ended."""
    end = time.monotonic() + patience
    while not path.exists() and not _over(child) and time.monotonic() < end:
        time.sleep(0.0005)


def _killed(child: int) -> bool:
    """Kills a child with its workers; whether it was still running."""
    with contextlib.suppress(ProcessLookupError):  # it may be before its own session
        os.killpg(child, signal.SIGKILL)
    with contextlib.suppress(ProcessLookupError):
        os.kill(child, signal.SIGKILL)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL


def _ended(child: int) -> int:
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _port(child: int, told: Path) -> int:
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end and not _over(child):
        found = re.search(r"http://127\.0\.0\.1:([0-9]+)/", told.read_text() if told.exists() else "")
        if found:
            return int(found[1])
        time.sleep(0.005)
    raise RuntimeError("watch does not begin")


if __name__ == "__main__":
    coilgen.make(coilgen.read_text(DESIGN))  # loads all that a command imports
    sys.exit(main(sys.argv[1:]))
