"""The sites in every form: for a GIS, a spreadsheet, a handheld and a phone."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import geopandas

from suitability.outputs.gpx import write_gpx
from suitability.outputs.kml import write_kml
from suitability.outputs.points import write_sites
from suitability.quantities import Quantities

SITE_FILES = ("sites.gpkg", "sites.geojson", "sites.csv", "sites.gpx", "sites.kml")


def write_site_files(
    folder: str | os.PathLike[str],
    sites: geopandas.GeoDataFrame,
    *,
    cautions: Sequence[str],
    title: str,
    quantities: Quantities,
) -> None:
    """Write all of `SITE_FILES`; the parameters are those of the writers."""
    write_sites(folder, sites, cautions=cautions, title=title)
    write_gpx(Path(folder) / "sites.gpx", sites, title=title, quantities=quantities)
    write_kml(Path(folder) / "sites.kml", sites, title=title, quantities=quantities)
