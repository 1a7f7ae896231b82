"""What all tests share: one thread for small matrices, before numpy is imported; how examples are drawn; how
many processes share the tests; and templates with all their files, which take long, made once in a run."""

import fcntl
import os
import pickle
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from coilgen.result.result import Result

# Time limits would measure the machine's load. In CI the examples are the same on every run of a revision.
settings.register_profile(
    "coilgen",
    deadline=None,
    derandomize="CI" in os.environ,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("coilgen")


_NUMBER = type(pytest.approx(1.0))
_USUAL = _NUMBER.tolerance.fget


def _tolerance(self: Any) -> float:
    """Of `pytest.approx`, without the 1e-12 that it allows besides what is asked for, unless 0 is expected.

    That would swallow any relative tolerance of capacitances, thin sections, nanohenries.
    """
    if self.abs is not None or self.expected == 0:
        return float(_USUAL(self))
    return float((_NUMBER.DEFAULT_RELATIVE_TOLERANCE if self.rel is None else self.rel) * abs(self.expected))


_NUMBER.tolerance = property(_tolerance)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """None but this process for single files, which would wait longer for others than they take."""
    named = [Path(each.partition("::")[0]) for each in config.args]
    return 0 if all(each.suffix == ".py" for each in named) else None


@pytest.fixture(scope="session")
def whole(tmp_path_factory: pytest.TempPathFactory) -> "Callable[[str], Result]":
    """Gives a template by its name with all figures and files; whichever process asks first makes it."""
    own = tmp_path_factory.getbasetemp()
    kept = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "templates"
    kept.mkdir(exist_ok=True)

    @cache
    def made(name: str) -> "Result":
        path = kept / name
        with path.open("a+b") as file:
            fcntl.flock(file, fcntl.LOCK_EX)  # others wait until it is made
            file.seek(0)
            if content := file.read():
                kept_result: Result = pickle.loads(content)
                return kept_result
            result = _made(name)
            file.write(pickle.dumps(result))
            return result

    return made


def _made(name: str) -> "Result":
    import coilgen
    from coilgen.catalogue import templates

    return coilgen.make(coilgen.read_text(templates()[name]))
