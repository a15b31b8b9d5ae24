"""Files that name data elsewhere: what is on the web is read only if the run file names it."""

from __future__ import annotations

import re
from pathlib import Path

from suitability.config.paths import is_local
from suitability.errors import InputError
from suitability.inputs.places import StrPath

# How GDAL and OGR know a description of data elsewhere by its first bytes: virtual layers, map,
# tile, coverage and feature services, catalogues, pipelines. Virtual rasters come apart, for what
# they hold beside their sources may name addresses as well.
_DESCRIPTIONS = (b"<OGRVRTDataSource", b"<GDAL_WMS", b"<GDAL_WMTS", b"<WMTS", b"<WCS_GDAL",
                 b"<WMS_", b"<OGRWFSDataSource", b"<OGRWFSLayer", b"<OGROAPIFDataSource",
                 b"<GDALTileIndexDataset", b"<TileService", b"<Service", b"stac_version",
                 b"gdal_streamed_alg")  # fmt: skip
_VIRTUAL_RASTER = b"<VRTDataset"
_HEAD_BYTES = 65_536
_ADDRESS = re.compile(
    rb"(?:https?|ftp)://[^\s\"'<>]+|/vsi(?:curl|s3|gs|az|adls|oss|swift|webhdfs)[^\s\"'<>]*", re.I
)
_SOURCE = re.compile(rb"<Source(?:Filename|Dataset)[^>]*>([^<]*)<")

# For GDAL: what a local file names within is not fetched, either.
NOTHING_FETCHED = {"CPL_VSIL_CURL_ALLOWED_EXTENSIONS": "{none}"}


def require_here(path: StrPath, where: str) -> None:
    """Refuse a local file that only tells at which address data are.

    Parameters
    ----------
    path : str or path
        As the run file names it; addresses and what is no file pass.
    where : str
        File and line, for the error.

    Raises
    ------
    InputError
        If opening the file would fetch from an address that the run file does not name.
    """
    found = _address_in(path, set()) if is_local(str(path)) else None
    if found is not None:
        told = found.decode("utf-8", "replace")[:100]
        msg = f"the file holds no data of its own, but names an address to fetch them from: {told}"
        fix = "name the address itself in the run file, or fetch the data first"
        raise InputError(msg, where=where, fix=fix)


def _address_in(path: StrPath, seen: set[Path]) -> bytes | None:
    """Return an address that a file, or a virtual raster that it is made of, fetches from."""
    here = Path(path).resolve()
    if here in seen or not here.is_file():
        return None
    seen.add(here)
    try:
        with here.open("rb") as file:
            head = file.read(_HEAD_BYTES)
            is_virtual = _VIRTUAL_RASTER in head
            if not is_virtual and not any(mark in head for mark in _DESCRIPTIONS):
                return None
            text = head + file.read()
    except OSError:
        return None  # whoever reads it says so
    if not is_virtual:
        found = _ADDRESS.search(text)
        return found and found.group()
    sources = (_address_of(source, here, seen) for source in _SOURCE.findall(text))
    return next(filter(None, sources), None)


def _address_of(source: bytes, virtual: Path, seen: set[Path]) -> bytes | None:
    """Return the address that a source of a virtual raster is, or that it fetches from."""
    if (found := _ADDRESS.search(source)) is not None:
        return found.group()
    return _address_in(virtual.parent / source.decode("utf-8", "replace").strip(), seen)
