"""What the map's page shows, and the words or signs that it says it in."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import geopandas
import numpy as np
from numpy.typing import NDArray

from suitability.grid import Float32, Float64, Grid
from suitability.outputs.figure_map import first_class_from


@dataclass(frozen=True)
class FigureContent:
    """All that the figure shows.

    Parameters
    ----------
    title : str
        What land, what for.
    grid : Grid
        Where the rasters lie.
    cell : str
        Edge of the cells that were judged, which the rasters may show averaged, with its unit.
    score : numpy.ndarray
        (rows, cols) float32, 0..1; NaN where excluded or unknown.
    excluded : numpy.ndarray
        (rows, cols) bool.
    sites : geopandas.GeoDataFrame
        `rank`, `x_m`, `y_m` of each, [m]; `group` and `role` where boxes stand in groups.
    caution : str
        What to heed, in a line or two.
    sources : str
        Where the data come from, with the credit their owners want; shown as it is.
    date : str
        Day of the run, ISO 8601.
    caption : str
        What the map is: sites, season, mount, criteria and weights.
    warnings : tuple of str
        What changes how the map may be read.
    hillshade : numpy.ndarray, optional
        (rows, cols) float32, 0..1.
    streams, boundary, buildings : geopandas.GeoDataFrame, optional
        In the grid's CRS.
    has_words : bool
        Whether the page explains itself in words; else in numbers, signs and units.
    """

    title: str
    grid: Grid
    cell: str
    score: Float32
    excluded: NDArray[np.bool_]
    sites: geopandas.GeoDataFrame
    caution: str
    sources: str
    date: str
    caption: str = ""
    warnings: tuple[str, ...] = ()
    hillshade: Float32 | None = None
    streams: geopandas.GeoDataFrame | None = None
    boundary: geopandas.GeoDataFrame | None = None
    buildings: geopandas.GeoDataFrame | None = None
    has_words: bool = True

    @cached_property
    def lowest(self) -> float:
        """Where the first class of the score starts."""
        return first_class_from(self.score)

    @property
    def roles(self) -> list[str]:
        """The names of a group's boxes in their order; none where boxes stand alone."""
        if "role" not in self.sites:
            return []
        return list(dict.fromkeys(self.sites["role"]))

    @property
    def facings_deg(self) -> Float64 | None:
        """Which way sites on walls look, from the map's top; NaN for those on poles."""
        if "kind" not in self.sites:
            return None
        grid_deg = self.sites["facing_deg"].to_numpy(np.float64) - self.grid.convergence_deg()
        on_wall = (self.sites["kind"] == "wall").to_numpy()
        return np.where(on_wall, grid_deg, np.nan)

    @property
    def centre_deg(self) -> tuple[float, float]:
        """Longitude and latitude of the map's middle, WGS 84."""
        lon, lat = self.grid.lonlat(*self.grid.centre)
        return float(lon), float(lat)


def legend_entries(content: FigureContent) -> dict[str, str]:
    """Return what the legend must explain: what is on this map, and nothing else."""
    sites, unknown = content.sites, np.isnan(content.score) & ~content.excluded
    facings = content.facings_deg
    shown = {
        "sites": len(sites) > 0,
        "walls": facings is not None and bool(np.isfinite(facings).any()),
        "excluded": bool(content.excluded.any()),
        "no_score": bool(unknown.any()),
        "streams": content.streams is not None,
        "boundary": content.boundary is not None,
        "buildings": content.buildings is not None,
    }
    if content.has_words:
        names = {
            "sites": "Site; a line joins the boxes of a group"
            if content.roles
            else "Site and its rank",
            "walls": "Site on a wall, and the way it looks",
            "excluded": "Excluded: no score",
            "no_score": "Data missing: no score",
            "streams": "Stream or water edge",
            "boundary": "Boundary",
            "buildings": "Building",
        }
    else:
        names = {
            "sites": f"1 … {sites['rank'].max()}" if len(sites) else "",
            "walls": "↗",
            "excluded": f"✕ {content.excluded.mean():.0%}",
            "no_score": f"? {unknown.mean():.0%}",
            "streams": "≈",
            "boundary": "▱",
            "buildings": "⌂",
        }
    return {sign: names[sign] for sign, is_shown in shown.items() if is_shown}


def facts(content: FigureContent, in_per_true_m: float) -> list[str]:
    """Return what coordinates, extent, scale and date the map has, a line each.

    Parameters
    ----------
    content : FigureContent
        What the map shows.
    in_per_true_m : float
        Inches of paper for a metre on the ground.
    """
    grid = content.grid
    ratio = float(f"{1 / (in_per_true_m * 0.0254):.3g}")
    lats, lons = extent_in_degrees(grid)
    if not content.has_words:
        return [
            f"{grid.label} · {content.cell}",
            f"φ {lats}",
            f"λ {lons}",
            f"1:{ratio:,.0f}",
            content.date,
        ]
    named = grid.crs.name if grid.crs.name == grid.label else f"{grid.crs.name} ({grid.label})"
    return [
        f"Coordinates: {named}, metres. Cells of {content.cell}.",
        f"Extent: latitude {lats}, longitude {lons}.",
        f"Scale at full size: 1:{ratio:,.0f}",
        f"Date: {content.date}",
    ]


def extent_in_degrees(grid: Grid) -> tuple[str, str]:
    """Return from which latitude and longitude to which a grid reaches, as `40.19° to 40.21° N`."""
    west, south, east, north = grid.bounds
    along = np.linspace(0, 1, 5)
    x = np.concatenate([west + along * (east - west)] * 2 + [np.full(5, west), np.full(5, east)])
    y = np.concatenate(
        [np.full(5, south), np.full(5, north)] + [south + along * (north - south)] * 2
    )
    lon, lat = grid.lonlat(x, y)
    middle = float(grid.lonlat(*grid.centre)[0])
    lon = (lon - middle + 180) % 360 - 180 + middle  # land over the 180th meridian is one piece
    return _span(lat, "N", "S"), _span(lon, "E", "W")


def _span(values_deg: Float64, positive: str, negative: str) -> str:
    low, high = float(values_deg.min()), float(values_deg.max())
    digits = max(2, 1 - math.floor(math.log10(max(high - low, 1e-6))))
    first, last = (_degrees(value, digits, positive, negative) for value in (low, high))
    if first[1] == last[1]:
        least, most = sorted((first[0], last[0]), key=float)
        return f"{least}–{most}° {first[1]}"
    return f"{first[0]}° {first[1]} – {last[0]}° {last[1]}"


def _degrees(value: float, digits: int, positive: str, negative: str) -> tuple[str, str]:
    turned = (value + 180) % 360 - 180 if abs(value) > 180 else value
    return f"{abs(turned):.{digits}f}", positive if turned >= 0 else negative
