"""Pages of sites as files: one for all, or one for each parcel of land."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import shapely
from matplotlib.figure import Figure

from suitability.errors import InputError, ResultError
from suitability.finished import FinishedRun
from suitability.outputs.figure_map import first_class_from
from suitability.outputs.figure_parts import own_style
from suitability.outputs.landowner_sheet import landowner_page
from suitability.outputs.lettering import lacking_in_words, unprintable
from suitability.outputs.paper import Paper, write_book
from suitability.outputs.sheet_content import FieldSheet, LandownerSheet
from suitability.outputs.sheet_files import BOOKS, FOLDER, file_names, forget_books
from suitability.outputs.site_sheet import field_page
from suitability.parcels import read_parcels
from suitability.sheets.field import field_sheet
from suitability.sheets.land import LandAround
from suitability.sheets.plain import landowner_sheet
from suitability.sheets.site import SheetSite
from suitability.showing import picture_step

Reader = Literal["field", "landowner"]

_MOST_NAMED = 12  # of sites or parcels in a note


@dataclass(frozen=True)
class Book:
    """A file of pages.

    Parameters
    ----------
    path : pathlib.Path
        Where it lies.
    ranks : tuple of int
        Of the sites in it, a page each.
    """

    path: Path
    ranks: tuple[int, ...]


@dataclass(frozen=True)
class Written:
    """What was written.

    Parameters
    ----------
    books : tuple of Book
        The files.
    notes : tuple of str
        What the user has to know of them.
    """

    books: tuple[Book, ...]
    notes: tuple[str, ...]


def write_sheets(
    run: FinishedRun,
    ranks: Sequence[int],
    *,
    path: str | os.PathLike[str] | None = None,
    reader: Reader = "field",
    paper: Paper = "letter",
) -> Written:
    """Write a page for each site into one PDF.

    Parameters
    ----------
    run : FinishedRun
        The run.
    ranks : sequence of int
        Of the sites.
    path : path, optional
        Where to; left out, `sheets.pdf` or `sheets_landowner.pdf` in the run's folder.
    reader : {"field", "landowner"}
        For whom the pages are.
    paper : {"letter", "a4"}
        The pages' size.

    Raises
    ------
    InputError
        If the file cannot be written.
    ResultError
        If there are no sites.
    """
    if not ranks:
        msg = "there is no site to make a page of"
        raise ResultError(msg, where=run.folder, fix="see why land is out: `suitability summary`")
    target = run.folder / BOOKS[reader] if path is None else Path(path)
    if target.suffix.lower() != ".pdf":
        msg = "pages of sites are written as PDF"
        raise InputError(msg, where=target, fix="let the name end in .pdf")
    maker = SheetMaker(run, reader, paper)
    maker.write(target, ranks, "")
    return Written((Book(target, tuple(ranks)),), tuple(_lettering(run, maker.rows(ranks), ())))


def write_sheets_by_parcel(
    run: FinishedRun,
    ranks: Sequence[int],
    parcels: str | os.PathLike[str],
    field: str,
    *,
    layer: str | None = None,
    folder: str | os.PathLike[str] | None = None,
    reader: Reader = "field",
    paper: Paper = "letter",
) -> Written:
    """Write a PDF for each parcel of land that holds sites.

    Parameters
    ----------
    run : FinishedRun
        The run.
    ranks : sequence of int
        Of the sites.
    parcels : path
        Polygons.
    field : str
        Attribute that names a parcel; parcels of one name are one.
    layer : str, optional
        Layer of that file, if it has several.
    folder : path, optional
        Where to; left out, `sheets/` in the run's folder.
    reader : {"field", "landowner"}
        For whom the pages are.
    paper : {"letter", "a4"}
        The pages' size.

    Returns
    -------
    Written
        The notes name parcels without sites, and sites in no parcel or in several.

    Raises
    ------
    InputError
        If the parcels cannot be read, or a file cannot be written.
    ResultError
        If no parcel lies on the land, or none holds a site.
    """
    shapes, names, warnings = read_parcels(parcels, layer, field, run.grid)
    order = list(dict.fromkeys(names))
    maker = SheetMaker(run, reader, paper)
    points = shapely.points([(row["x_m"], row["y_m"]) for row in maker.rows(ranks)])
    points = points.reshape(len(ranks))
    found = sites_held(points, shapes.geometry.to_numpy(), names)
    held: dict[str, list[int]] = {name: [] for name in order}
    for rank, its in zip(ranks, found, strict=True):
        if its:
            held[its[0]].append(rank)
    if not any(held.values()):
        msg = "no site lies in any of the parcels"
        raise ResultError(msg, where=parcels, fix="leave --by out to have all sites in one file")
    own = run.folder / FOLDER
    target = own if folder is None else Path(folder)
    if folder is None:
        forget_books(own)
    books = []
    stems = file_names([name for name in order if held[name]])
    for stem, name in zip(stems, (name for name in order if held[name]), strict=True):
        path = target / f"{stem}.pdf"
        maker.write(path, held[name], name)
        books.append(Book(path, tuple(held[name])))
    notes = (
        *warnings,
        *_unheld(ranks, found, [name for name in order if not held[name]]),
        *_lettering(run, maker.rows(ranks), order),
    )
    return Written(tuple(books), notes)


class SheetMaker:
    """Pages of a run's sites, its land read once.

    Parameters
    ----------
    run : FinishedRun
        The run.
    reader : {"field", "landowner"}
        For whom the pages are.
    paper : {"letter", "a4"}
        The pages' size.
    """

    def __init__(self, run: FinishedRun, reader: Reader, paper: Paper) -> None:
        self._run, self._reader, self._paper = run, reader, paper
        self._land = LandAround(run)
        self._rows: dict[int, dict[str, Any]] = {
            int(row["rank"]): {str(key): value for key, value in row.items()}
            for row in run.sites.drop(columns=run.sites.geometry.name).to_dict("records")
        }
        self._lowest = first_class_from(run.small(picture_step(run.grid))[0])
        self._titles = {c.layer: run.layer_title(c.layer) for c in run.judgement.criteria}

    def rows(self, ranks: Sequence[int]) -> list[dict[str, Any]]:
        """Return the sites' rows of `sites.csv`."""
        return [self._rows[rank] for rank in ranks]

    def content(self, rank: int) -> FieldSheet | LandownerSheet:
        """Return what a site's page says."""
        site = SheetSite(self._run, self._land, self._rows[rank])
        if self._reader == "landowner":
            return landowner_sheet(site)
        return field_sheet(site, self._titles, self._lowest)

    def write(self, path: Path, ranks: Sequence[int], parcel: str) -> None:
        """Write a page for each site into a PDF; a parcel is named on each."""
        with own_style():
            title = ": ".join(part for part in (self._run.title, parcel) if part)
            write_book(path, (self._page(rank, parcel) for rank in ranks), title=title)

    def _page(self, rank: int, parcel: str) -> Figure:
        content = self.content(rank)
        if parcel:
            content = replace(content, land=f"{parcel}; {content.land}")
        if isinstance(content, LandownerSheet):
            return landowner_page(content, self._paper)
        return field_page(content, self._paper)


