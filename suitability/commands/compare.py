"""`suitability compare`: what changed between two runs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from suitability.commands.console import open_console, plain

if TYPE_CHECKING:
    from rich.console import Console

    from suitability.outputs.comparison import Comparison
    from suitability.quantities import Quantities, Units


def show_comparison(first: Path, second: Path, out: Path | None, units: Units | None) -> None:
    """Compare two runs, write what differs and print it."""
    from suitability.compare import FILES, compare_runs
    from suitability.finished import FinishedRun

    found, folder = compare_runs(first, second, out, units=units)
    console, tell = open_console(), FinishedRun.of(second, units).quantities
    _show_settings(console, found, tell)
    if min(found.common_share) < 1:
        console.print(
            f"Only common land is compared: {found.common_share[0]:.0%} of the first run's, "
            f"{found.common_share[1]:.0%} of the second's.",
            highlight=False,
        )
    for line in found.in_words:
        console.print(plain(tell.retold(line)), highlight=False)
    _show_sites(console, found, tell)
    console.print(f"{len(FILES)} files in {plain(str(folder))}", highlight=False)


def _show_settings(console: Console, found: Comparison, tell: Quantities) -> None:
    from rich.table import Table

    if not found.settings:
        console.print("No setting and no input differs.")
        return
    table = Table(title="What was asked differently", title_justify="left")
    for heading in ("setting", "what it is", "was", "is"):
        table.add_column(heading, overflow="fold")
    for change in found.settings:
        table.add_row(
            plain(change.key),
            *(plain(tell.retold(text)) for text in (change.meaning, change.old, change.new)),
        )
    console.print(table)


def _show_sites(console: Console, found: Comparison, tell: Quantities) -> None:
    from rich.table import Table

    length = tell.axis("m")
    table = Table(title="Sites", title_justify="left")
    kinds = ("kind",) if "kind" in found.sites else ()
    for heading in (
        "change", *kinds, "was rank", "is rank", "score was", "score is", f"apart {length.unit}",
        "latitude", "longitude",
    ):  # fmt: skip
        is_word = heading in ("change", "kind")
        table.add_column(heading, justify="left" if is_word else "right")
    for row in found.sites.to_dict("records"):
        table.add_row(
            row["change"],
            *(row[kind] for kind in kinds),
            _shown(row["old_rank"], "d"),
            _shown(row["new_rank"], "d"),
            _shown(row["old_score"], ".3f"),
            _shown(row["new_score"], ".3f"),
            _shown(length.of(row["apart_m"]), ".0f"),
            _shown(row["lat_deg"], ".6f"),
            _shown(row["lon_deg"], ".6f"),
        )
    console.print(table)


def _shown(value: float, form: str) -> str:
    """Return a number; a dash where there is none, such as the old rank of a site that came."""
    from pandas import isna

    return "–" if isna(value) else f"{value:{form}}"
