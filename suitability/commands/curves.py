"""`suitability curves`: the value functions of a run, with the land beneath them."""

from __future__ import annotations

from pathlib import Path

from suitability.commands.console import open_console, plain, show_progress


def show_curves(config: Path, out: Path | None, memory: str | None) -> None:
    """Draw the pages of curves and say where they are."""
    from suitability.config import load_run

    run = load_run(config)
    folder = out or run.settings.out or Path("runs") / config.stem
    from suitability.curves import write_curves
    from suitability.memory import memory_bytes
    from suitability.run import measured

    room = None if memory is None else memory_bytes(memory)
    with show_progress() as progress, measured(run, folder, memory=room, progress=progress) as plan:
        if progress is not None:
            progress("drawing curves", None)
        files = write_curves(plan)
    console = open_console()
    for path in files:
        console.print(plain(str(path)), highlight=False)
