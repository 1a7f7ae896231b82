"""Linear algebra on one thread inside the figures, and as before once they are left."""

import hashlib
import os
import subprocess
import sys
from threading import Barrier, Thread

import pytest
import scipy.linalg  # noqa: F401  # brings a library of its own
import threadpoolctl
from small_design import SMALL

from coilgen.design.reading import read_text
from coilgen.job import case_of, draw
from coilgen.physics.base.one_thread import one_thread
from coilgen.result.figure import Answer, Case, Quantity


def numbers() -> set[int]:
    """How many threads the libraries of linear algebra would run."""
    return {each["num_threads"] for each in threadpoolctl.threadpool_info() if each["user_api"] == "blas"}


@pytest.fixture(autouse=True)
def two_threads():
    with threadpoolctl.threadpool_limits(2, user_api="blas"):
        yield


def test_one_inside_and_as_many_as_before_outside():
    assert numbers() == {2}
    with one_thread():
        assert numbers() == {1}
        with one_thread():
            assert numbers() == {1}
        assert numbers() == {1}
    assert numbers() == {2}


def test_as_many_as_before_after_a_fault():
    with pytest.raises(ZeroDivisionError), one_thread():
        raise ZeroDivisionError
    assert numbers() == {2}


def test_who_stays_is_not_disturbed_by_who_leaves_first():
    both_inside, one_left = Barrier(2, timeout=20), Barrier(2, timeout=20)
    seen = []

    def first():
        with one_thread():
            both_inside.wait()
        one_left.wait()

    def second():
        with one_thread():
            both_inside.wait()
            one_left.wait()
            seen.append(numbers())

    threads = [Thread(target=each) for each in (first, second)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert seen == [{1}]
    assert numbers() == {2}


def test_figures_are_computed_inside():
    def compute(case: Case) -> Answer:
        return Answer(value=sorted(numbers()), model="")

    probe = Quantity(name="probe", unit="1", says="", group="electrical", compute=compute)
    design = read_text(SMALL)
    case = case_of(design, *draw(design))
    asked = Case(design=design, coil=case.coil, art=case.art, quantities={"probe": probe})
    assert asked.value("probe") == [1]
    assert numbers() == {2}


LOADED_INSIDE = """
import sys, numpy, threadpoolctl
from coilgen.physics.base.one_thread import one_thread
def numbers():
    return {each["num_threads"] for each in threadpoolctl.threadpool_info() if each["user_api"] == "blas"}
threadpoolctl.threadpool_limits(2, user_api="blas")
with one_thread():
    assert "scipy" not in sys.modules
    import scipy.linalg
    assert numbers() == {1}, numbers()
    with one_thread():
        assert numbers() == {1}, numbers()
assert numbers() == {2}, numbers()
"""


def test_scipy_loaded_inside_begins_with_one_and_gets_as_many_as_numpy_after():
    clean = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    subprocess.run([sys.executable, "-c", LOADED_INSIDE], env=clean, check=True)


DIGEST = """
import hashlib, coilgen
from coilgen.catalogue import templates
files = coilgen.make(coilgen.read_text(templates()["optical-shutter"])).files
print(hashlib.sha256(b"".join(files[path] for path in sorted(files))).hexdigest())
"""


@pytest.mark.slow
def test_same_files_whatever_the_environment_says_of_threads():
    """From Python, where no command line guards the environment."""
    names = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")
    clean = {name: value for name, value in os.environ.items() if name not in names}
    settings = [{}, *({"OMP_NUM_THREADS": number} for number in "124"), {"NUMBA_NUM_THREADS": "1"}]
    runs = [
        subprocess.run(
            [sys.executable, "-c", DIGEST], env={**clean, **each}, capture_output=True, text=True, check=True
        )
        for each in settings
    ]
    assert {len(run.stdout.strip()) for run in runs} == {hashlib.sha256().digest_size * 2}
    assert len({run.stdout for run in runs}) == 1
