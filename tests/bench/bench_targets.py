"""Every promise of speed in one table: processor time against importing the libraries, paired in one run.

Run: python tests/bench/bench_targets.py [PART ...], of start make figures compare watch growth designs cold
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import math
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

LIBRARIES = "import numpy, shapely, ezdxf, gerber_writer, click, pydantic, rich"
RUNS = 3
SHEET = """
name = "sheet"
[winding]
shape = "square"
layers = 4
turns = 20
trace_width = 0.2
trace_spacing = 0.2
outer_size = 24
[board]
stackup = "rigid-4-layer-1.6mm"
outline = "square"
size = 28
[[core]]
material = "ferrite sheet"
form = "plate"
place = "bottom"
width = 26
depth = 26
thickness = 0.2
[magnet]
diameter = 10
thickness = 5
grade = "N42"
gap = 1
"""
HELD = """
name = "held"
[winding]
shape = "round"
layers = 4
turns = 20
trace_width = 0.2
trace_spacing = 0.2
outer_size = 25
[board]
stackup = "rigid-4-layer-1.6mm"
outline = "round"
size = 30
[pocket]
shape = "round"
size = 6.1
[[core]]
material = "soft iron"
form = "rod"
place = "pocket"
diameter = 6
[[core]]
material = "soft iron"
form = "disc"
place = "bottom"
diameter = 26
thickness = 2
[target]
material = "soft iron"
form = "disc"
diameter = 20
thickness = 2
gap = 0.5
"""
GROWN = """
name = "grown"
[winding]
shape = "{shape}"
layers = {layers}
turns = {turns}
trace_width = 0.12
trace_spacing = 0.12
inner_size = 10
[board]
stackup = "rigid-8-layer-1.6mm"
outline = "none"
"""


@dataclass(frozen=True, kw_only=True)
class Taken:
    """Of one process: elapsed and processor time, s, and its peak memory, MB."""

    elapsed: float
    used: float
    peak: float


def main(*parts: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        _write(Path(folder))
        base = least(lambda: _process(folder, "-c", LIBRARIES))
        print(f"{'what':46} {'wall s':>8} {'processor s':>12} {'MB':>6} {'ratio':>7}  aim")
        told("importing the libraries", base, base)
        for name in parts or _PARTS:
            for _ in _PARTS[name](folder, base):
                pass


def told(what: str, taken: Taken, base: Taken, aim: str = "", wall: bool = False) -> None:
    """A row; its ratio is of processor time, or of wall time."""
    ratio = taken.elapsed / base.elapsed if wall else taken.used / base.used
    print(
        f"{what:46} {taken.elapsed:8.2f} {taken.used:12.2f} {taken.peak:6.0f} {ratio:7.2f}  {aim}", flush=True
    )


def least(run: Callable[[], Taken], runs: int = RUNS) -> Taken:
    return min((run() for _ in range(runs)), key=lambda each: each.used)


def _process(folder: str, *arguments: str, **more: str) -> Taken:
    start = time.perf_counter()
    child = subprocess.Popen(
        [sys.executable, *arguments],
        cwd=folder,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=_kept_bytecode(folder) | more,
    )
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    elapsed = time.perf_counter() - start
    if child.returncode not in (0, 1):
        raise RuntimeError(f"{' '.join(arguments)} ended with {child.returncode}")
    return Taken(elapsed=elapsed, used=used.ru_utime + used.ru_stime, peak=used.ru_maxrss / 1024)


def _kept_bytecode(folder: str) -> dict[str, str]:
    """The environment of processes that keep bytecode, as installed packages have it."""
    told = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return told | {"PYTHONPYCACHEPREFIX": str(Path(folder, "bytecode"))}


def _coilgen(folder: str, *arguments: str) -> Taken:
    return _process(folder, "-m", "coilgen", *arguments)


def _write(folder: Path) -> None:
    from coilgen.catalogue import templates

    for name, text in {**templates(), "sheet": SHEET, "held": HELD}.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    latch = templates()["specimen-drawer-latch"].partition("[[variant]]")[0]
    (folder / "latch.toml").write_text(latch, encoding="utf-8")
    ten = "".join(f'[[variant]]\nname = "n{k}"\nwinding.turns = {18 - k}\n' for k in range(1, 11))
    for count, variants in ((1, ten.partition('[[variant]]\nname = "n2"')[0]), (10, ten)):
        (folder / f"latch-{count}.toml").write_text(f"{latch}\n{variants}", encoding="utf-8")


def _start(folder: str, base: Taken) -> Iterator[None]:
    for name in ("stirrer-drive", "specimen-drawer-latch"):
        told(f"check {name}", least(lambda name=name: _coilgen(folder, "check", f"{name}.toml")), base, "0.6")
        yield


def _make(folder: str, base: Taken) -> Iterator[None]:
    from coilgen.catalogue import templates

    for name, text in templates().items():
        cored = "[[core]]" in text or "[magnet]" in text or "[target]" in text
        made = least(lambda name=name: _coilgen(folder, "make", f"{name}.toml", "--accept-findings"), 2)
        told(f"make {name}", made, base, "4 of wall" if cored else "3", wall=cored)
        yield


def _figures(folder: str, base: Taken) -> Iterator[None]:
    for name, aim in (("stirrer-drive", "2.5"), ("optical-shutter", "2.5"), ("latch", "a quarter")):
        told(
            f"figures {name}", least(lambda name=name: _coilgen(folder, "figures", f"{name}.toml")), base, aim
        )
        yield


def _compare(folder: str, base: Taken) -> Iterator[None]:
    two = least(lambda: _coilgen(folder, "compare", "latch-1.toml", "--csv"), 1)
    told("compare of one variant, two rows", two, base)
    ten = least(lambda: _coilgen(folder, "compare", "latch-10.toml", "--csv"), 1)
    told("compare of ten variants", ten, base, "3 of a row")
    yield


def _watch(folder: str, base: Taken) -> Iterator[None]:
    """Of a process that goes on: one number tried, at once and whole, against the first full run."""
    from coilgen.watch.state import Remembered, full, quick
    from coilgen.watch.trial import changed

    for name in ("stirrer-drive", "latch"):
        text = Path(folder, f"{name}.toml").read_text(encoding="utf-8")
        lower, remembered = changed(text, {"drive.voltage": 4.0}), Remembered()
        whole, again = (
            _timed(partial(full, told, Path(folder), remembered=remembered)) for told in (text, lower)
        )
        at_once = _timed(lambda told=lower: quick(told, Path(folder)))
        print(
            f"{name}: full {whole:.2f} s, a voltage tried {again / whole:.0%}, at once {at_once / whole:.0%}"
        )
        yield


def _growth(folder: str, base: Taken) -> Iterator[None]:
    """Exponents of each figure's processor time, over turns and over layers."""
    for shape in ("round", "square"):
        for what, small, large in (
            ("turns", {"layers": 4, "turns": 9}, {"layers": 4, "turns": 80}),
            ("layers", {"layers": 1, "turns": 40}, {"layers": 8, "turns": 40}),
        ):
            _costs(shape, small)
            little, much = _costs(shape, small), _costs(shape, large)
            span = math.log(large[what] / small[what])
            for figure, cost in sorted(much.items(), key=lambda each: -each[1]):
                if cost > 0.02:
                    grown = math.log(cost / max(little.get(figure, 0.0), 1e-4)) / span
                    print(f"{shape} {what}: {figure:24} {cost:7.3f} s, grows by {grown:5.2f} (aim: 1.3)")
            yield


