"""GPX 1.1 and KML 2.2 against their published schemas.

GPX: gpx.xsd 1.1 (topografix), as the package trailer 0.67 ships it. KML: ogckml22.xsd (OGC
07-147r2), as fastkml 1.4.0 ships it.
"""

from xml.etree import ElementTree

import geopandas
import numpy as np
import pandas as pd
import pyogrio
import pyproj
import pytest
from lxml import etree

from suitability.grid import Grid
from suitability.outputs.gpx import write_gpx
from suitability.outputs.kml import write_kml
from suitability.outputs.points import add_coordinates
from suitability.quantities import Quantities

pytestmark = pytest.mark.download

GRID = Grid(pyproj.CRS.from_epsg(32616), 728_000.0, 4_454_000.0, 2.0, 500, 500)
GPX, KML = "{http://www.topografix.com/GPX/1/1}", "{http://www.opengis.net/kml/2.2}"


def some_sites(count):
    """Return sites, poles and walls, with letters and marks that XML minds."""
    step = np.arange(count)
    table = pd.DataFrame(
        {
            "rank": step + 1,
            "score": 0.9 - step / 1000,
            "x_m": 728_100.0 + 30 * step,
            "y_m": 4_453_300.0,
            "limiting": "slope_deg",
            "kind": np.where(step % 2, "wall", "pole"),
            "ground_elevation_m": np.where(step == 1, np.nan, 301.26),
            "facing_deg": np.where(step == 2, np.nan, 157.5),
            "facing_magnetic_deg": np.where(step == 2, np.nan, 359.7),
            "building": np.where(step % 2, "Barn <A> & \x0bsons", None),
            "material": None,
            "box": "three chambers",
            "colour": "dark",
            "mount_height_m": 4.572,
            "water_distance_exact_m": 87.4,
        }
    )
    return add_coordinates(table, GRID)


@pytest.fixture
def schemas(registry_package):
    gpx = registry_package("trailer", "0.67", sdist=True)
    (gpx_xsd,) = gpx.rglob("gpx_1_1.xsd")
    (kml_xsd,) = registry_package("fastkml", "1.4.0").rglob("ogckml22.xsd")
    parser = etree.XMLParser(no_network=True)
    return {
        name: etree.XMLSchema(etree.parse(path, parser))
        for name, path in (("gpx", gpx_xsd), ("kml", kml_xsd))
    }


@pytest.mark.parametrize("count", [0, 1, 12, 101])
def test_files_are_valid(tmp_path, schemas, count):
    for name, write in (("gpx", write_gpx), ("kml", write_kml)):
        path = tmp_path / f"sites.{name}"
        write(path, some_sites(count), title="Land & <more>", quantities=Quantities())
        schemas[name].assertValid(etree.parse(path))
    broken = etree.parse(tmp_path / "sites.gpx")
    broken.getroot().append(etree.Element(f"{GPX}metadata"))  # after the waypoints: too late
    assert not schemas["gpx"].validate(broken)


def test_waypoints_read_back_as_the_sites(tmp_path):
    sites = some_sites(12)
    write_gpx(tmp_path / "sites.gpx", sites, title="Land", quantities=Quantities())
    read = pyogrio.read_dataframe(tmp_path / "sites.gpx", layer="waypoints")
    assert read["name"].tolist() == [f"Site {rank:02}" for rank in range(1, 13)]
    np.testing.assert_allclose(read.geometry.x, sites["lon_deg"], atol=6e-7)
    np.testing.assert_allclose(read.geometry.y, sites["lat_deg"], atol=6e-7)
    assert read["ele"].isna().tolist() == [step == 1 for step in range(12)]
    assert read["ele"][0] == 301.3
    assert read["cmt"][0] == (
        "pole; face 158° true, 0° by compass; three chambers, dark; box 4.6 m up"
    )
    assert "Wall: Barn <A> & \ufffdsons" in read["desc"][1]


def test_names_fit_a_handheld_and_differ(tmp_path):
    write_gpx(tmp_path / "sites.gpx", some_sites(1000), title="Land", quantities=Quantities())
    root = ElementTree.parse(tmp_path / "sites.gpx").getroot()
    names = [name.text for name in root.iter(f"{GPX}name")][1:]
    assert names[0] == "Site 0001"
    assert len(set(names)) == 1000
    assert max(len(name) for name in names) <= 10
    assert names == sorted(names)


def test_placemarks_hold_the_tables_of_the_sites(tmp_path):
    sites = some_sites(3)
    write_kml(tmp_path / "sites.kml", sites, title="Land", quantities=Quantities())
    marks = list(ElementTree.parse(tmp_path / "sites.kml").getroot().iter(f"{KML}Placemark"))
    data = {d.get("name"): d.findtext(f"{KML}value") for d in marks[0].iter(f"{KML}Data")}
    assert set(data) == {str(name) for name in sites.columns} - {"geometry"}
    assert data["score"] == "0.9000"
    assert data["building"] in ("", None)
    lon, lat = map(float, marks[2].findtext(f".//{KML}coordinates").split(","))
    at = geopandas.GeoSeries.from_xy([lon], [lat], crs=4326).to_crs(GRID.crs)
    assert at.distance(sites.geometry[2]).max() < 0.1


def test_descriptions_are_in_the_readers_units_and_numbers_in_metres(tmp_path):
    write_gpx(tmp_path / "us.gpx", some_sites(1), title="Land", quantities=Quantities("us"))
    read = pyogrio.read_dataframe(tmp_path / "us.gpx", layer="waypoints")
    assert "box 15 ft up" in read["cmt"][0]
    assert "Water in 287 ft" in read["desc"][0]
    assert read["ele"][0] == 301.3  # GPX knows metres alone
