"""How long `coilgen compare` takes on the latch's variants against importing the libraries, in one run.

Aim: the table within 30 s on two processors. Run: python tests/bench/bench_compare.py [TEMPLATE]
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

LIBRARIES = "import numpy, scipy.fft, numba, shapely, click, pydantic"
ALONE = "import coilgen; from coilgen.study.compare import compare; compare(coilgen.read('design.toml'))"


def main(template: str = "specimen-drawer-latch") -> None:
    from coilgen.catalogue import templates

    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "design.toml").write_text(templates()[template], encoding="utf-8")
        command = ("-m", "coilgen", "compare", "design.toml", "--csv")
        taken(folder, *command)  # kernels are compiled once
        imports, _ = taken(folder, "-c", LIBRARIES)
        print(f"{'':24} {'elapsed':>9} {'processor':>10} {'times import':>13}")
        print(f"{'importing the libraries':24} {imports:7.2f} s")
        for name, arguments in (("one process", ("-c", ALONE)), ("coilgen compare", command)):
            elapsed, used = taken(folder, *arguments)
            print(f"{name:24} {elapsed:7.2f} s {used:8.2f} s {elapsed / imports:13.1f}")


def taken(folder: str, *arguments: str) -> tuple[float, float]:
    """Elapsed and processor time, s; that of its workers too."""
    start, before = time.perf_counter(), os.times()
    subprocess.run([sys.executable, *arguments], cwd=folder, check=True, stdout=subprocess.DEVNULL)
    after = os.times()
    used = after.children_user - before.children_user + after.children_system - before.children_system
    return time.perf_counter() - start, used


if __name__ == "__main__":
    main(*sys.argv[1:])
