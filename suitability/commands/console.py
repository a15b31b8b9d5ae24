"""What every command prints through: a console, text as it is, stages while they run."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console

    from suitability.spreading import Progress


def open_console() -> Console:
    """Return where results are printed."""
    from rich.console import Console

    # A pipe has no width: wide enough that no column of the tables is folded.
    return Console(width=None if sys.stdout.isatty() else 120, soft_wrap=not sys.stdout.isatty())


def plain(text: str) -> str:
    """Return text from data or files so that it is shown as it is."""
    from rich.markup import escape

    return escape(text)


@contextmanager
def show_progress() -> Iterator[Progress | None]:
    """Show stages while they run; quiet where nobody watches."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bars

    columns: tuple[Any, ...] = (
        TextColumn("{task.description:18}"),
        BarColumn(),
        TimeElapsedColumn(),
    )
    with Bars(*columns, console=Console(stderr=True)) as bars:
        tasks: dict[str, Any] = {}

        def tell(stage: str, share: float | None) -> None:
            if stage not in tasks:
                for task in tasks.values():
                    bars.update(task, total=1, completed=1)
                tasks[stage] = bars.add_task(stage, total=None)
            if share is not None:
                bars.update(tasks[stage], total=1, completed=share)

        yield tell
        for task in tasks.values():
            bars.update(task, total=1, completed=1)
