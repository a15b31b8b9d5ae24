"""Styles of sites and rasters beside them: OGC Styled Layer Descriptor 1.0.0.

A GeoPackage could carry styles, but no adopted standard says how: the table that some programs
keep in it holds one program's own language. A descriptor is an open standard that GIS and map
servers read ("load style"). Version 1.0.0 rather than 1.1: more programs read it, and its colour
map is a plain list where 1.1 has functions.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from xml.etree.ElementTree import Element, SubElement

from suitability.outputs import colours
from suitability.outputs.xml_text import add_text, write_xml

STYLES = ("sites.sld", "candidates.sld", "excluded.sld")

_NAMESPACES = {
    "xmlns": "http://www.opengis.net/sld",
    "xmlns:ogc": "http://www.opengis.net/ogc",
    "version": "1.0.0",
}
_RIM = "#ffffff"


@dataclass(frozen=True)
class Shade:
    """A colour of a raster: values between two shades are blended.

    Parameters
    ----------
    value : float
        What has it.
    colour : str
        Such as `#f5e4b7`.
    opacity : float
        0 clear to 1 solid.
    label : str
        For a legend.
    """

    value: float
    colour: str
    opacity: float
    label: str


def write_styles(folder: str | os.PathLike[str], *, title: str, lowest: float) -> None:
    """Write `STYLES`, which give sites and rasters the map's colours elsewhere.

    Parameters
    ----------
    folder : path
        The run's.
    title : str
        What land it is.
    lowest : float
        Where the map's first class of the score starts.
    """
    folder = Path(folder)
    write_site_style(folder / "sites.sld", layer="sites", title=f"{title}: sites")
    for name, what, shades in (
        ("candidates", "score", score_shades(lowest)),
        ("excluded", "excluded land", excluded_shades()),
    ):
        write_raster_style(
            folder / f"{name}.sld", layer=name, title=f"{title}: {what}", shades=shades
        )


def score_shades(lowest: float) -> list[Shade]:
    """Return the map's colours of the score, each at the middle of its class.

    Parameters
    ----------
    lowest : float
        Where the map's first class starts.
    """
    width = (1 - lowest) / len(colours.SCORE_COLOURS)
    starts = [lowest + number * width for number in range(len(colours.SCORE_COLOURS))]
    return [
        Shade(round(start + width / 2, 6), colour, 1.0, f"{start:g} to {start + width:g}")
        for start, colour in zip(starts, colours.SCORE_COLOURS, strict=True)
    ]


def excluded_shades() -> list[Shade]:
    """Return clear for land that is not out, and grey from the first reason on."""
    grey = colours.QUIET_INK
    return [Shade(0, grey, 0.0, "candidates"), Shade(1, grey, 0.45, "excluded")]


def write_raster_style(
    path: str | os.PathLike[str], *, layer: str, title: str, shades: Sequence[Shade]
) -> None:
    """Write the style of a raster.

    Parameters
    ----------
    path : path
        Where to, such as `candidates.sld`.
    layer, title : str
        Its name, and what people read.
    shades : sequence of Shade
        By rising value.
    """
    root, rule = _style(layer, title)
    symbolizer = SubElement(rule, "RasterSymbolizer")
    add_text(symbolizer, "Opacity", "1.0")
    colour_map = SubElement(symbolizer, "ColorMap")
    for shade in shades:
        entry = {
            "color": shade.colour,
            "opacity": f"{shade.opacity:g}",
            "quantity": f"{shade.value:g}",
            "label": shade.label,
        }
        SubElement(colour_map, "ColorMapEntry", entry)
    write_xml(path, root)


def write_site_style(path: str | os.PathLike[str], *, layer: str, title: str) -> None:
    """Write the style of the sites: dots with their rank beside them."""
    root, rule = _style(layer, title)
    graphic = SubElement(SubElement(rule, "PointSymbolizer"), "Graphic")
    mark = SubElement(graphic, "Mark")
    add_text(mark, "WellKnownName", "circle")
    _parameter(SubElement(mark, "Fill"), "fill", colours.INK)
    stroke = SubElement(mark, "Stroke")
    _parameter(stroke, "stroke", _RIM)
    _parameter(stroke, "stroke-width", "1.5")
    add_text(graphic, "Size", "10")
    text = SubElement(rule, "TextSymbolizer")
    add_text(SubElement(text, "Label"), "ogc:PropertyName", "rank")
    font = SubElement(text, "Font")
    for name, value in (("font-family", "sans-serif"), ("font-size", "11"),
                        ("font-weight", "bold")):  # fmt: skip
        _parameter(font, name, value)
    _right_of_the_dot(SubElement(text, "LabelPlacement"))
    halo = SubElement(text, "Halo")
    add_text(halo, "Radius", "1.5")
    _parameter(SubElement(halo, "Fill"), "fill", _RIM)
    _parameter(SubElement(text, "Fill"), "fill", colours.INK)
    write_xml(path, root)


def _right_of_the_dot(placement: Element) -> None:
    point = SubElement(placement, "PointPlacement")
    for tag, names, values in (
        ("AnchorPoint", ("AnchorPointX", "AnchorPointY"), ("0", "0.5")),
        ("Displacement", ("DisplacementX", "DisplacementY"), ("8", "0")),
    ):
        part = SubElement(point, tag)
        for name, value in zip(names, values, strict=True):
            add_text(part, name, value)


def _style(layer: str, title: str) -> tuple[Element, Element]:
    """Return a document with one style, and its only rule."""
    root = Element("StyledLayerDescriptor", _NAMESPACES)
    named = SubElement(root, "NamedLayer")
    add_text(named, "Name", layer)
    style = SubElement(named, "UserStyle")
    add_text(style, "Title", title)
    rule = SubElement(SubElement(style, "FeatureTypeStyle"), "Rule")
    return root, rule


def _parameter(parent: Element, name: str, value: str) -> None:
    SubElement(parent, "CssParameter", {"name": name}).text = value
