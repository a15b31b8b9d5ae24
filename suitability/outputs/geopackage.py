"""Tables with geometry as GeoPackages: the same content gives the same bytes."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import geopandas
import pyogrio
import shapely

from suitability.errors import ResultError
from suitability.outputs.atomic import written

FEATURES = "features.gpkg"  # what a run knew of the land, as shapes

# A GeoPackage must say when it was last changed; the record of the run does, so that here the
# same table gives the same bytes.
NO_TIME = "1970-01-01T00:00:00.000Z"


def write_geopackage(
    path: str | os.PathLike[str],
    table: geopandas.GeoDataFrame,
    *,
    layer: str,
    geometry_type: str,
    title: str,
    description: str,
    file_metadata: Mapping[str, str] | None = None,
    layer_metadata: Mapping[str, str] | None = None,
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
    file_metadata, layer_metadata : mapping of str to str, optional
        Kept with the file, or with its layer. For the first, GDAL lays a side file beside a
        GeoPackage that it reads; `read_table` does not let it.
    """
    with written(path) as temporary, _standing_clock():
        pyogrio.write_dataframe(
            table,
            temporary,
            layer=layer,
            driver="GPKG",
            geometry_type=geometry_type,
            layer_options={"IDENTIFIER": title, "DESCRIPTION": description},
            dataset_metadata=file_metadata,
            layer_metadata=layer_metadata,
        )


def write_shapes(
    path: str | os.PathLike[str],
    layers: Mapping[str, geopandas.GeoDataFrame],
    titles: Mapping[str, str],
) -> None:
    """Write shapes alone, a layer for each kind of thing; an empty kind has a layer, too.

    Parameters
    ----------
    path : path
        Where to.
    layers, titles : mapping
        By the layer's name: the shapes, and what they are.
    """
    with written(path) as temporary, _standing_clock():
        for name, shapes in layers.items():
            pyogrio.write_dataframe(
                shapes[[shapes.geometry.name]],
                temporary,
                layer=name,
                driver="GPKG",
                geometry_type="Unknown",
                layer_options={"IDENTIFIER": titles[name]},
                append=Path(temporary).exists(),
            )


def read_shapes(path: str | os.PathLike[str], layer: str) -> geopandas.GeoDataFrame | None:
    """Return the shapes of a layer; None where the file has no such layer, or is not there.

    Raises
    ------
    ResultError
        If the file is there and cannot be read.
    """
    if not Path(path).exists():
        return None
    try:
        return read_table(path, layer)
    except pyogrio.errors.DataLayerError:
        return None


def read_table(path: str | os.PathLike[str], layer: str) -> geopandas.GeoDataFrame:
    """Return a layer with its columns, and leave no side file.

    Raises
    ------
    pyogrio.errors.DataLayerError
        If the file has no such layer.
    ResultError
        If it cannot be read.
    """
    try:
        with _configured("GDAL_PAM_ENABLED", "NO"):
            return pyogrio.read_dataframe(path, layer=layer)
    except pyogrio.errors.DataLayerError:
        raise
    except (RuntimeError, ValueError, shapely.errors.ShapelyError) as exc:
        msg = f"layer {layer} of this result cannot be read: {exc}"
        raise ResultError(msg, where=path, fix="run `suitability screen` again") from exc


def read_metadata(path: str | os.PathLike[str]) -> dict[str, str]:
    """Return what is kept with a GeoPackage's layer; nothing if it is missing or damaged."""
    try:
        found = pyogrio.read_info(path)["layer_metadata"]
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError):
        return {}
    return {str(key): str(value) for key, value in (found or {}).items()}


def _standing_clock() -> AbstractContextManager[None]:
    """Let GDAL write the same time of change whenever it writes."""
    return _configured("OGR_CURRENT_DATE", NO_TIME)


@contextmanager
def _configured(option: str, value: str) -> Iterator[None]:
    """Set an option of GDAL for a while."""
    pyogrio.set_gdal_config_options({option: value})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({option: None})
