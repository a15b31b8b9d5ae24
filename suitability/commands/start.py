"""`suitability start DIR`: a first run file from a look at the inputs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from suitability.commands.console import open_console, plain
from suitability.errors import ConfigError

_UNITS = ("m", "ft", "us_survey_ft")


def start(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Where the run file goes.")],
    elevation: Annotated[str, typer.Option(help="Bare ground, a raster (DEM).")],
    land_cover: Annotated[str, typer.Option(help="Land-cover classes, a raster.")],
    streams: Annotated[
        list[str] | None, typer.Option(help="Lines or polygons of water; may be given again.")
    ] = None,
    canopy_height: Annotated[str | None, typer.Option(help="Height of trees, a raster.")] = None,
    buildings: Annotated[str | None, typer.Option(help="Footprints of buildings.")] = None,
    boundary: Annotated[str | None, typer.Option(help="The land on which sites may lie.")] = None,
    weather: Annotated[str | None, typer.Option(help="A typical year, EPW or TMY3.")] = None,
    keep_outs: Annotated[
        list[str] | None, typer.Option(help="Land without sites; may be given again.")
    ] = None,
    existing_boxes: Annotated[
        list[str] | None, typer.Option(help="Boxes already up; may be given again.")
    ] = None,
    wires: Annotated[
        list[str] | None, typer.Option(help="Overhead lines; may be given again.")
    ] = None,
    elevation_unit: Annotated[
        str | None, typer.Option(help="m, ft or us_survey_ft, where the file does not say.")
    ] = None,
    canopy_unit: Annotated[str | None, typer.Option(help="The same of the trees.")] = None,
    building_unit: Annotated[str | None, typer.Option(help="The same of the buildings.")] = None,
    legend: Annotated[
        str | None, typer.Option(help="nlcd, worldcover or your own; else by the codes.")
    ] = None,
    units: Annotated[str, typer.Option(help="What people read: metric or us.")] = "metric",
    title: Annotated[str | None, typer.Option(help="What land it is.")] = None,
) -> None:
    """Look at your files and write a first run file, run.yaml, that runs as it is."""
    from suitability.starting import start as start_run
    from suitability.starting.given import Given

    if units not in ("metric", "us"):
        msg = f"{units!r} is no system of units"
        raise ConfigError(msg, where="--units", fix="choose metric or us")
    read_as: dict[str, Any] = {
        "units": units,
        "elevation_unit": elevation_unit,
        "canopy_unit": canopy_unit,
        "building_unit": building_unit,
    }
    for name, unit in read_as.items():
        if name != "units" and unit is not None and unit not in _UNITS:
            msg = f"{unit!r} is no unit of heights"
            option = "--" + name.replace("_", "-")
            raise ConfigError(msg, where=option, fix=f"choose from {', '.join(_UNITS)}")
    given = Given(
        elevation=elevation,
        land_cover=land_cover,
        streams=tuple(streams or ()),
        canopy_height=canopy_height,
        buildings=buildings,
        boundary=boundary,
        weather=weather,
        keep_outs=tuple(keep_outs or ()),
        existing_boxes=tuple(existing_boxes or ()),
        wires=tuple(wires or ()),
        legend=legend,
        title=title,
        **read_as,
    )
    started = start_run(folder, given)
    console = open_console()
    for role, told in started.found:
        console.print(f"[bold]{role}[/bold]  {plain(told)}", highlight=False)
    for doubt in started.doubts:
        console.print(f"[bold]look:[/bold] {plain(doubt)}", highlight=False)
    for hint in started.hints:
        console.print(f"[bold]missing:[/bold] {plain(hint)}", highlight=False)
    path = plain(str(started.path))
    console.print(f"written: {path}", highlight=False)
    console.print(
        f"next: suitability check {path}, then suitability screen {path}", highlight=False
    )
