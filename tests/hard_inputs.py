"""Inputs in every odd form that they come in, and what must become of each.

`tests/benchmarks/gauntlet.py` screens each of them.
"""

from __future__ import annotations

import shutil
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import shapely
from hard_changes import (
    ascii_grid,
    bare,
    bow_tie,
    canopy,
    coloured,
    cover,
    curved,
    dem,
    flipped,
    folder_for,
    holed,
    in_crs,
    in_file,
    in_form,
    in_vrt,
    lines,
    masked,
    masked_beside,
    measured_lines,
    moved_on,
    nested,
    one_cell,
    one_spike,
    pictured,
    shapefile_without,
    sparse,
    stored,
    surface,
    two_layers,
    void,
    with_alpha,
    with_boundary,
    written_as,
    zipped,
)
from hard_land import AT_180, HIGH_M, HOME, POLAR, SOUTH, WIDE_M, WOOD, Land, Place, faults

LOCAL = 'LOCAL_CS["plan",LOCAL_DATUM["x",0],UNIT["metre",1],AXIS["E",EAST],AXIS["N",NORTH]]'

Becomes = Literal["the land", "other land", "refused"]


@dataclass(frozen=True)
class Hard:
    """An input in an odd form.

    Parameters
    ----------
    name : str
        What is odd.
    change : callable
        Writes it over the plain land.
    becomes : str
        `the land`: it reads as the formula says. `other land`: it is read, and is not the formula.
        `refused`: an error with place and fix.
    words : str
        What is said: in the error, or among what was done, assumed or warned of.
    """

    name: str
    change: Callable[[Land], None]
    becomes: Becomes = "the land"
    words: str = ""
    place: Place = HOME
    least_share: float = 0.9  # of the land that must be known


def made(case: Hard, folder: Path) -> Path:
    """Write a case's files; return its run file."""
    folder.mkdir(parents=True, exist_ok=True)
    land = Land(folder, case.place)
    land.raster("dem")
    land.raster("cover")
    land.streams()
    case.change(land)
    return land.finish()


def become(case: Hard, folder: Path) -> tuple[str, str]:  # noqa: PLR0911
    """Write a case and read its inputs; return `handled`, `refused` or a fault, and words."""
    from gathered import gathered

    from suitability.config import load_run
    from suitability.errors import SuitabilityError

    run_file = made(case, folder)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            found = gathered(load_run(run_file))
        except SuitabilityError as error:
            said = str(error)
            if case.becomes != "refused":
                return "refused, yet good", said
            if not error.where or not error.fix:
                return "refused without a place or a fix", said
            return ("refused", said) if case.words in said else ("refused in other words", said)
        except Exception as exc:
            return "crashed", f"{type(exc).__name__}: {exc}"
    said = " | ".join(
        text for report in found.reports
        for text in (*report.facts, *report.done, *report.assumed, *report.warnings)
    )  # fmt: skip
    if case.becomes == "refused":
        return "read, yet no good", said
    off = "; ".join(faults(case.place, found, case.least_share))
    if case.becomes == "the land" and off:
        return "not the land", off
    if case.becomes == "other land" and not off:
        return "the land all the same", said
    return ("handled", said) if case.words in said else ("handled in silence", said)


def screened(case: Hard, folder: Path) -> tuple[str, str]:
    """Screen a case that was written; return `handled`, `refused` or a fault, and words."""
    from suitability.config import load_run
    from suitability.errors import SuitabilityError
    from suitability.run import screen

    out = folder / "out"
    try:
        found = screen(load_run(folder / "run.yaml"), out)
    except SuitabilityError as error:
        if (out / "candidates.tif").exists() or (out / "run.json").exists():
            return "refused, and left something", str(error)
        return ("refused" if case.becomes != "the land" else "refused, yet good"), str(error)
    except Exception as exc:
        return "crashed", f"{type(exc).__name__}: {exc}"
    if case.becomes == "refused":
        return "screened, yet no good", ""
    return ("handled" if (out / "run.json").exists() else "no record"), str(len(found.warnings))


