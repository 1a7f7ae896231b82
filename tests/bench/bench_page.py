"""Times of the page and of a trial: run as `python tests/bench/bench_page.py`."""

import time
from collections.abc import Callable

from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.exports.page import page
from coilgen.exports.picture import cross_section, drawing
from coilgen.job import predict
from coilgen.watch.answer import Request, answer
from coilgen.watch.state import BEGINNING, renewed

HEADERS = {"host": "127.0.0.1:1", "content-type": "application/json"}


def best(run: Callable[[], object], times: int = 3) -> float:
    """Seconds of the fastest run."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        found.append(time.perf_counter() - start)
    return min(found)


def main() -> None:
    print(f"{'template':<24}{'figures':>9}{'drawing':>9}{'cut':>9}{'page':>9}{'kB':>8}{'trial':>9}  (ms)")
    for name, text in templates().items():
        result = predict(read_text(text))
        state = renewed(BEGINNING, text)
        body = b'{"winding.turns": 11}'
        trial = Request(method="POST", path="/try", headers=HEADERS, body=body)
        times = (
            best(lambda text=text: predict(read_text(text)), 1),
            best(lambda result=result: drawing.files(result)),
            best(lambda result=result: cross_section.files(result)),
            best(lambda result=result: page.files(result)),
        )
        size = len(page.page(result)) / 1e3
        answered = best(lambda trial=trial, state=state: answer(trial, state, 1))
        cells = "".join(f"{1e3 * each:9.0f}" for each in times)
        print(f"{name:<24}{cells}{size:8.0f}{1e3 * answered:9.0f}")


if __name__ == "__main__":
    main()
