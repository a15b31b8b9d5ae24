"""The sites for globes and maps on phones: OGC KML 2.2."""

from __future__ import annotations

import os
from xml.etree.ElementTree import Element, SubElement

import geopandas

from suitability.outputs.cautions import short_caution
from suitability.outputs.colours import SCORE_COLOURS
from suitability.outputs.points import shown_values, tidy
from suitability.outputs.site_words import in_lines
from suitability.outputs.xml_text import add_text, write_xml
from suitability.quantities import Quantities

_NAMESPACE = "http://www.opengis.net/kml/2.2"


def write_kml(
    path: str | os.PathLike[str],
    sites: geopandas.GeoDataFrame,
    *,
    title: str,
    quantities: Quantities,
) -> None:
    """Write a placemark a site, with all that the sites' tables tell of it as extended data.

    Points lie on the ground (the default of KML). No icon is named, for it would have to be
    fetched from somewhere: a reader takes its own pin, in the colour of the map's best land.

    Parameters
    ----------
    path : path
        Where to, such as `sites.kml`.
    sites : geopandas.GeoDataFrame
        As for `points.write_sites`.
    title : str
        What these sites are.
    quantities : Quantities
        How descriptions tell lengths; numbers that machines read stay metric.
    """
    table = tidy(sites).drop(columns=sites.geometry.name)
    root = Element("kml", {"xmlns": _NAMESPACE})
    document = SubElement(root, "Document")
    add_text(document, "name", title)
    add_text(document, "open", "1")
    add_text(document, "description", short_caution())
    style = SubElement(document, "Style", {"id": "site"})
    add_text(SubElement(style, "IconStyle"), "color", _kml_colour(SCORE_COLOURS[-3]))
    for row, shown in zip(table.to_dict("records"), shown_values(table), strict=True):
        mark = SubElement(document, "Placemark", {"id": f"site_{row['rank']}"})
        add_text(mark, "name", row["site"])
        add_text(mark, "description", "\n".join(in_lines(row, quantities)))
        add_text(mark, "styleUrl", "#site")
        data = SubElement(mark, "ExtendedData")
        for column, value in shown.items():
            add_text(SubElement(data, "Data", {"name": column}), "value", value)
        place = f"{row['lon_deg']:.6f},{row['lat_deg']:.6f}"
        add_text(SubElement(mark, "Point"), "coordinates", place)
    write_xml(path, root)


def _kml_colour(colour: str) -> str:
    """Return #rrggbb as KML writes it: opacity first, then blue, green, red."""
    red, green, blue = colour[1:3], colour[3:5], colour[5:7]
    return f"ff{blue}{green}{red}"
