"""Time to write DXF, SVG, CSV and JSON, next to what importing ezdxf alone costs. Run it from anywhere."""

import subprocess
import sys
import time
from collections.abc import Callable

from coilgen.design.design import Design
from coilgen.exports.data import result_json
from coilgen.exports.layout_files import dxf_centrelines, dxf_outlines, pads_csv
from coilgen.exports.picture import drawing
from coilgen.geometry.offset import outline
from coilgen.job import draw
from coilgen.result.result import Result

TURNS = (10, 20, 40, 80)
SHAPES = ("round", "square")


def design(shape: str, turns: int) -> Design:
    return Design.model_validate(
        {
            "name": "bench",
            "winding": {
                "shape": shape,
                "layers": 8,
                "turns": turns,
                "trace_width": "0.1 mm",
                "trace_spacing": "0.1 mm",
                "outer_size": "60 mm",
            },
        }
    )


def result(shape: str, turns: int) -> Result:
    asked = design(shape, turns)
    coil, art = draw(asked)
    return Result(design=asked, coil=coil, art=art, findings=(), figures={}, cautions=())


def best(job: Callable[[], object], runs: int = 5) -> float:
    """Least of several times, s."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return min(times)


def import_time() -> float:
    """A bare interpreter that imports ezdxf, s."""
    return best(lambda: subprocess.run([sys.executable, "-c", "import ezdxf"], check=True), runs=3)


def main() -> None:
    baseline = import_time()
    print(f"python -c 'import ezdxf': {baseline * 1e3:.0f} ms; below ms, and the sum as a ratio to it\n")
    exports = (dxf_outlines, dxf_centrelines, drawing, pads_csv, result_json)
    titles = ["outline()", *(export.EXPORT.name for export in exports), "sum", "ratio"]
    print(f"{'eight layers of':<18}" + "".join(f"{title:>16}" for title in titles))
    for shape in SHAPES:
        for turns in TURNS:
            seen = result(shape, turns)
            offset = best(lambda seen=seen: [outline(trace.path, trace.width) for trace in seen.art.traces])
            each = [best(lambda export=export, seen=seen: export.files(seen)) for export in exports]
            row = [offset * 1e3, *(seconds * 1e3 for seconds in each), sum(each) * 1e3]
            print(
                f"{f'{turns} turns, {shape}':<18}"
                + "".join(f"{value:>16.1f}" for value in row)
                + f"{sum(each) / baseline:>16.2f}"
            )


if __name__ == "__main__":
    main()
