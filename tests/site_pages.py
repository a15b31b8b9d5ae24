"""Invented contents of pages about a site, plain and as awkward as data can make them."""

import dataclasses

import geopandas
import numpy as np
import pyproj
from shapely import LineString, box

from suitability.grid import Grid
from suitability.outputs.sheet_content import FieldSheet, LandownerSheet, Merit, SheetMap, Sky
from suitability.outputs.sky_chart import DayPath

GRID = Grid(pyproj.CRS.from_epsg(32616), 728_000.0, 4_454_000.0, 5.0, 80, 80)
LONG = "an old tannery's drying shed beyond the second weir, rebuilt twice, with a lean-to; " * 6


def square(**changes):
    """Return 400 m of land with a stream, buildings, an edge and a line, and four sites."""
    rows, cols = np.indices(GRID.shape)
    west, south, east, north = GRID.bounds
    shapes = {
        "water": LineString([(west, south + 90), (east, north - 70)]),
        "buildings": box(west + 60, south + 60, west + 80, south + 75),
        "boundary": box(west + 20, south - 50, east + 50, north - 20),
        "wires": LineString([(west, north - 130), (east, north - 90)]),
    }
    whole = SheetMap(
        bounds=GRID.bounds,
        grid=GRID,
        score=np.where(rows < 30, np.nan, cols / GRID.cols).astype(np.float32),
        excluded=rows < 30,
        light=np.full(GRID.shape, 0.7, np.float32),
        ranks=(7, 1, 12, 30),
        x_m=np.array([728_200.0, 728_210.0, 728_260.0, 728_390.0]),
        y_m=np.array([4_453_800.0, 4_453_812.0, 4_453_700.0, 4_453_995.0]),
        facing_deg=133.0,
        true_north_deg=-1.8,
        scale_factor=0.9997,
        shapes={kind: geopandas.GeoDataFrame(geometry=[shape], crs=GRID.crs)
                for kind, shape in shapes.items()},
    )  # fmt: skip
    return dataclasses.replace(whole, **changes)


def sky():
    """Return a sky with trees all around and two days."""
    azimuth = np.linspace(70.0, 290.0, 60)
    days = [DayPath(name, azimuth, high * np.sin(np.radians((azimuth - 70) / 220 * 180)))
            for name, high in (("21 June", 73.0), ("30 September", 47.0))]  # fmt: skip
    return Sky(np.full(360, 12.0), tuple(days), 135.0, 40.2)


def field(**changes):
    """Return the content of a page for the field."""
    plain = FieldSheet(
        site="Site 7",
        land="Invented land",
        summary="Box on a pole; score 0.93 (0 to 1, higher suits better); number 7 of 30",
        geo="geo:40.198989,-84.303432",
        place=(
            ("Grid", "728200 E, 4453800 N, WGS 84 / UTM zone 16N (EPSG:32616)"),
            ("WGS 84", "40.198989, -84.303432 (lat, lon)"),
            ("MGRS", "16TGK2952353331"),
            ("Ground", "260 m above sea level"),
        ),
        bearings=(("True", "135° (south-east)"), ("Grid", "133°"), ("Magnetic", "141°")),
        needle="Needle: 6.4° west of true north on 2026-03-01 (World Magnetic Model 2025).",
        put_up=(("On", "pole"), ("Box", "four chambers"), ("Colour", "white"),
                ("Chambers", "4, each 19 mm wide"), ("Height", "4.6 m above the ground")),
        distances=(("Water", "44 m"), ("Edge of trees", "21 m"), ("Building", "380 m")),
        when=(("Up by", "31 March"), ("Bats in it", "1 April to 31 October"),
              ("Work on it", "1 November to 31 March")),
        months=tuple(zip(("Apr", "May", "Jun", "Jul", "Aug", "Sep"), range(5, 11), strict=True)),
        sun="In the season at the height of the box: 9.9 h a day.",
        merits=tuple(Merit(f"Measure {n}", f"{n}.5 m", 0.2, 0.04 * n, f"0.0{4 * n % 10} of 0.20")
                     for n in range(1, 6)),
        how="Bars: what each adds to the score, within the most that it can.",
        why=("Colour: white; the warmest month is warm.", "Or mount: a wall."),
        here=(),
        everywhere=("Never handle bats", "Call before you dig", "Ladders tied"),
        checks=("Utility locate called; ticket ____________", "Looked up", "Owner's permission"),
        missing=("The run was given no overhead lines: look for them on the spot.",),
        map=square(),
        lowest=0.0,
        sky=sky(),
        foot="A screening result, not a permit: visit each site first. Run of 2026-01-31.",
    )  # fmt: skip
    return dataclasses.replace(plain, **changes)


def awkward_field():
    """Return a page on which every text is longer than anyone would wish."""
    plain = field()
    rows = tuple((label, LONG) for label, _ in plain.put_up)
    return dataclasses.replace(
        plain,
        land=LONG,
        summary=LONG,
        needle=LONG,
        put_up=rows,
        place=tuple((label, LONG) for label, _ in plain.place),
        distances=tuple((f"What is far {n}", LONG) for n in range(6)),
        months=tuple((f"M{n}", 10.0 + n) for n in range(12)),
        merits=tuple(Merit(LONG, "1,234,567 m", 0.125, 0.1, "0.10 of 0.13") for _ in range(8)),
        why=(LONG,) * 6,
        missing=(LONG,) * 3,
        here=(LONG,) * 12,
        everywhere=tuple(f"Title of caution number {n}" for n in range(14)),
        checks=("Utility locate called (in the US: 811); ticket ____________",) * 7,
        foot=LONG,
    )


def landowner(**changes):
    """Return the content of a page for a landowner."""
    plain = LandownerSheet(
        title="A bat box at site 7",
        land="Invented land",
        geo="geo:40.198989,-84.303432",
        parts=(("What to put up", ("One bat box: four chambers.", "It hangs on a pole.")),
               ("When", ("Have it up by 31 March.",)),
               ("Where", ("Water is about 44 m away, to the south.",)),
               ("Please do not", ("Never touch a bat.",))),
        first=("Have buried lines marked.", "Look up."),
        near=square(),
        wide=square(),
        foot="This page comes from maps, not from a visit.",
    )  # fmt: skip
    return dataclasses.replace(plain, **changes)


def awkward_landowner():
    """Return a landowner's page with long texts and much to heed."""
    texts = tuple(LONG[:200] for _ in range(3))
    parts = tuple((title, texts) for title in ("What to put up", "Where", "When"))
    return landowner(land=LONG, parts=parts * 2, first=texts * 2, foot=LONG)
