"""What a run file may say: typed, unit-checked, frozen. Every default lives here and only here.

The default criteria are data, with their basis, in `decide/`; `criteria` left out means those.
"""

from __future__ import annotations

import calendar
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    field_validator,
    model_validator,
)

from suitability.config.units import (
    AngleDeg,
    DistanceM,
    IrradianceWm2,
    MinutesMin,
    PositiveLengthM,
    quantity,
    unit_of,
)

VerticalUnit = Literal["m", "ft", "us_survey_ft"]
Climate = Literal["cool", "moderate", "hot"]


class Section(BaseModel):
    """A part of the run file; an unknown key is an error."""

    model_config = ConfigDict(extra="forbid", frozen=True, validate_default=True)


def _path_alone(value: object) -> object:
    """Let a source be written as its path alone."""
    return {"path": value} if isinstance(value, str | Path) else value


def _one_or_many(value: object) -> object:
    """Let a list of one be written without its brackets."""
    return value if isinstance(value, list | tuple) else [value]


class RasterSource(Section):
    """A raster of any CRS, cell size and extent that GDAL reads."""

    path: Path
    band: int = Field(1, ge=1)


class HeightSource(RasterSource):
    """A raster of heights; the file's own unit is used where it states one."""

    unit: VerticalUnit | None = Field(None, description="vertical unit, if the file states none")


class ClassSource(RasterSource):
    """A raster of land-cover classes with its legend."""

    legend: str = Field("nlcd", description="nlcd, worldcover, or the path of a legend in YAML")


class VectorSource(Section):
    """A layer of any vector file that OGR reads."""

    path: Path
    layer: str | None = None
    where: str | None = Field(None, description="attribute filter, as in SQL")


class BuildingSource(VectorSource):
    """Footprints with heights."""

    height_field: str | None = "height_m"
    height_unit: VerticalUnit = "m"
    default_height: PositiveLengthM = Field(5.0, description="for footprints without a height")


Raster = Annotated[RasterSource, BeforeValidator(_path_alone)]
Heights = Annotated[HeightSource, BeforeValidator(_path_alone)]
Classes = Annotated[ClassSource, BeforeValidator(_path_alone)]
Vector = Annotated[VectorSource, BeforeValidator(_path_alone)]
Vectors = Annotated[tuple[Vector, ...], BeforeValidator(_one_or_many), Field(min_length=1)]
Buildings = Annotated[BuildingSource, BeforeValidator(_path_alone)]


class Inputs(Section):
    """The files of a run; three are needed."""

    elevation: Heights
    land_cover: Classes
    streams: Vectors = Field(description="lines and polygons of water, one source or a list")
    canopy_height: Heights | None = None
    buildings: Buildings | None = None
    boundary: Vector | None = None
    keep_outs: Vectors | None = None
    existing_boxes: Vectors | None = None


class GridSettings(Section):
    """The common grid; left out, its CRS and cell come from the elevation raster."""

    crs: str | None = Field(None, description="projected CRS in metres, such as EPSG:32616")
    cell: PositiveLengthM | None = None
    margin: DistanceM = Field(500.0, description="land beyond the boundary that may cast shadows")


class Mount(Section):
    """How the boxes are put up."""

    kind: Literal["pole"] = "pole"
    height: Annotated[PositiveLengthM, Field(le=30)] = Field(4.6, description="above the ground")


_DAYS = {
    f"{month:02d}-{day:02d}"
    for month in range(1, 13)
    for day in range(1, calendar.monthrange(2024, month)[1] + 1)
}


class Season(Section):
    """The part of the year that counts, and how finely its sun is sampled."""

    start: str = Field("04-01", description="first day, month-day")
    end: str = Field("09-30", description="last day, month-day; before `start`: over New Year")
    step: Annotated[MinutesMin, Field(ge=1, le=60)] = 15.0
    every_days: int = Field(6, ge=1, le=31, description="every how many days the sun is sampled")
    year: int = Field(2025, ge=1950, le=2100, description="year of the sun positions")

    @field_validator("start", "end")
    @classmethod
    def _is_a_day(cls, value: str) -> str:
        if value not in _DAYS or value == "02-29":
            msg = f"{value!r} is not a day of every year; write month-day, such as 04-15"
            raise ValueError(msg)
        return value


class SunRule(Section):
    """When the sun counts, and how carefully its shadows are cast."""

    rule: Literal["irradiance", "altitude"] = "irradiance"
    min_irradiance: Annotated[IrradianceWm2, Field(gt=0, le=1000)] = Field(
        120.0, description="direct normal irradiance, clear sky (WMO-No. 8)"
    )
    min_altitude: Annotated[AngleDeg, Field(ge=0, le=45)] = Field(
        3.0, description="for the altitude rule: the sun's centre above this"
    )
    linke_turbidity: Annotated[float, Field(ge=1, le=10)] | None = Field(
        None, description="left out: the monthly climatology of the place"
    )
    lines_per_cell: Literal[1, 2] = 1