def _costs(shape: str, sizes: dict[str, int]) -> dict[str, float]:
    from coilgen.design.reading import read_text
    from coilgen.job import case_of, draw

    design = read_text(GROWN.format(shape=shape, **sizes))
    case = case_of(design, *draw(design))
    return {name: _timed(lambda name=name: case.figure(name)) for name in case.quantities}


def _timed(work: Callable[[], object]) -> float:
    begin = time.process_time()
    work()
    return time.process_time() - begin


def _designs(folder: str, base: Taken) -> Iterator[None]:
    for name in ("sheet", "held"):
        told(
            f"make {name}",
            _coilgen(folder, "make", f"{name}.toml", "--accept-findings"),
            base,
            "10 s, 300 MB",
        )
        yield


def _cold(folder: str, base: Taken) -> Iterator[None]:
    """The first cored design ever, and one where no compiled code can be kept."""
    for name in ("stirrer-drive", "latch"):
        warm = least(lambda name=name: _coilgen(folder, "figures", f"{name}.toml"), 2)
        told(f"warm: figures {name}", warm, base)
        with tempfile.TemporaryDirectory() as empty:
            first = _process(folder, "-m", "coilgen", "figures", f"{name}.toml", NUMBA_CACHE_DIR=empty)
        told(f"first ever: figures {name}", first, warm, "3 of warm")
        yield


_PARTS: dict[str, Callable[[str, Taken], Iterator[None]]] = {
    "start": _start,
    "make": _make,
    "figures": _figures,
    "compare": _compare,
    "watch": _watch,
    "growth": _growth,
    "designs": _designs,
    "cold": _cold,
}

if __name__ == "__main__":
    main(*sys.argv[1:])
