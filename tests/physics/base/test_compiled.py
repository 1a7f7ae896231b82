"""Whether compiled code is at hand: by what lies in the cache's folder, and of which source."""

import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import numba
import pytest

from coilgen.physics.base import compiled
from coilgen.physics.base.compiled import compilation_due, own_folder


def somewhere():
    """Stands for a compiled function."""


LINE = somewhere.__code__.co_firstlineno


def kernel(folder, *, signatures=()):
    """A function as numba describes it, its cache in a folder, or without any."""
    stats = SimpleNamespace(cache_path=None if folder is None else str(folder))
    return SimpleNamespace(py_func=somewhere, signatures=signatures, stats=stats)


def test_nothing_is_due_of_code_in_memory():
    assert not compilation_due(kernel(None, signatures=[()]))


def test_code_is_due_without_a_folder_and_in_an_empty_one(tmp_path):
    assert compilation_due(kernel(None))
    assert compilation_due(kernel(tmp_path))


@pytest.mark.parametrize(
    ("name", "later", "due"),
    [
        (f"test_compiled.somewhere-{LINE}.py311.nbi", 1, False),
        (f"test_compiled.somewhere-{LINE}.py311.nbi", -1, True),
        (f"test_compiled.somewhere-{LINE + 1}.py311.nbi", 1, True),
        (f"test_compiled.elsewhere-{LINE}.py311.nbi", 1, True),
    ],
)
def test_only_code_of_the_source_as_it_is_counts(tmp_path, name, later, due):
    """later: than the source, s."""
    index = tmp_path / name
    index.touch()
    at = Path(__file__).stat().st_mtime + later
    os.utime(index, (at, at))
    assert compilation_due(kernel(tmp_path)) is due


class TestFolderAmongTemporaryFiles:
    """Where the package and the user's cache are both read-only; what lies there is run."""

    def test_is_kept_and_for_its_owner_alone(self, tmp_path):
        folder = own_folder(tmp_path)
        assert folder is not None
        assert folder.stat().st_mode & 0o777 == 0o700
        assert own_folder(tmp_path) == folder

    def test_one_that_others_may_write_to_is_left(self, tmp_path):
        own_folder(tmp_path).chmod(0o777)
        assert own_folder(tmp_path) is None

    def test_neither_a_link_nor_a_file_will_do(self, tmp_path):
        name = own_folder(tmp_path).name
        for number, make in enumerate((lambda path: path.symlink_to(tmp_path), lambda path: path.touch())):
            among = tmp_path / str(number)
            among.mkdir()
            make(among / name)
            assert own_folder(among) is None

    def test_numba_keeps_code_there(self, tmp_path, monkeypatch):
        def nowhere(function, *, cache):
            told.append((cache, numba.config.CACHE_DIR))

        told = []
        monkeypatch.setattr(compiled, "_compiled", nowhere)
        monkeypatch.setattr(numba.config, "CACHE_DIR", "")
        monkeypatch.setattr(compiled.tempfile, "gettempdir", lambda: str(tmp_path))
        compiled._kept_aside(somewhere)
        assert told == [(True, str(own_folder(tmp_path)))]


SUMS = """
import numpy as np
from coilgen.physics.core.brick_kernels import mean_inverse_distances
from coilgen.physics.core.charge_field import boxes_flux_density
near = mean_inverse_distances(np.array([2, 1, 2]), 4e-4, 4e-4, 12, 12, 3e-4, 2e-4, 5e-4)
box = np.array([[0.0, 0.0, 0.0, 1e-3, 2e-3, 3e-3, 1.0]])
field = boxes_flux_density(box, np.array([[1e-3, 2e-3, 3e-3], [5e-3, 0.0, 1e-3]]))
print(near.tobytes().hex(), field.tobytes().hex())
"""


@pytest.mark.slow
def test_the_process_that_compiles_finds_the_same_as_later_ones(tmp_path):
    """To the last digit, as the same design is to give the same bytes."""
    told = [
        subprocess.run(
            [sys.executable, "-c", SUMS],
            capture_output=True,
            check=True,
            env={**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)},
        ).stdout
        for _ in range(2)
    ]
    assert list(tmp_path.rglob("*.nbi"))
    assert told[0] == told[1]
    assert len(told[0]) > 1000
