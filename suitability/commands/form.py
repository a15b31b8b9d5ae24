"""`suitability form RUN`: a form for visits to the boxes."""

from __future__ import annotations

from pathlib import Path

from suitability.commands.console import open_console, plain


def show_form(run: Path, to: Path | None) -> None:
    """Write the form and say where it lies."""
    from suitability.follow_up.form import write_visit_form

    path = write_visit_form(run, to)
    console = open_console()
    console.print(plain(str(path)), highlight=False)
    console.print("layers: boxes, and visits to fill in; open it in a GIS for phones that reads")
    console.print("GeoPackages, and copy it back here after the round")
