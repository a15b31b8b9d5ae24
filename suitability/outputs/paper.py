"""Pages to print: sizes of paper, and files that hold a page whole, the same bytes each time."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Literal

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from suitability.errors import InputError
from suitability.outputs.atomic import written
from suitability.outputs.figure_parts import Sheet

Paper = Literal["letter", "a4"]

DPI = 300
SIZES_IN: dict[Paper, tuple[float, float]] = {  # upright; A4 by ISO 216
    "letter": (8.5, 11.0),
    "a4": (210 / 25.4, 297 / 25.4),
}
SUFFIXES = (".png", ".pdf", ".svg")
# Hatched maps came out smaller than by the usual level 6, and in two thirds of the time.
_PACKING = {"compress_level": 3}

# Neither date nor program: the same run gives the same bytes.
_UNDATED: dict[str, dict[str, str | None]] = {
    ".png": {"Software": None},
    ".pdf": {"CreationDate": None, "ModDate": None, "Creator": None, "Producer": None},
    ".svg": {"Date": None, "Creator": None, "Format": None, "Type": None},
}


def blank_page(width_in: float, height_in: float) -> tuple[Figure, Sheet]:
    """Return a page, and the sheet of its size to draw words on."""
    figure = Figure(figsize=(width_in, height_in), dpi=DPI)
    canvas: Any = FigureCanvasAgg(figure)  # its methods carry no types
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, width_in), ylim=(0, height_in))
    axes.axis("off")
    return figure, Sheet(axes, canvas.get_renderer(), DPI)


def require_suffix(path: str | os.PathLike[str]) -> None:
    """Refuse a file whose name says no kind of page, before the work.

    Raises
    ------
    InputError
        If it does not end in .png, .pdf or .svg.
    """
    if Path(path).suffix.lower() not in SUFFIXES:
        msg = "the name of the file says none of the kinds that a page can be written as"
        raise InputError(msg, where=path, fix="let it end in .png, .pdf or .svg")


def write_pages(
    path: str | os.PathLike[str], pages: Sequence[Figure], *, title: str
) -> tuple[Path, ...]:
    """Write pages by the suffix of the name: one PDF, or a PNG or an SVG for each.

    Parameters
    ----------
    path : path
        Where to; further pictures are numbered, `map.png`, `map_2.png`, ….
    pages : sequence of matplotlib.figure.Figure
        At their size.
    title : str
        What they show, for the file's own title.

    Returns
    -------
    tuple of pathlib.Path
        The files.

    Raises
    ------
    InputError
        If the suffix is none of the three, or the file cannot be written.
    """
    require_suffix(path)
    first = Path(path)
    if first.suffix.lower() == ".pdf":
        write_book(first, pages, title=title)
        return (first,)
    numbers = range(2, len(pages) + 1)
    names = [first, *(first.with_stem(f"{first.stem}_{number}") for number in numbers)]
    with _told(path):
        for name, page in zip(names, pages, strict=True):
            _write_picture(name, page, title)
    return tuple(names)


def write_book(path: str | os.PathLike[str], pages: Iterable[Figure], *, title: str) -> None:
    """Write pages as one PDF, each as it comes: no more than one need be kept.

    Parameters
    ----------
    path : path
        Where to.
    pages : iterable of matplotlib.figure.Figure
        At their size.
    title : str
        What they show, for the file's own title.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    # Loads what cuts fonts down, which takes a fifth of a second and no picture needs.
    from matplotlib.backends.backend_pdf import PdfPages  # noqa: PLC0415

    with (
        _told(path),
        written(path) as temporary,
        PdfPages(temporary, metadata={**_UNDATED[".pdf"], "Title": title}) as pdf,
    ):
        for page in pages:
            pdf.savefig(page, dpi=DPI)


@contextmanager
def _told(path: str | os.PathLike[str]) -> Iterator[None]:
    try:
        yield
    except OSError as exc:
        msg = f"the page cannot be written: {exc.strerror or exc}"
        raise InputError(msg, where=path, fix="name another file with --to, or make room") from exc


def _write_picture(path: Path, page: Figure, title: str) -> None:
    suffix = path.suffix.lower()
    with written(path) as temporary:
        metadata = {**_UNDATED[suffix], "Title": title}
        packing: dict[str, Any] = {"pil_kwargs": _PACKING} if suffix == ".png" else {}
        page.savefig(temporary, format=suffix[1:], dpi=DPI, metadata=metadata, **packing)
        if suffix == ".svg":
            # Its document type is a file on the web, which no reader of SVG needs.
            text = temporary.read_text(encoding="utf-8")
            text = re.sub(r"<!DOCTYPE[^>]*>\s*", "", text, count=1)
            temporary.write_text(text, encoding="utf-8", newline="")
