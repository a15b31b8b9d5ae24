"""The sites as waypoints for handhelds and phones: GPX 1.1."""

from __future__ import annotations

import os
from xml.etree.ElementTree import Element, SubElement

import geopandas
import pandas as pd

from suitability.outputs.cautions import short_caution
from suitability.outputs.points import tidy
from suitability.outputs.site_words import in_lines, in_one_line, short_names
from suitability.outputs.xml_text import add_text, write_xml
from suitability.quantities import Quantities

_NAMESPACE = "http://www.topografix.com/GPX/1/1"


def write_gpx(
    path: str | os.PathLike[str],
    sites: geopandas.GeoDataFrame,
    *,
    title: str,
    quantities: Quantities,
) -> None:
    """Write a waypoint a site; no sites make a valid file without any.

    No time is stated, so that the same sites give the same bytes.

    Parameters
    ----------
    path : path
        Where to, such as `sites.gpx`.
    sites : geopandas.GeoDataFrame
        As for `points.write_sites`.
    title : str
        What these sites are.
    quantities : Quantities
        How descriptions tell lengths; numbers that machines read stay metric.
    """
    rows = tidy(sites).drop(columns=sites.geometry.name).to_dict("records")
    names = short_names([row["rank"] for row in rows])
    root = Element("gpx", {"xmlns": _NAMESPACE, "version": "1.1", "creator": "suitability"})
    about = SubElement(root, "metadata")
    add_text(about, "name", title)
    add_text(about, "desc", short_caution())
    for name, row in zip(names, rows, strict=True):
        point = SubElement(
            root, "wpt", {"lat": f"{row['lat_deg']:.6f}", "lon": f"{row['lon_deg']:.6f}"}
        )
        if not pd.isna(row["ground_elevation_m"]):
            add_text(point, "ele", f"{row['ground_elevation_m']:.1f}")
        add_text(point, "name", name)
        add_text(point, "cmt", in_one_line(row, quantities))
        add_text(point, "desc", "\n".join(in_lines(row, quantities)))
        add_text(point, "sym", "Flag")  # handhelds of every make have one
        add_text(point, "type", "bat-box site")
    write_xml(path, root)
