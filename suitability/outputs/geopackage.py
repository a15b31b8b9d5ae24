"""Tables with geometry as GeoPackages: the same content gives the same bytes."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

import geopandas
import pyogrio

from suitability.outputs.atomic import written

# A GeoPackage must say when it was last changed; the record of the run does, so that here the
# same table gives the same bytes.
_NO_TIME = "1970-01-01T00:00:00.000Z"


def write_geopackage(
    path: str | os.PathLike[str],
    table: geopandas.GeoDataFrame,
    *,
    layer: str,
    geometry_type: str,
    title: str,
    description: str,
    metadata: Mapping[str, str],
) -> None:
    """Write a table as the only layer of a GeoPackage.

    Parameters
    ----------
    path : path
        Where to.
    table : geopandas.GeoDataFrame
        No column may be called `fid`.
    layer, geometry_type : str
        The layer's name, and the type of its geometries.
    title, description : str
        What the layer is, and what to heed.
    metadata : mapping of str to str
        Kept with the file, beside the title.
    """
    with written(path) as temporary, _standing_clock():
        pyogrio.write_dataframe(
            table,
            temporary,
            layer=layer,
            driver="GPKG",
            geometry_type=geometry_type,
            layer_options={"IDENTIFIER": title, "DESCRIPTION": description},
            dataset_metadata={"TITLE": title, **metadata},
        )


def read_metadata(path: str | os.PathLike[str]) -> dict[str, str]:
    """Return what is kept with a GeoPackage; nothing if there is none or it is damaged."""
    try:
        found = pyogrio.read_info(path)["dataset_metadata"]
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError):
        return {}
    return {str(key): str(value) for key, value in (found or {}).items()}


@contextmanager
def _standing_clock() -> Iterator[None]:
    """Let GDAL write the same time of change whenever it writes."""
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": _NO_TIME})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})
