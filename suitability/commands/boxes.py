"""`suitability boxes`: which boxes are up, and where."""

from __future__ import annotations

from datetime import date, datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from suitability.commands.console import open_console, plain

boxes = typer.Typer(
    help="Keep a register of boxes: add, move, take down, list, export.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

DAY = ["%Y-%m-%d"]
RegisterOption = Annotated[
    str, typer.Option(metavar="REGISTER", help="A GeoPackage, or postgresql://user@host/database.")
]
_Name = Annotated[str, typer.Argument(metavar="BOX", help="Its name.")]
_At = Annotated[
    tuple[float, float] | None, typer.Option(metavar="LON LAT", help="Where, WGS 84; or:")
]
_Run = Annotated[Path | None, typer.Option(help="The folder of a run, for one of its sites.")]
_Site = Annotated[int | None, typer.Option(help="Rank of the site in the run.")]
_On = Annotated[datetime, typer.Option(formats=DAY, help="The day, year-month-day.")]
_Facing = Annotated[
    float | None, typer.Option(help="Degrees clockwise from true north; else the site's.")
]
_Height = Annotated[float | None, typer.Option(help="Mount height, metres; else the site's.")]
_DryRun = Annotated[bool, typer.Option("--dry-run", help="Say what would change, change nothing.")]
_MOST_SHOWN = 20


@boxes.command()
def add(
    name: _Name,
    register: RegisterOption,
    on: _On,
    at: _At = None,
    run: _Run = None,
    site: _Site = None,
    facing: _Facing = None,
    height: _Height = None,
    kind: Annotated[str | None, typer.Option(help="pole, wall or other.")] = None,
) -> None:
    """Add one box; a register that is not there is begun."""
    from suitability.follow_up.box_rows import import_boxes
    from suitability.follow_up.cells import Row
    from suitability.follow_up.register import open_register
    from suitability.follow_up.rows import Rows

    cells = _place(at, run, site, facing, height, kind, "suitability boxes add") | {"box": name}
    opened = open_register(register, create=True)
    given = Rows("suitability boxes add", (Row(1, cells),))
    found = import_boxes(opened, given, today=date.today(), put_up=on.date())
    _refuse(found.rejected, given.where)
    said = f"`{name}` is there already" if found.already else f"`{name}` is up since {on.date()}"
    open_console().print(plain(said), highlight=False)


@boxes.command("import")
def import_(
    source: Annotated[
        Path, typer.Argument(metavar="FILE", help="CSV, GPX, or the folder of a finished run.")
    ],
    register: RegisterOption,
    on: Annotated[
        datetime | None, typer.Option(formats=DAY, help="Day of putting up, where rows say none.")
    ] = None,
    site: Annotated[list[int] | None, typer.Option(help="Only this rank; may be repeated.")] = None,
    prefix: Annotated[str, typer.Option(help="Before the names of a run's sites.")] = "",
    dry_run: _DryRun = False,
    rejected: Annotated[
        Path | None, typer.Option(help="Write rows that are not taken there, with reasons.")
    ] = None,
) -> None:
    """Add boxes from sites of a run, CSV or GPX; what is there already is left as it is.

    CSV has a row a box in a place: box, lon_deg, lat_deg, put_up, and what else `export` writes.
    Exit code 1 if rows are not taken.
    """
    from tempfile import TemporaryDirectory

    from suitability.finished import FinishedRun
    from suitability.follow_up.box_rows import COLUMNS, import_boxes, read_boxes, rows_of_run
    from suitability.follow_up.register import open_register

    if source.is_dir():
        given = rows_of_run(FinishedRun.of(source), site or (), prefix)
    else:
        given = read_boxes(source)
    day = None if on is None else on.date()
    with TemporaryDirectory() as scratch:
        # A trial run begins no register: it is held against an empty one that goes away.
        begins = "://" not in register and not Path(register).exists()
        address = Path(scratch, "empty.gpkg") if dry_run and begins else register
        opened = open_register(address, create=not dry_run or begins)
        found = import_boxes(opened, given, today=date.today(), put_up=day, dry_run=dry_run)
    would = "would be " if dry_run else ""
    open_console().print(
        f"{found.boxes:,} boxes and {found.placements:,} places {would}added, "
        f"{found.already:,} there already, {len(found.rejected):,} rows not taken",
        highlight=False,
    )
    show_rejected(found.rejected, found.ignored, rejected, COLUMNS)


@boxes.command()
def move(
    name: _Name,
    register: RegisterOption,
    on: _On,
    at: _At = None,
    run: _Run = None,
    site: _Site = None,
    facing: _Facing = None,
    height: _Height = None,
    kind: Annotated[str | None, typer.Option(help="pole, wall or other.")] = None,
    why: Annotated[str, typer.Option(help="The reason.")] = "moved",
) -> None:
    """Move a box: its old place ends on that day, and the new one begins."""
    from suitability.follow_up import moves
    from suitability.follow_up.box_rows import checked_place
    from suitability.follow_up.cells import Cells, Row
    from suitability.follow_up.register import open_register

    command = "suitability boxes move"
    cells = _place(at, run, site, facing, height, kind, command)
    checked = Cells(Row(1, cells | {"box": name, "put_up": on.date().isoformat()}))
    to = checked_place(checked, date.today(), None)
    _refuse_faults(checked.faults, command)
    moves.move(open_register(register), name, on=on.date(), why=why, to=to, today=date.today())
    open_console().print(plain(f"`{name}` is in its new place since {on.date()}"), highlight=False)


@boxes.command("take-down")
def take_down(
    name: _Name,
    register: RegisterOption,
    on: _On,
    why: Annotated[str, typer.Option(help="The reason.")] = "taken down",
) -> None:
    """Note that a box is no longer up; its history stays."""
    from suitability.follow_up import moves
    from suitability.follow_up.register import open_register

    moves.take_down(open_register(register), name, on=on.date(), why=why, today=date.today())
    open_console().print(plain(f"`{name}` is down since {on.date()}"), highlight=False)


@boxes.command("list")
def list_(
    register: RegisterOption,
    every: Annotated[bool, typer.Option("--all", help="Former places, too.")] = False,
) -> None:
    """List the boxes that are up."""
    from rich.table import Table

    from suitability.follow_up.box_export import standing, told_places
    from suitability.follow_up.register import open_register

    places = open_register(register).placements()
    told = told_places(places if every else standing(places))
    table = Table()
    for heading in told.columns:
        table.add_column(heading)
    for row in told.itertuples(index=False, name=None):
        table.add_row(*(plain(cell) for cell in row))
    open_console().print(table)


class Square(StrEnum):
    """Sides of squares that boxes are told by to the public."""

    KM_1 = "1km"
    KM_10 = "10km"
    KM_100 = "100km"


@boxes.command()
def export(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="To write; .csv, .gpx, .geojson.")],
    register: RegisterOption,
    public: Annotated[
        bool, typer.Option("--public", help="For the public: only how many are in which square.")
    ] = False,
    square: Annotated[Square, typer.Option(help="Side of those squares.")] = Square.KM_10,
    by: Annotated[
        Path | None, typer.Option(help="For the public, by parcel: a file of polygons.")
    ] = None,
    layer: Annotated[str | None, typer.Option(help="Its layer, if it has several.")] = None,
    name: Annotated[str | None, typer.Option(help="Its field with the parcels' names.")] = None,
) -> None:
    """Write boxes: CSV with all their places, to import elsewhere, or GPX with those that are up.

    Both hold exact places of roosts: keep them from the public. For the public there is --public
    or --by: counts of the boxes that are up by square or by parcel (CSV or GeoJSON), without names,
    days, notes and observers.
    """
    from suitability.follow_up.box_export import SENSITIVE, export_boxes
    from suitability.follow_up.register import open_register

    console = open_console()
    if public or by is not None:
        _export_counts(file, register, square, by, layer, name)
        return
    count = export_boxes(open_register(register).placements(), file)
    console.print(plain(f"{count:,} places in {file}"), highlight=False)
    console.print(SENSITIVE)