def sites_held(points: Any, shapes: Any, names: Sequence[str]) -> list[list[str]]:
    """Return the names of the parcels that each point lies in or on, in the file's order.

    Parameters
    ----------
    points : numpy.ndarray
        (n,) shapely points.
    shapes : numpy.ndarray
        (m,) shapely polygons.
    names : sequence of str
        (m,) of the parcels; those of one name are one.
    """
    tree = shapely.STRtree(shapes)
    at, inside = tree.query(points, predicate="intersects")
    found: list[list[str]] = [[] for _ in range(len(points))]
    for point, shape in sorted(zip(at.tolist(), inside.tolist(), strict=True)):
        if names[shape] not in found[point]:
            found[point].append(names[shape])
    return found


def _unheld(
    ranks: Sequence[int], found: Sequence[Sequence[str]], empty: Sequence[str]
) -> Iterator[str]:
    """Yield what did not come out as one site, one parcel."""
    outside = [str(rank) for rank, its in zip(ranks, found, strict=True) if not its]
    if outside:
        yield f"in no parcel, and on no page: site {_listed(outside)}"
    for rank, its in zip(ranks, found, strict=True):
        if len(its) > 1:
            yield f"site {rank} lies in {_listed(list(its))}; its page is with the first"
    if empty:
        yield f"without a site, and so without a file: {_listed(empty)}"


def _listed(names: Sequence[str]) -> str:
    more = len(names) - _MOST_NAMED
    told = ", ".join(names[:_MOST_NAMED])
    return f"{told} and {more} more" if more > 0 else told


def _lettering(
    run: FinishedRun, rows: Sequence[dict[str, Any]], names: Sequence[str]
) -> Iterator[str]:
    """Yield a note where pages cannot show what a text says."""
    texts = [run.title, *names, *(v for row in rows for v in row.values() if isinstance(v, str))]
    lacking = unprintable(texts)
    if lacking:
        yield lacking_in_words(_listed(lacking))
