"""A sweep on the workers of a dask scheduler: the same rows, none lost with a worker, faults told."""

import os
import signal
import subprocess
import sys
import time

import pytest
from distributed import LocalCluster
from small_design import SMALL

from coilgen.design.reading import read_text
from coilgen.errors import UserError
from coilgen.study import sweep_cluster, sweep_rows
from coilgen.study.plan import plan
from coilgen.study.sweep import sweep
from coilgen.study.sweep_rows import rows

DESIGN = read_text(SMALL + "[drive]\nvoltage = 0.5\n")
FIGURES = ["resistance_20c", "current", "inductance"]


def in_order(blocks):
    return sorted((row for block in blocks for row in block), key=lambda row: row.number)


def test_an_address_where_no_scheduler_answers_is_told(monkeypatch) -> None:
    monkeypatch.setattr(sweep_cluster, "PATIENCE", 0.2)
    with pytest.raises(UserError, match=r"tcp://127\.0\.0\.1:9 does not answer as a scheduler"):
        sweep(DESIGN, {"drive.voltage": [1]}, FIGURES, cluster="tcp://127.0.0.1:9")
    with pytest.raises(UserError, match="--cluster: nowhere at all does not answer"):
        sweep(DESIGN, {"drive.voltage": [1]}, FIGURES, cluster="nowhere at all", screen=True)


@pytest.mark.slow
@pytest.mark.filterwarnings("default")
def test_a_local_cluster_computes_the_same_rows(monkeypatch) -> None:
    monkeypatch.setattr(sweep_rows, "LARGEST_BLOCK", 4)
    vary = {"winding.turns": [2, 3, 13], "drive.voltage": [0.5, 0.6, 0.7, 0.8]}
    expected = sweep(DESIGN, vary, FIGURES)
    screened = sweep(DESIGN, vary, FIGURES, screen=True)
    with LocalCluster(n_workers=2, threads_per_worker=2, processes=True, dashboard_address=None) as cluster:
        found = sweep(DESIGN, vary, FIGURES, cluster=cluster.scheduler_address)
        left = sweep(DESIGN, vary, FIGURES, cluster=cluster.scheduler_address, screen=True)
    assert found.rows == expected.rows
    assert left.rows == screened.rows


@pytest.fixture
def scheduler(tmp_path):
    """A scheduler and two workers as processes of their own: its address, and the workers."""
    started = []

    def start(*command):
        started.append(
            subprocess.Popen([sys.executable, "-m", *command], cwd=tmp_path, start_new_session=True)
        )
        return started[-1]

    told = tmp_path / "scheduler.json"
    start("distributed.cli.dask_scheduler", "--port", "0", "--no-dashboard", "--scheduler-file", str(told))
    workers = [
        start("distributed.cli.dask_worker", "--scheduler-file", str(told), "--nthreads", "1", "--no-nanny",
              "--no-dashboard")
        for _ in range(2)
    ]  # fmt: skip
    yield told, workers
    for process in reversed(started):
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()


@pytest.mark.slow
@pytest.mark.filterwarnings("default")
def test_a_worker_killed_half_way_loses_nothing(scheduler, monkeypatch) -> None:
    import json

    told, workers = scheduler
    end = time.monotonic() + 60
    while not told.exists() and time.monotonic() < end:
        time.sleep(0.2)
    address = json.loads(told.read_text())["address"]
    monkeypatch.setattr(sweep_rows, "LARGEST_BLOCK", 5)
    asked = plan(DESIGN, {"winding.turns": {"from": 1, "to": 6, "step": 0.1}}, FIGURES)
    found = []
    for block in rows(asked, range(asked.count), cluster=address):
        found.append(block)
        if len(found) == 3:
            os.killpg(workers[0].pid, signal.SIGKILL)
    assert workers[0].wait() == -signal.SIGKILL
    assert in_order(found) == in_order(rows(asked, range(asked.count)))
