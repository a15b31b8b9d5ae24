"""Styles beside sites and rasters, held to OGC 02-070 (SLD 1.0.0).

No schema of it was found in a package, so the order of elements that it wants stands here, from
memory.
"""

from xml.etree import ElementTree

import pytest

from suitability.outputs.colours import SCORE_COLOURS
from suitability.outputs.sld import score_shades, write_styles

SLD, OGC = "{http://www.opengis.net/sld}", "{http://www.opengis.net/ogc}"
# Of the elements used: what may stand in them, in that order.
ORDER = {
    "StyledLayerDescriptor": ["NamedLayer"],
    "NamedLayer": ["Name", "UserStyle"],
    "UserStyle": ["Title", "FeatureTypeStyle"],
    "FeatureTypeStyle": ["Rule"],
    "Rule": ["PointSymbolizer", "TextSymbolizer", "RasterSymbolizer"],
    "PointSymbolizer": ["Graphic"],
    "Graphic": ["Mark", "Size"],
    "Mark": ["WellKnownName", "Fill", "Stroke"],
    "TextSymbolizer": ["Label", "Font", "LabelPlacement", "Halo", "Fill"],
    "LabelPlacement": ["PointPlacement"],
    "PointPlacement": ["AnchorPoint", "Displacement"],
    "AnchorPoint": ["AnchorPointX", "AnchorPointY"],
    "Displacement": ["DisplacementX", "DisplacementY"],
    "Halo": ["Radius", "Fill"],
    "RasterSymbolizer": ["Opacity", "ColorMap"],
    "ColorMap": ["ColorMapEntry"],
    "Fill": ["CssParameter"],
    "Stroke": ["CssParameter"],
    "Font": ["CssParameter"],
}


@pytest.fixture
def styles(tmp_path):
    write_styles(tmp_path, title="Land <of> \x07 & all", lowest=0.5)
    return {path.stem: ElementTree.parse(path).getroot() for path in tmp_path.iterdir()}


def test_elements_stand_in_the_standards_order(styles):
    assert sorted(styles) == ["candidates", "excluded", "sites"]
    for root in styles.values():
        assert root.get("version") == "1.0.0"
        for parent in root.iter():
            names = [child.tag.removeprefix(SLD) for child in parent if OGC not in child.tag]
            allowed = ORDER.get(parent.tag.removeprefix(SLD), [])
            assert names == sorted(names, key=allowed.index), parent.tag


def test_colours_of_the_map_lie_at_the_middle_of_their_classes(styles):
    entries = list(styles["candidates"].iter(f"{SLD}ColorMapEntry"))
    assert [entry.get("color") for entry in entries] == list(SCORE_COLOURS)
    values = [float(entry.get("quantity")) for entry in entries]
    assert values == pytest.approx([0.525 + 0.05 * step for step in range(10)])
    assert entries[0].get("label") == "0.5 to 0.55"
    assert score_shades(0.9)[-1].label == "0.99 to 1"


def test_land_that_is_not_out_is_clear(styles):
    clear, grey = styles["excluded"].iter(f"{SLD}ColorMapEntry")
    assert (clear.get("quantity"), clear.get("opacity")) == ("0", "0")
    assert grey.get("quantity") == "1"
    assert float(grey.get("opacity")) > 0


def test_sites_are_labelled_by_rank(styles):
    assert [name.text for name in styles["sites"].iter(f"{OGC}PropertyName")] == ["rank"]
    title = styles["sites"].find(f".//{SLD}Title").text
    assert title == "Land <of> \ufffd & all: sites"