class ValueFunction(Section):
    """Raw measure to a value in 0..1.

    `points` gives a piecewise-linear curve; `rising` and `falling` name its two ends; `hump` its
    four corners.
    """

    points: tuple[tuple[float | str, float], ...] | None = None
    rising: tuple[float | str, float | str] | None = None
    falling: tuple[float | str, float | str] | None = None
    hump: tuple[float | str, float | str, float | str, float | str] | None = None

    @model_validator(mode="after")
    def _one_shape(self) -> ValueFunction:
        given = [name for name in ("points", "rising", "falling", "hump") if getattr(self, name)]
        if len(given) != 1:
            msg = f"give one of points, rising, falling or hump, not {len(given)}"
            raise ValueError(msg)
        return self

    def knots(self, unit: str) -> tuple[tuple[float, float], ...]:
        """Return the curve's points, the raw measure in `unit`, in rising order.

        Raises
        ------
        ValueError
            If a measure is of another kind, measures do not rise, or a value leaves 0..1.
        """
        curve = tuple((quantity(raw, unit), float(value)) for raw, value in self._pairs())
        if len(curve) < 2:
            msg = "a value function needs two points at least"
            raise ValueError(msg)
        for (before, _), (after, _) in pairwise(curve):
            if after <= before:
                msg = f"the measures must rise: {after:g} follows {before:g} (in {unit})"
                raise ValueError(msg)
        outside = [value for _, value in curve if not 0 <= value <= 1]
        if outside:
            msg = f"values lie between 0 and 1, not at {outside[0]:g}"
            raise ValueError(msg)
        return curve

    def _pairs(self) -> Iterator[tuple[float | str, float]]:
        if self.points is not None:
            yield from self.points
        elif self.rising is not None:
            yield from zip(self.rising, (0.0, 1.0), strict=True)
        elif self.falling is not None:
            yield from zip(self.falling, (1.0, 0.0), strict=True)
        elif self.hump is not None:
            yield from zip(self.hump, (0.0, 1.0, 1.0, 0.0), strict=True)


class Criterion(Section):
    """A layer that counts, how its measure is valued, and how much it weighs."""

    layer: str
    weight: Annotated[float, Field(ge=0)]
    value: ValueFunction
    basis: str = Field("stated in the run file", description="where weight and curve come from")
    evidence: Literal["peer-reviewed", "agency guidance", "common practice", "own"] = "own"

    @field_validator("value")
    @classmethod
    def _units_fit(cls, value: ValueFunction, info: ValidationInfo) -> ValueFunction:
        if "layer" in info.data:
            value.knots(unit_of(info.data["layer"]))
        return value

    @property
    def unit(self) -> str:
        """Unit of the layer's raw measure."""
        return unit_of(self.layer)

    @property
    def knots(self) -> tuple[tuple[float, float], ...]:
        """Points of the value function, the raw measure in the layer's unit."""
        return self.value.knots(self.unit)


class Exclusions(Section):
    """What rules land out, whatever its score; null lifts a rule."""

    clearance: DistanceM | None = Field(6.0, description="open space to canopy edge and buildings")
    water_bank: DistanceM | None = Field(3.0, description="bank kept free beside water")
    steeper_than: Annotated[AngleDeg, Field(gt=0, le=90)] | None = 30.0
    existing_boxes: DistanceM | None = Field(20.0, description="from boxes already up")


class SiteSettings(Section):
    """How many sites are wanted, and how far apart."""

    count: int = Field(12, ge=1, le=10_000)
    spacing: DistanceM = 50.0
    min_score: Annotated[float, Field(ge=0, le=1)] = 0.0


class RunSettings(Section):
    """One run: the whole YAML file."""

    title: str = Field("Bat-box sites", min_length=1, max_length=80)
    inputs: Inputs
    grid: GridSettings = GridSettings()
    mount: Mount = Mount()
    season: Season = Season()
    sun: SunRule = SunRule()
    climate: Climate = Field("moderate", description="which default criteria apply")
    criteria: tuple[Criterion, ...] | None = Field(
        None, min_length=1, description="left out: the defaults of the climate"
    )
    exclusions: Exclusions = Exclusions()
    sites: SiteSettings = SiteSettings()
    out: Path | None = Field(None, description="folder of the results")

    @field_validator("criteria")
    @classmethod
    def _weights_count(cls, value: tuple[Criterion, ...] | None) -> tuple[Criterion, ...] | None:
        if value is None:
            return value
        if not any(criterion.weight > 0 for criterion in value):
            msg = "all weights are zero; give at least one criterion a weight above 0"
            raise ValueError(msg)
        names = [criterion.layer for criterion in value]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            msg = f"{twice[0]} is named more than once; a layer counts once"
            raise ValueError(msg)
        return value
