"""What all tests share: one thread for small matrices, before numpy is imported; how examples are drawn; and
how many processes share the tests."""

import os
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import HealthCheck, settings

# Time limits would measure the machine's load. In CI the examples are the same on every run of a revision.
settings.register_profile(
    "coilgen",
    deadline=None,
    derandomize="CI" in os.environ,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("coilgen")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """None but this process for single files, which would wait longer for others than they take."""
    named = [Path(each.partition("::")[0]) for each in config.args]
    return 0 if all(each.suffix == ".py" for each in named) else None
