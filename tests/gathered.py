"""All inputs of a run on its whole grid, as a tile that is the whole land reads them."""

from dataclasses import dataclass

import numpy as np

from suitability.grid import Grid
from suitability.inputs.burn import burn
from suitability.inputs.common import choose_grid
from suitability.inputs.gather import (
    Features,
    Rasters,
    doubted,
    gather_features,
    gather_rasters,
)
from suitability.inputs.land import read_land_cover
from suitability.inputs.report import InputReport
from suitability.plan import checked_judgement, reaches_of


@dataclass(frozen=True)
class Gathered:
    """Rasters, vectors and the cells that the land cover calls water."""

    grid: Grid
    rasters: Rasters
    features: Features
    covered: np.ndarray
    reports: tuple[InputReport, ...]

    @property
    def water(self):
        """Cells that water covers or touches."""
        return self.covered | burn(self.features.water, self.grid, all_touched=True)

    @property
    def warnings(self):
        """What was warned of, by any input."""
        return [warning for report in self.reports for warning in report.warnings]


def gathered(run):
    """Read every input of a loaded run."""
    grid, _ = choose_grid(run.settings, run.locate)
    features = gather_features(
        run.settings, grid, run.locate, reaches_of(run, checked_judgement(run))
    )
    rasters = doubted(run.settings, grid, gather_rasters(run.settings, grid, run.locate, features))
    codes, legend, report = read_land_cover(run.settings, grid, run.locate)
    told = {report.role for report in rasters.reports}
    reports = [*rasters.reports, *features.reports, *([] if report.role in told else [report])]
    return Gathered(grid, rasters, features, legend.mask_of(codes, "water"), tuple(reports))
