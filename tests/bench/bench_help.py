"""How much longer than bare Python `coilgen --help` takes. Aim: 0.1 s.

Run: python tests/bench/bench_help.py
"""

import subprocess
import sys
import time

RUNS = 15
AIM = 0.1


def main() -> None:
    shown = seconds("-m", "coilgen", "--help")
    bare = seconds("-c", "pass")
    clicked = seconds("-c", "import click")
    print(f"bare Python             {bare:7.3f} s")
    print(f"with click              {clicked:7.3f} s")
    print(f"coilgen --help          {shown:7.3f} s")
    print(f"over bare Python        {shown - bare:7.3f} s (aim: under {AIM} s)")


def seconds(*arguments: str) -> float:
    """Least of several runs of Python."""
    return min(once(arguments) for _ in range(RUNS))


def once(arguments: tuple[str, ...]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
