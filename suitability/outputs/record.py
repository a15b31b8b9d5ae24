"""The run's record: what went in, what was assumed, what came out, with what software."""

from __future__ import annotations

import glob
import hashlib
import json
import math
import os
import platform
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date, datetime
from enum import Enum
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import rasterio
from pydantic import ValidationError

from suitability.config.criteria import Group
from suitability.decide import Judgement, judgement_from
from suitability.decide.judgement import combination_in_words
from suitability.decide.weighing import RANDOM_INDEX_SOURCE
from suitability.errors import InputError, ResultError
from suitability.outputs.atomic import write_text

RECORD = "run.json"
_SUM = "sha256_of_the_rest"  # its last key, by which damage and changes by hand are seen

# Files without which the first one reads differently; GDAL's own notes (.aux.xml) are left out,
# for a viewer adds them at will.
_COMPANIONS = {
    ".shp": (".shx", ".dbf", ".prj", ".cpg"),
    ".asc": (".prj",),
    ".tif": (".tfw",),
    ".img": (".ige",),
}
_PACKAGES = ("numpy", "numba", "rasterio", "pyproj", "pvlib", "geopandas", "shapely")


def write_record(path: str | os.PathLike[str], record: Mapping[str, Any]) -> None:
    """Write the record as JSON, its keys in the order given.

    Parameters
    ----------
    path : path
        Where to, such as `run.json`.
    record : mapping
        Plain values, mappings and sequences; numpy's numbers and arrays, paths, dates and
        enums are put in plain form. What is not a finite number becomes null.

    Raises
    ------
    TypeError
        If a value has no plain form.
    """
    plain = plain_form(record)
    whole = {**plain, _SUM: _sum_of_record(plain)}
    write_text(path, json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=2) + "\n")


def read_record(folder: str | os.PathLike[str]) -> dict[str, Any]:
    """Return the record of a finished run.

    Raises
    ------
    InputError
        If the folder holds none, or what it holds is none.
    """
    path = Path(folder) / RECORD
    try:
        record = json.loads(path.read_text(encoding="utf-8"))
        is_whole = isinstance(record, dict) and (
            _SUM not in record or record.pop(_SUM) == _sum_of_record(record)
        )
    except (FileNotFoundError, NotADirectoryError) as exc:
        msg = "this folder holds no finished run"
        fix = "name the folder that `suitability screen` wrote, or run it again"
        raise InputError(msg, where=folder, fix=fix) from exc
    except (OSError, ValueError, RecursionError) as exc:
        msg = f"the record of the run cannot be read: {exc}"
        raise InputError(msg, where=path, fix="run `suitability screen` again") from exc
    if not (isinstance(record, dict) and {"criteria", "sites"} <= record.keys()):
        msg = "the record of the run is not what a run writes"
        raise InputError(msg, where=path, fix="run `suitability screen` again")
    if not is_whole:
        msg = "the record of the run was damaged or changed since it was written"
        raise InputError(msg, where=path, fix="run `suitability screen` again")
    return record


def judgement_record(judgement: Judgement) -> dict[str, Any]:
    """Return the part of the record that tells how places were judged.

    `criteria` lists the criteria flat, each with its share of the whole, its curve in numbers and
    the groups that it lies in; `weights` tells of the whole and of each group how values combine
    and where weights come from; `judgement` is what `recorded_judgement` reads.
    """
    shares = zip(judgement.leaves, judgement.shares, strict=True)
    return {
        "criteria": [
            {
                **leaf.criterion.model_dump(mode="json"),
                "share": share,
                "groups": leaf.groups,
                "curve": asdict(leaf.curve),
            }
            for leaf, share in shares
        ],
        "weights": [
            {
                "of": branch.name,
                "combined_by": combination_in_words(branch),
                "come": str(branch.weights),
                "shares": {part.name: part.share for part in branch.parts},
                "consistency": branch.weights.consistency
                and {**asdict(branch.weights.consistency), "random_index_of": RANDOM_INDEX_SOURCE},
            }
            for branch in judgement.branches
        ],
        "judgement": judgement.stated.in_numbers().model_dump(mode="json"),
    }


def recorded_judgement(record: Mapping[str, Any]) -> Judgement:
    """Return how places were judged in a finished run.

    Parameters
    ----------
    record : mapping
        What `read_record` gives.

    Raises
    ------
    ResultError
        If another program, or an earlier one, wrote it.
    """
    try:
        return judgement_from(Group.model_validate(record.get("judgement")))
    except ValidationError as exc:
        msg = "the record of the run holds no judgement that this program writes"
        raise ResultError(msg, where=RECORD, fix="run `suitability screen` again") from exc


def file_hash(path: str | os.PathLike[str]) -> str:
    """Return the SHA-256 of an input, over all the files it is made of.

    One file gives its own sum. A shapefile and the like, or a folder that is one data set, gives
    the sum of the list `sha256sum` would print for its files in the order of their names.

    Parameters
    ----------
    path : path
        The input as the run file names it.

    Raises
    ------
    InputError
        If there is no such file.
    """
    main = Path(path)
    files = _files_of(main)
    if files == [main]:
        return _sum_of(main)
    base = main.parent if main.is_file() else main
    names = {file.relative_to(base).as_posix(): file for file in files}
    listing = "".join(f"{_sum_of(names[name])}  {name}\n" for name in sorted(names))
    return hashlib.sha256(listing.encode()).hexdigest()


def file_stamps(path: str | os.PathLike[str]) -> dict[str, tuple[int, int, int]]:
    """Return which file an input is, its size and when it was last written.

    By each file that it is made of: inode, bytes, nanoseconds.

    Raises
    ------
    InputError
        If there is no such file.
    """
    found = {file: file.stat() for file in _files_of(Path(path))}
    return {str(file): (of.st_ino, of.st_size, of.st_mtime_ns) for file, of in found.items()}


def versions() -> dict[str, str]:
    """Return the versions of what can change a result, by name."""
    found = {"python": platform.python_version(), "suitability": version("bat-box-suitability")}
    found |= {package: version(package) for package in _PACKAGES}
    return found | {"gdal": rasterio.__gdal_version__, "proj": pyproj.proj_version_str}


def _sum_of_record(plain: Mapping[str, Any]) -> str:
    return hashlib.sha256(json.dumps(plain, ensure_ascii=False).encode()).hexdigest()


def _files_of(main: Path) -> list[Path]:
    """Return the files that an input is made of.

    Raises
    ------
    InputError
        If there is no such file.
    """
    if not main.exists():
        msg = "there is no such file"
        raise InputError(msg, where=main, fix="check the path in the run file")
    if main.is_file():
        return _with_companions(main)
    return [file for file in main.rglob("*") if file.is_file()]


def _with_companions(main: Path) -> list[Path]:
    """Return a file and those that belong to it, whatever the case of their suffixes."""
    wanted = _COMPANIONS.get(main.suffix.lower(), ())
    beside = main.parent.glob(f"{glob.escape(main.stem)}.*")
    return [main, *(file for file in beside if file.suffix.lower() in wanted)]


def _sum_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def plain_form(value: Any) -> Any:  # noqa: PLR0911  one line for each kind of value
    """Return a value as JSON knows it; what is not a finite number becomes None."""
    if isinstance(value, Mapping):
        return {str(plain_form(key)): plain_form(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain_form(item) for item in value]
    if isinstance(value, np.ndarray | np.generic):
        return plain_form(value.tolist())
    if isinstance(value, Enum):
        return plain_form(value.value)
    if isinstance(value, os.PathLike):
        return Path(value).as_posix()
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return value
