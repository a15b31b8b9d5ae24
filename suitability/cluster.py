"""The same tasks on several processes: of this machine, or of a cluster that is already there.

Tasks and plans go out, small results come back; rasters go through the run's folder, which every
worker must see. This is the only part of the program that knows dask.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, TypeVar

from suitability.errors import ResultError
from suitability.grid import Window
from suitability.plan import Plan

if TYPE_CHECKING:
    from distributed import Client

T = TypeVar("T")
K = TypeVar("K", Window, str)

# A task whose worker dies goes to another, so many times.
TRIES = 5


class Workers:
    """Worker processes that do tasks on tiles and rasters; see `suitability.spreading.Each`.

    Parameters
    ----------
    client : distributed.Client
        Connected to the scheduler.
    """

    def __init__(self, client: Client) -> None:
        self._client = client

    @property
    def count(self) -> int:
        """How many workers there are."""
        return max(1, len(self._client.scheduler_info(n_workers=-1)["workers"]))

    def __call__(
        self, task: Callable[[Plan, K], T], plan: Plan, items: Sequence[K]
    ) -> Iterator[tuple[K, T]]:
        """Do a task on every tile or raster; yield them with results as they end."""
        from distributed import as_completed  # noqa: PLC0415

        # One item is one piece of work even where two have the same result.
        futures = {
            self._client.submit(task, plan, item, pure=False, retries=TRIES): item for item in items
        }
        for future in as_completed(futures):
            yield futures[future], future.result()


@contextmanager
def local_workers(count: int) -> Iterator[Workers]:
    """Start worker processes on this machine, and end them afterwards.

    Parameters
    ----------
    count : int
        How many.

    Raises
    ------
    ResultError
        If dask is not installed.
    """
    _require_dask()
    import dask  # noqa: PLC0415
    from distributed import Client, LocalCluster  # noqa: PLC0415

    settings = {
        "distributed.scheduler.allowed-failures": TRIES,
        # The plan sets how large tiles are; a second watch over memory would stop workers early.
        "distributed.worker.memory.target": False,
        "distributed.worker.memory.spill": False,
        "distributed.worker.memory.pause": False,
        "distributed.worker.memory.terminate": False,
    }
    with (
        dask.config.set(settings),
        LocalCluster(
            n_workers=count, threads_per_worker=1, dashboard_address=":0", memory_limit=0
        ) as cluster,
        Client(cluster) as client,
    ):
        yield Workers(client)


@contextmanager
def workers_at(address: str) -> Iterator[Workers]:
    """Connect to a scheduler that is already there.

    Parameters
    ----------
    address : str
        Such as `tcp://host:8786`.

    Raises
    ------
    ResultError
        If dask is not installed or no scheduler answers.
    """
    _require_dask()
    from distributed import Client  # noqa: PLC0415

    try:
        client = Client(address, timeout="10s")
    except (OSError, ValueError, TimeoutError) as exc:
        msg = f"no scheduler answers at {address}"
        fix = "start one with `dask scheduler`, or check the address, such as tcp://host:8786"
        raise ResultError(msg, where="--scheduler", fix=fix) from exc
    with client:
        yield Workers(client)


def _require_dask() -> None:
    try:
        import distributed  # noqa: F401, PLC0415
    except ImportError as exc:
        msg = "worker processes need dask, which is not installed"
        fix = "pip install 'bat-box-suitability[cluster]'"
        raise ResultError(msg, where="--workers, --scheduler", fix=fix) from exc
