"""Paths of the run file: relative ones start at the run file's own folder."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo

from suitability.config.unfit import UnfitValueError, shown

SHIPPED_LEGENDS = ("nlcd", "worldcover")
SHIPPED_PERMANENCE = ("words", "nhd")

# What GDAL opens without a path: /vsizip/..., https://..., GPKG:file:layer. One letter and a colon
# is a drive, not a driver.
_NOT_A_PATH = re.compile(r"/vsi|[A-Za-z][A-Za-z0-9+.-]+://|[A-Z][A-Z0-9_]+:")


def is_local(text: str) -> bool:
    """Tell whether a text is a path of this machine, not a web address or a GDAL source."""
    return _NOT_A_PATH.match(text) is None


def from_folder(text: str, folder: Path | None) -> str:
    """Return a path as it is seen from a folder; web addresses and GDAL sources stay as written.

    Parameters
    ----------
    text : str
        The path as written.
    folder : path or None
        The run file's folder; None leaves a path as it is.

    Raises
    ------
    UnfitValueError
        If the text can be no path. (A ValueError.)
    """
    if not text.isprintable():
        what = f"{shown(text)} holds a line break or a control character"
        raise UnfitValueError(
            what, "write the path on one line; in double quotes, \\ is written \\\\"
        )
    if folder is None or not is_local(text):
        return text
    try:
        # Links in the path stay: a raster's side files lie beside the link.
        return os.path.normpath(folder / Path(text).expanduser())
    except RuntimeError as exc:
        what = f"{shown(text)}: the home folder that ~ stands for is not known"
        raise UnfitValueError(what, "write the path in full") from exc


def _folder_of(info: ValidationInfo) -> Path | None:
    return info.context["folder"] if info.context else None


def _as_text(value: object) -> object:
    return os.fspath(value) if isinstance(value, os.PathLike) else value


def _file(value: str, info: ValidationInfo) -> str:
    return from_folder(value, _folder_of(info))


def _legend(value: str, info: ValidationInfo) -> str:
    return _shipped_or_own(value, info, SHIPPED_LEGENDS, "legend")


def _permanence(value: str, info: ValidationInfo) -> str:
    return _shipped_or_own(value, info, SHIPPED_PERMANENCE, "table of permanence")


def _shipped_or_own(
    value: str, info: ValidationInfo, shipped: tuple[str, ...], what_it_is: str
) -> str:
    if value in shipped:
        return value
    if not value.lower().endswith((".yaml", ".yml")):
        what = f"{shown(value)} is not the name of a {what_it_is}"
        fix = f"write {' or '.join(shipped)}, or the path of your own {what_it_is} (.yaml)"
        raise UnfitValueError(what, fix)
    return from_folder(value, _folder_of(info))


def _folder(value: object, info: ValidationInfo) -> object:
    text = _as_text(value)
    if not isinstance(text, str):
        return value
    if not text or not is_local(text):
        what = f"{shown(text)} is not a folder of this machine"
        raise UnfitValueError(what, "write a folder, such as ../runs/north_field")
    return Path(from_folder(text, _folder_of(info)))


_Text = Annotated[str, BeforeValidator(_as_text, json_schema_input_type=str), Field(min_length=1)]

FilePath = Annotated[_Text, AfterValidator(_file)]
LegendName = Annotated[_Text, AfterValidator(_legend)]
PermanenceName = Annotated[_Text, AfterValidator(_permanence)]
FolderPath = Annotated[
    Path,
    BeforeValidator(_folder, json_schema_input_type=Annotated[str, Field(min_length=1)]),
]
