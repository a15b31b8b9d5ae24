"""Rasters of a run written from one array, as a run of one tile or of several writes them."""

import tempfile
from pathlib import Path

from suitability.outputs.rasters import assemble_exclusions, assemble_raster, write_part


def parts_of(folder, values, grid, tiles=None):
    """Write an array as parts; return where the part of each tile lies."""
    tiles = (grid.whole,) if tiles is None else tiles
    parts = {tile: Path(folder) / f"{tile.row}_{tile.col}.tif" for tile in tiles}
    for tile, path in parts.items():
        write_part(path, values[tile.slices])
    return parts


def write_raster(path, values, grid, *, tiles=None, **words):
    """Write a measured quantity as a run does; `words` as for `assemble_raster`."""
    with tempfile.TemporaryDirectory() as folder:
        assemble_raster(path, parts_of(folder, values, grid, tiles), grid, **words)


def write_exclusions(path, bits, grid, reasons, *, tiles=None):
    """Write reasons as a run does."""
    with tempfile.TemporaryDirectory() as folder:
        assemble_exclusions(path, parts_of(folder, bits, grid, tiles), grid, reasons)
