"""Processor time and memory of nine coils of 4 x 20 turns on a ring, over those of one such coil.

Aim: `figures` within 3 times, `make` within 4 times. Run: python tests/bench/bench_array.py [SHAPE] [--parts]
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import subprocess
import sys
import tempfile
from pathlib import Path

SHAPES = ("round", "wedge")
RUNS = 2
AIMS = {"figures": 3, "make": 4}
COIL = """
name = "{name}"
[winding]
shape = "{shape}"
layers = 4
turns = 20
trace_width = 0.15
trace_spacing = 0.15
{sizes}
[board]
stackup = "rigid-4-layer-1.6mm"
[via]
drill = 0.3
pad = 0.6
[drive]
current = 0.2
"""
SIZES = {
    "round": "inner_size = 6",
    "wedge": "inner_radius = 20\nouter_radius = 48\nangle = 39.5",
}
RING = {
    "round": '[array]\narrangement = "ring"\ncount = 9\nradius = 32\nphases = 3\n',
    "wedge": '[array]\narrangement = "ring"\ncount = 9\nphases = 3\n',
}


def main() -> None:
    for shape in [each for each in sys.argv[1:] if each in SIZES] or SHAPES:
        ratios(shape)
        if "--parts" in sys.argv:
            parts(shape)


def designs(shape: str) -> dict[str, str]:
    one, nine = (COIL.format(name=name, shape=shape, sizes=SIZES[shape]) for name in ("one", "nine"))
    return {"one": one, "nine": nine + RING[shape]}


def ratios(shape: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for name, text in designs(shape).items():
            Path(folder, f"{name}.toml").write_text(text, encoding="utf-8")
        for command in AIMS:
            one, nine = (best(folder, command, name) for name in ("one", "nine"))
            told = ", ".join(f"{took:.2f} s {peak:.0f} MB" for took, peak in (one, nine))
            print(f"{shape:6} {command:8} {told}: {nine[0] / one[0]:.2f} times (aim: {AIMS[command]})")


def best(folder: str, command: str, name: str) -> tuple[float, float]:
    return min(spent(folder, command, name) for _ in range(RUNS))


def spent(folder: str, command: str, name: str) -> tuple[float, float]:
    """Processor time, s, and peak memory, MB, of a command in a process of its own."""
    code = f"""
import resource, sys
from coilgen.cli import main
try:
    main({[command, name + ".toml"]!r})
except SystemExit as end:
    assert not end.code, end.code
used = resource.getrusage(resource.RUSAGE_SELF)
print(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, file=sys.stderr)
"""
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=folder, capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    took, peak = ran.stderr.split()[-2:]
    return float(took), float(peak)


def parts(shape: str) -> None:
    """Stages, figures and exports of both."""
    from bench_make import stages

    for name, text in designs(shape).items():
        print(f"-- {name}")
        stages(text)


if __name__ == "__main__":
    main()