DEGREES = 5e-5
HARD: tuple[Hard, ...] = (
    Hard("plain", void),
    # CRS
    Hard("degrees", in_crs("EPSG:4326", DEGREES)),
    Hard("degrees of NAD83", in_crs("EPSG:4269", DEGREES)),
    Hard("State Plane in US survey feet", in_crs("EPSG:2965", 16.0), words="counts in feet"),
    Hard("Albers of a continent, 9° off its meridian", in_crs("EPSG:5070")),
    Hard("Albers of Alaska, strongly turned", in_crs("EPSG:3338")),
    Hard("Web Mercator", in_crs("EPSG:3857", 6.5)),
    Hard("polar stereographic, turned by 42°", in_crs("EPSG:3413")),
    Hard("the next UTM zone", in_crs("EPSG:32615")),
    Hard("Plate Carrée in metres", in_crs("EPSG:32662", 6.0)),
    Hard("a compound CRS", in_crs("EPSG:32616+5703")),
    Hard("a CRS in three dimensions", in_crs("EPSG:4979", DEGREES)),
    Hard("a CRS without a code", in_crs("+proj=lcc +lat_1=39 +lat_2=41 +lon_0=-86 +datum=WGS84")),
    Hard("a projection in kilometres", in_crs("+proj=utm +zone=16 +units=km +datum=WGS84", 0.005)),
    Hard("an old datum", in_crs("EPSG:26716")),
    Hard("an old datum whose shifts are not installed", moved_on, words="from NAD27 to NAD83"),
    Hard("the south", in_crs("EPSG:32755"), place=SOUTH),
    Hard("degrees in the south", in_crs("EPSG:4283", DEGREES), place=SOUTH),
    Hard("the antimeridian", in_crs("EPSG:32701"), place=AT_180),
    Hard("near the pole", in_crs("EPSG:3413"), place=POLAR),
    Hard("a drawing's CRS", lambda land: land.both(None, label=LOCAL), "refused", "plan"),
    Hard("a geocentric CRS", lambda land: land.both(None, label="EPSG:4978"), "refused", "Earth"),
    Hard("a CRS of heights", lambda land: land.both(None, label="EPSG:5703"), "refused", "Earth"),
    Hard("an elevation without CRS", dem(label="none"), "refused", "no coordinate reference"),
    Hard("a land cover without CRS", cover(label="none"), "refused", "no coordinate reference"),
    Hard("streams without CRS", lambda land: void(land.streams(label="none")), "refused",
         "no coordinate reference"),
    Hard("metres under a CRS of degrees", lambda land: land.both(None, label="EPSG:4326"),
         "refused", "beyond 180"),
    Hard("degrees under a CRS of metres",
         lambda land: land.both("EPSG:4326", cell=DEGREES, label="EPSG:32616"), "refused"),
    Hard("an elevation under the next zone's code", dem(label="EPSG:32617"), "refused",
         "share no land"),
    Hard("streams under the next zone's code", lambda land: void(land.streams(label="EPSG:32617")),
         "refused", "reach"),
    # how a raster lies
    Hard("turned by 17°", lambda land: land.both(None, turn_deg=17.0), words="rotated by"),
    Hard("turned by 90°", lambda land: land.both(None, turn_deg=90.0), words="rotated by"),
    Hard("rows from south to north", flipped(rows=True), words="south to north"),
    Hard("columns from east to west", flipped(cols=True), words="turned"),
    Hard("both", flipped(rows=True, cols=True), words="turned"),
    Hard("oblong cells", lambda land: land.both(None, cell=(4.0, 7.0))),
    Hard("an elevation of one cell", one_cell, "other land"),
    Hard("40 thousand million cells", sparse),
    Hard("cells of 1 m", lambda land: land.both(None, cell=1.0)),
    Hard("cells of 20 m", lambda land: land.both(None, cell=20.0)),
    Hard("land cover half a cell aside", cover(cell=4.99)),
    Hard("no transform", lambda land: void(bare(land)), "refused", "geotransform"),
    # stored numbers and nodata
    Hard("whole centimetres", stored("int32", 0.01)),
    Hard("decimetres above 200 m", stored("uint16", 0.1, 200.0), words="as the raster declares"),
    Hard("float64", stored("float64")),
    Hard("-32768 as nodata", stored("int16", 0.1, 300.0, hole=-32768, nodata=-32768),
         least_share=0.8),
    Hard("3.4e38 as nodata", stored("float32", hole=3.4028234663852886e38,
                                    nodata=3.4028234663852886e38), least_share=0.8),
    Hard("-3.4e38 as nodata", stored("float32", hole=-3.4028234663852886e38,
                                     nodata=-3.4028234663852886e38), least_share=0.8),
    Hard("NaN as nodata", stored("float32", hole=np.nan, nodata=np.nan), least_share=0.8),
    Hard("NaN undeclared", stored("float32", hole=np.nan), least_share=0.8),
    Hard("infinite heights", stored("float32", hole=np.inf), least_share=0.8, words="nodata"),
    Hard("-9999 undeclared", stored("float32", hole=-9999), least_share=0.8,
         words="not declared as nodata"),
    Hard("3.4e38 undeclared", stored("float32", hole=3.4e38), least_share=0.8,
         words="not declared as nodata"),
    Hard("a mask inside", masked, least_share=0.8),
    Hard("a mask beside", masked_beside, least_share=0.8),
    Hard("an alpha band", with_alpha, least_share=0.8),
    Hard("nothing but nodata", dem(change=lambda v: v * 0 - 9999, nodata=-9999), "refused",
         "no data"),
    Hard("nothing but NaN", dem(change=lambda v: v * np.nan), "refused", "no data"),
    Hard("complex numbers", dem(change=lambda v: v.astype(np.complex64)), "refused", "numbers on"),
    Hard("a height of 123 km", dem(change=holed(123_456.0)), "refused", "123,456"),
    Hard("spikes", dem(change=holed(420.0, slice(40, 41))), "other land"),
    Hard("one spike", lambda land: void(land.raster("dem", change=one_spike)), "other land",
         "single cells"),
    Hard("centimetres told as metres", dem(change=lambda v: (v - 290) * 100), "other land",
         "steeper than"),
    # formats
    Hard("a virtual raster", in_vrt),
    Hard("an Erdas image", in_form("HFA", ".img")),
    Hard("an ENVI raster", in_form("ENVI", ".dat")),
    Hard("a text grid", ascii_grid(with_prj=True)),
    Hard("a text grid without .prj", ascii_grid(with_prj=False), "refused", "CRS"),
    Hard("within a zip file", zipped),
    Hard("a text file", lambda land: void((land.folder / "dem.tif").write_text("no raster")),
         "refused", "cannot be opened"),
    Hard("an empty file", lambda land: void((land.folder / "dem.tif").write_bytes(b"")),
         "refused", "cannot be opened"),
    Hard("a folder", lambda land: folder_for(land, "dem.tif"), "refused", "cannot be opened"),
    # canopy
    Hard("canopy below the ground", canopy(holed(-3.0)), words="below the ground"),
    Hard("canopy of 120 m", canopy(lambda v: np.where(v > 0, 120, 0).astype(np.float32)),
         words="taller than 100 m"),
    Hard("canopy of 200 m", canopy(holed(200.0)), "refused", "200 m"),
    Hard("a surface for canopy heights", canopy(lambda v: v + 300), "refused", "heights from"),
    Hard("canopy unknown in part", canopy(holed(-9999.0), nodata=-9999), words="is unknown in"),
    Hard("an elevation that holds the canopy", surface, "other land", "not bare ground"),
    # land cover
    Hard("a table of colours", coloured),
    Hard("a picture in colours", pictured, "refused", "no class for"),
    Hard("codes as floats", cover(change=lambda v: v.astype(np.float32))),
    Hard("codes between codes", cover(change=lambda v: v + np.float32(0.5)), "refused"),
    Hard("a code that no legend holds", cover(change=holed(7)), "refused", "no class for"),
    Hard("codes of another legend",
         cover(change=lambda v: np.where(v == WOOD, 10, 30).astype(np.uint8)), "refused",
         "worldcover"),
    Hard("land cover unknown in part", cover(change=holed(0), nodata=0)),
    # vectors
    Hard("degrees of streams", lambda land: void(land.streams(crs="EPSG:4326"))),
    Hard("lines and areas mixed", lines(bow_tie), words="invalid geometries repaired"),
    Hard("heights on lines", lines(lambda land: [shapely.force_3d(land.place.brook(), 7.0)])),
    Hard("measures on lines", measured_lines),
    Hard("many in one", lines(lambda land: [shapely.MultiLineString([land.place.brook()])])),
    Hard("a collection of collections", lines(lambda land: [nested(land.place.brook())])),
    Hard("empty and missing geometries", lines(
        lambda land: [land.place.brook(), shapely.LineString(), None]),
        words="without a geometry"),
    Hard("a curve", curved),
    Hard("points beside lines", lines(lambda land: [land.place.brook(), shapely.Point(5e5, 4e6)])),
    Hard("points alone", lines(lambda land: [shapely.Point(land.place.middle)]), "refused",
         "point"),
    Hard("a line of no length", lines(
        lambda land: [land.place.brook(), shapely.LineString([land.place.brook().coords[1]] * 2)])),
    Hard("a brook a thousand times", lines(lambda land: [land.place.brook()] * 1000)),
    Hard("streams beyond the land alone", lines(
        lambda land: [shapely.affinity.translate(land.place.brook(), 50_000)]), "refused", "reach"),
    Hard("no features", lines(lambda _: [shapely.LineString()]), "refused"),
    Hard("coordinates that are nowhere", lines(
        lambda land: [land.place.brook(), shapely.LineString([(0, 0), (1e300, 1e300)])]),
        "refused", "nowhere"),
    Hard("a shapefile in Latin-1", in_file("streams.shp", encoding="ISO-8859-1")),
    Hard("a shapefile without .prj", lambda land: shapefile_without(land, ".prj"), "refused",
         "no coordinate reference"),
    Hard("a shapefile without .shx", lambda land: shapefile_without(land, ".shx"), "refused"),
    Hard("GeoJSON", in_file("streams.geojson", crs="EPSG:4326")),
    Hard("FlatGeobuf", in_file("streams.fgb")),
    Hard("GML", in_file("streams.gml")),
    Hard("KML", in_file("streams.kml", crs="EPSG:4326", driver="KML")),
    Hard("a GeoPackage of two layers", two_layers, "refused", "none is named"),
    Hard("a raster for streams", lambda land: void(shutil.copy(
        land.folder / "dem.tif", land.folder / "streams.gpkg")), "refused", "cannot be opened"),
    # boundaries
    Hard("a boundary with a hole", with_boundary(
        lambda land: land.place.inside() - shapely.Point(land.place.middle).buffer(20))),
    Hard("a boundary that crosses itself", with_boundary(
        lambda land: shapely.Polygon([(land.place.west, land.place.north - HIGH_M),
                                      (land.place.west + WIDE_M, land.place.north),
                                      (land.place.west, land.place.north),
                                      (land.place.west + WIDE_M, land.place.north - HIGH_M)])),
        words="repaired"),
    Hard("a boundary in degrees", with_boundary(lambda land: land.place.inside(), "EPSG:4326")),
    Hard("a boundary elsewhere", with_boundary(
        lambda land: shapely.affinity.translate(land.place.inside(), 50_000)), "refused",
        "share no land"),
    Hard("a boundary of points", with_boundary(lambda land: shapely.Point(land.place.middle)),
         "refused", "point"),
    # run files
    Hard("a run file with a mark before it", written_as("utf-8-sig")),
    Hard("a run file from Windows", written_as("utf-8", "\r\n")),
    Hard("a run file in UTF-16", written_as("utf-16"), "refused"),
)  # fmt: skip
