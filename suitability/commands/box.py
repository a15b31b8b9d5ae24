"""`suitability box FILE`: a box on offer or home-made, held against what is wanted of one."""

from __future__ import annotations

from pathlib import Path

from suitability.commands.console import open_console, plain
from suitability.errors import ConfigError


def show_box(path: Path, bats: str) -> bool:
    """Print how a box comes out line by line; return whether nothing falls short."""
    from rich.table import Table

    from suitability.box.catalogue import load_catalogue
    from suitability.box.offered import held_against, read_offered

    groups = load_catalogue().species
    if bats not in groups:
        msg = f"there is no group of bats {bats!r}"
        raise ConfigError(msg, where="--bats", fix=f"choose from {', '.join(groups)}")
    lines = held_against(read_offered(path), groups[bats])
    table = Table(title=plain(f"{path.name}, for {groups[bats].title}"), title_justify="left")
    for heading in ("part", "this box", "wanted", "comes out", "evidence"):
        table.add_column(heading)
    for line in lines:
        table.add_row(
            line.part, plain(line.found), plain(line.wanted), line.verdict, line.ground.evidence
        )
    console = open_console()
    console.print(table)
    for ground in dict.fromkeys(line.ground for line in lines):
        conflict = f"; sources conflict: {ground.conflict}" if ground.conflict else ""
        console.print(f"- {plain(ground.basis + conflict)}", highlight=False)
    short = [line.part for line in lines if line.verdict == "falls short"]
    unknown = [line.part for line in lines if line.verdict == "not stated"]
    if unknown:
        console.print(plain(f"not stated: {', '.join(unknown)}"), highlight=False)
    console.print(plain(f"falls short: {', '.join(short) or 'nothing'}"), highlight=False)
    console.print("That a box meets all of it does not mean that bats move in.")
    return not short
