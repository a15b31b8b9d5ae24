"""`suitability form RUN`: a form for visits to the boxes."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from suitability.commands.console import open_console, plain


def show_form(run: Path | None, register: str | None, to: Path | None) -> None:
    """Write the form and say where it lies."""
    from suitability.errors import ConfigError
    from suitability.follow_up.form import write_register_form, write_visit_form

    console = open_console()
    if run is not None and register is None:
        path = write_visit_form(run, to)
        back = "and copy it back here after the round"
    elif register is not None and run is None:
        path = write_register_form(register, to, on=date.today())
        back = f"after the round: suitability visits import {path} --register {register}"
    else:
        msg = "a form is of the sites of a run or of the boxes of a register"
        fix = "name the folder of a run, or a register with --register"
        raise ConfigError(msg, where="suitability form", fix=fix)
    console.print(plain(str(path)), highlight=False)
    console.print("layers: boxes, and visits to fill in; open it in a GIS for phones that reads")
    console.print(plain(f"GeoPackages, {back}"), highlight=False)
    console.print("it holds exact places of roosts: keep it from the public")
