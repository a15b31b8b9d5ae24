"""Files onto the grid: rasters, vectors, legends, and what `check` tells of them."""
