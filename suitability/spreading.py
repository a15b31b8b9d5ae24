"""How a run's work is spread over tiles and threads, and how far it is told to be."""

from __future__ import annotations

import time
import warnings
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from rasterio.errors import NotGeoreferencedWarning

from suitability.grid import Window
from suitability.plan import Plan

# Told the stage and, where it is known, the share of it that is done.
Progress = Callable[[str, float | None], None]
T = TypeVar("T")
K = TypeVar("K", Window, str)

# Rasters put together at once, or windows judged.
THREADS = 2


class Each(Protocol):
    """A way to do a task on every tile or raster; yields them with results as they end."""

    def __call__(
        self, task: Callable[[Plan, K], T], plan: Plan, items: Sequence[K]
    ) -> Iterator[tuple[K, T]]:
        """Do the task."""


def one_after_another(
    task: Callable[[Plan, K], T], plan: Plan, items: Sequence[K]
) -> Iterator[tuple[K, T]]:
    """Do a task on one item after another in this process."""
    for item in items:
        yield item, task(plan, item)


def side_by_side(
    task: Callable[[Plan, K], T], plan: Plan, items: Sequence[K]
) -> Iterator[tuple[K, T]]:
    """Do a task that has no threads of its own on two items at once in this process."""
    with warnings.catch_warnings():
        # Rasterio silences this one within for arrays, which have no place on Earth. Filters are
        # those of all threads, and one that ends would take its silence from the other.
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        with ThreadPoolExecutor(THREADS) as pool:
            jobs = {pool.submit(task, plan, item): item for item in items}
            for job in as_completed(jobs):
                yield jobs[job], job.result()


@dataclass
class Stopwatch:
    """Which stage is at work, told to whoever watches, and how long each took."""

    progress: Progress | None = None
    seconds: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def stage(self, name: str) -> Iterator[Callable[[float], None]]:
        """Time a stage; the value given tells how far it is."""
        started = time.perf_counter()
        self._tell(name, None)
        yield lambda share: self._tell(name, share)
        self.seconds[name] = round(time.perf_counter() - started, 3)

    def _tell(self, name: str, share: float | None) -> None:
        if self.progress is not None:
            self.progress(name, share)


def telling(
    results: Iterator[tuple[K, T]], count: int, tell: Callable[[float], None]
) -> Iterator[tuple[K, T]]:
    """Pass results on and tell how far they are."""
    for done, result in enumerate(results, start=1):
        tell(done / count)
        yield result