def _export_counts(
    file: Path, register: str, square: Square, by: Path | None, layer: str | None, name: str | None
) -> None:
    from suitability.follow_up.public_export import by_parcel, by_square, write_public
    from suitability.follow_up.register import open_register

    opened = open_register(register)
    with opened.reading() as connection:
        placements, visits = opened.placements(connection), opened.visits(connection)
    if by is None:
        side_m = int(square.removesuffix("km")) * 1000
        found = by_square(placements, visits, side_m)
    else:
        found = by_parcel(placements, visits, by, layer=layer, name_field=name)
    write_public(file, found)
    console = open_console()
    areas = "square" if by is None else "parcel"
    plural = "" if len(found.rows) == 1 else "s"
    console.print(plain(f"{len(found.rows):,} {areas}{plural} in {file}"), highlight=False)
    console.print(plain(found.told), highlight=False)
    for warning in found.warnings:
        console.print(f"[bold]warning:[/bold] {plain(warning)}", highlight=False)


def show_rejected(
    rejected: Any, ignored: tuple[str, ...], to: Path | None, columns: tuple[str, ...]
) -> None:
    """Tell rows that are not taken, write them where wanted, and end with 1 if there are any."""
    from suitability.follow_up.rows import write_rejected

    console = open_console()
    if ignored:
        console.print(plain(f"columns left out: {', '.join(ignored)}"), highlight=False)
    if to is not None and rejected:
        write_rejected(to, rejected, columns)
    for each in rejected[:_MOST_SHOWN]:
        for fault in each.faults:
            console.print(plain(f"  row {each.row.number}, {fault}"), highlight=False)
    if len(rejected) > _MOST_SHOWN:
        more = len(rejected) - _MOST_SHOWN
        hint = "" if to else "; --rejected FILE writes them all"
        console.print(f"  and {more:,} more{hint}", highlight=False)
    if to is not None and rejected:
        console.print(plain(str(to)), highlight=False)
    if rejected:
        raise typer.Exit(1)


def _place(
    at: tuple[float, float] | None,
    run: Path | None,
    site: int | None,
    facing: float | None,
    height: float | None,
    kind: str | None,
    command: str,
) -> dict[str, str]:
    from suitability.errors import SuitabilityError

    if (at is None) == (run is None) or (run is None) != (site is None):
        msg = "give either --at LON LAT, or --run RUN with --site N"
        raise SuitabilityError(msg, where=command, fix="for the best site: --run RUN --site 1")
    cells: dict[str, str] = {}
    if run is not None and site is not None:
        from suitability.finished import FinishedRun
        from suitability.follow_up.box_rows import rows_of_run

        cells |= rows_of_run(FinishedRun.of(run), [site], "").rows[0].cells
    elif at is not None:
        cells |= {"lon_deg": str(at[0]), "lat_deg": str(at[1])}
    given = {"facing_deg": facing, "mount_height_m": height, "kind": kind}
    return cells | {key: str(value) for key, value in given.items() if value is not None}


def _refuse(rejected: Any, command: str) -> None:
    _refuse_faults([fault for each in rejected for fault in each.faults], command)


def _refuse_faults(faults: Any, command: str) -> None:
    from suitability.errors import SuitabilityError

    if faults:
        fault = faults[0]
        raise SuitabilityError(fault.what, where=f"{command}: {fault.column}", fix=fault.fix)
