"""A real city at one metre: central Gothenburg, with its trees, buildings and water.

Package umep 0.0.1b47 (AGPL; its data files are read, the package is not imported):
demos/data/Goteborg_SWEREF99_1200. Classes are stored as floats, footprints are partly invalid.
"""

import geopandas as gpd
import rasterio
from rasterio.features import shapes
from shapely.geometry import shape

LEGEND = """\
name: City
source: a city's own
nodata: [0]
classes:
  1: {name: Paved, group: developed}
  2: {name: Buildings, group: developed}
  5: {name: Grass, group: grass}
  7: {name: Water, group: water}
"""


def city_data(registry_package):
    """Return the folder of the city's data."""
    return registry_package("umep", "0.0.1b47") / "demos" / "data" / "Goteborg_SWEREF99_1200"


def write_city(folder, data):
    """Write what the data lack into a folder; return the start of a run file, and the water.

    A pond of the cover's water class stands for the streams that there are none of.
    """
    with rasterio.open(data / "landcover.tif") as source:
        codes, turn, crs = source.read(1), source.transform, source.crs
    water = [shape(one) for one, _ in shapes(codes, mask=codes == 7, transform=turn)]
    gpd.GeoDataFrame(geometry=water, crs=crs.to_wkt()).to_file(folder / "water.gpkg")
    (folder / "legend.yaml").write_text(LEGEND, encoding="utf-8")
    text = (
        "title: City\n"
        "inputs:\n"
        f"  elevation: {{path: {data / 'DEM_KRbig.tif'}, unit: m}}\n"
        f"  land_cover: {{path: {data / 'landcover.tif'}, legend: legend.yaml}}\n"
        "  streams: water.gpkg\n"
        f"  canopy_height: {{path: {data / 'CDSM_KRbig.tif'}, unit: m}}\n"
        f"  buildings: {{path: {data / 'buildings.shp'}, height_field: null,\n"
        "              default_height: 16 m}\n"
        "climate: cool\n"
        "season: {step: 20 min, every_days: 10}\n"
    )
    return text, water
