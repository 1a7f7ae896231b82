"""A sweep's blocks on the workers of a dask scheduler, on this machine or on many."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from coilgen.errors import UserError
from coilgen.study.sweep_block import Block, Row, as_they_come, block_rows

if TYPE_CHECKING:
    from coilgen.study.plan import Plan

PATIENCE = 20.0
"""Seconds to wait for the scheduler."""
_AHEAD = 64
"""Blocks with the scheduler at a time: enough for many workers, few enough to stop soon."""


class ClusterError(UserError):
    """A cluster that cannot be used."""


def by_cluster(plan: Plan, blocks: Iterator[Block], address: str) -> Iterator[list[Row]]:
    """Rows as the workers finish blocks; the scheduler gives those of a lost worker to another one.

    Workers need the same coilgen. ClusterError for an address that does not answer or has no workers.
    """
    client = _connected(address)
    try:
        _refuse_other_versions(client)
        (kept,) = client.scatter([plan], broadcast=True)
        yield from as_they_come(
            lambda block: client.submit(block_rows, kept, block, pure=False), blocks, _AHEAD, _finished
        )
    finally:
        client.close()


def refuse_without_workers(address: str) -> None:
    """ClusterError, as of `by_cluster`, before anything else is computed."""
    client = _connected(address)
    try:
        _refuse_other_versions(client)
    finally:
        client.close()


def _connected(address: str) -> Any:
    try:
        from distributed import Client
    except ImportError:
        raise ClusterError(
            "--cluster: dask's distributed is not installed; pip install 'coilgen[cluster]'"
        ) from None
    try:
        client = Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise ClusterError(
            f"--cluster: {address} does not answer as a scheduler ({type(error).__name__}); "
            "start one with `dask scheduler`, whose first lines tell its address"
        ) from None
    try:
        client.wait_for_workers(1, timeout=PATIENCE)
    except TimeoutError:
        client.close()
        raise ClusterError(
            f"--cluster: {address} has no workers; start some with `dask worker {address} --nthreads 1`"
        ) from None
    return client


def _refuse_other_versions(client: Any) -> None:
    from coilgen import __version__

    versions = {*client.run(_version).values()}
    if versions != {__version__}:
        others = ", ".join(sorted(versions - {__version__}))
        raise ClusterError(
            f"--cluster: workers have coilgen {others}, here it is {__version__}; install the same"
        )


def _version() -> str:
    from coilgen import __version__

    return __version__


def _finished(tasks: Sequence[Any]) -> Sequence[Any]:
    from distributed import wait

    with tasks[0].client.as_current():
        return [*wait([*tasks], return_when="FIRST_COMPLETED").done]
