"""How long `coilgen make` takes on eight layers of 40 turns against importing its libraries, and where.

Aim: under 2.5 times. Run: python tests/bench/bench_make.py [TEMPLATE]
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

RUNS = 5
AIM = 2.5
LIBRARIES = "import numpy, shapely, ezdxf, gerber_writer, click, pydantic"


def main(template: str = "stirrer-drive") -> None:
    from coilgen.catalogue import templates

    text = templates()[template]
    ratio(text)
    print()
    stages(text)


def ratio(text: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "design.toml").write_text(text, encoding="utf-8")
        imports, checked, made = [], [], []
        for _ in range(RUNS):  # in turn, so that a busy machine slows all of them
            imports.append(seconds(folder, "-c", LIBRARIES))
            checked.append(seconds(folder, "-m", "coilgen", "check", "design.toml"))
            made.append(seconds(folder, "-m", "coilgen", "make", "design.toml"))
    print(f"importing the libraries {min(imports):7.3f} s")
    print(f"coilgen check           {min(checked):7.3f} s  {min(checked) / min(imports):5.2f} times")
    print(f"coilgen make            {min(made):7.3f} s  {min(made) / min(imports):5.2f} times (aim: {AIM})")


def seconds(folder: str, *arguments: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], cwd=folder, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def stages(text: str) -> None:
    """One run in this process: what each stage, figure and export takes, imports included."""
    with timed("read"):
        from coilgen.design.reading import read_text

        design = read_text(text)
    with timed("import the stages"):
        from coilgen import job
    with timed("coil and art"):
        coil, board = job.draw(design)
    with timed("rules"):
        job.findings_of(design, coil, board)
    figures(job.quantities, design, coil, board)
    result = job.predict(design)
    exports(result)


def figures(quantities: Callable, design, coil, board) -> None:
    from coilgen.job import case_of

    with timed("import the figures"):
        kinds = quantities()
    case = case_of(design, coil, board)
    for name in kinds:
        with timed(f"  {name}", least=0.005):
            case.figure(name)


def exports(result) -> None:
    from coilgen.catalogue import specimens

    with timed("import the exports"):
        found = specimens("coilgen.exports", "EXPORT").values()
    files: dict[str, bytes] = {}
    for export in sorted(found, key=lambda each: each.bundles):
        with timed(f"  {export.name}", least=0.005):
            files |= export.files(replace(result, files=files))


@contextmanager
def timed(what: str, least: float = 0.0) -> Iterator[None]:
    """Prints what the block took, if it took so long."""
    start = time.perf_counter()
    yield
    took = time.perf_counter() - start
    if took >= least:
        print(f"{what:23} {took:7.3f} s")


if __name__ == "__main__":
    main(*sys.argv[1:])
