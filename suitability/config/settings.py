"""What a run file may say: typed, unit-checked, frozen. Every default lives here and only here.

The default criteria are data, with their basis, in `decide/`; `criteria` left out means those.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import (
    BeforeValidator,
    Field,
    ValidationInfo,
    field_validator,
    model_validator,
)

from suitability.config.box import BoxSettings
from suitability.config.criteria import (
    Combination,
    Combine,
    Criterion,
    Entries,
    Entry,
    Group,
    check_entries,
    check_section,
)
from suitability.config.curves import Curve, ValueFunction
from suitability.config.days import Day
from suitability.config.layers import CoverShare, MeasuredLayer, MeasuredLayers, checked_names
from suitability.config.mount import Mount
from suitability.config.paths import FolderPath
from suitability.config.rules import ExclusionRule, Rules, distinct
from suitability.config.section import Number, Section, Text, WholeNumber
from suitability.config.sites import BoxGroups, BoxRole, SiteSettings
from suitability.config.sources import (
    BuildingSource,
    ClassSource,
    HeightSource,
    Inputs,
    RasterSource,
    VectorSource,
    VerticalUnit,
)
from suitability.config.unfit import UnfitValueError, shown
from suitability.config.units import DistanceM, InUnit, PositiveLengthM
from suitability.config.water import WaterRules
from suitability.config.weighing import Weighing
from suitability.quantities import Quantities, Units

__all__ = [
    "BoxGroups",
    "BoxRole",
    "BoxSettings",
    "BuildingSource",
    "ClassSource",
    "Climate",
    "Combination",
    "Criterion",
    "Curve",
    "Exclusions",
    "GridSettings",
    "Group",
    "HeightSource",
    "Inputs",
    "Mount",
    "RasterSource",
    "RunSettings",
    "Season",
    "Section",
    "SiteSettings",
    "SunRule",
    "ValueFunction",
    "VectorSource",
    "VerticalUnit",
    "WaterRules",
    "Weighing",
]

Climate = Literal["cool", "moderate", "hot"]


def _no_bool(value: object) -> object:
    """Refuse a yes or no where a number is meant; Python counts True as 1."""
    if isinstance(value, bool):
        what = f"{shown(value)} is not a number"
        raise UnfitValueError(what, "write 1 or 2")
    return value


class GridSettings(Section):
    """The common grid; left out, its CRS and cell come from the elevation raster."""

    crs: Text | None = Field(None, description="projected CRS in metres", examples=["EPSG:32616"])
    cell: PositiveLengthM | None = Field(None, description="width of a cell")
    margin: DistanceM = Field(500.0, description="land beyond the boundary that may cast shadows")


class Season(Section):
    """The part of the year that counts, and how finely its sun is sampled."""

    start: Day = Field("04-01", description="first day, month-day", examples=["04-01"])
    end: Day = Field(
        "09-30",
        description="last day, month-day; before `start`: over New Year",
        examples=["09-30"],
    )
    step: Annotated[float, InUnit("min", at_least=1, at_most=60)] = Field(
        15.0, description="time between two positions of the sun"
    )
    every_days: WholeNumber = Field(
        6, ge=1, le=31, description="every how many days the sun is sampled"
    )
    year: WholeNumber = Field(2025, ge=1950, le=2100, description="year of the sun positions")


class SunRule(Section):
    """When the sun counts, and how carefully its shadows are cast."""

    rule: Literal["irradiance", "altitude"] = Field(
        "irradiance", description="what makes sunshine count: its strength, or the sun's altitude"
    )
    min_irradiance: Annotated[float, InUnit("W/m²", above=0, at_most=1000)] = Field(
        120.0,
        description="for the irradiance rule: direct normal irradiance, clear sky (WMO-No. 8)",
    )
    min_altitude: Annotated[float, InUnit("deg", at_least=0, at_most=45)] = Field(
        3.0, description="for the altitude rule: the sun's centre above this"
    )
    linke_turbidity: Annotated[Number, Field(ge=1, le=10)] | None = Field(
        None, description="left out: the monthly climatology of the place"
    )
    lines_per_cell: Annotated[
        Literal[1, 2], BeforeValidator(_no_bool, json_schema_input_type=Literal[1, 2])
    ] = Field(1, description="shadow lines a cell: 1, or 2 for more care at twice the time")


class Exclusions(Section):
    """What rules land out, whatever its score; null lifts a rule."""

    clearance: DistanceM | None = Field(6.0, description="open space to canopy edge and buildings")
    water_bank: DistanceM | None = Field(3.0, description="bank kept free beside water")
    steeper_than: Annotated[float, InUnit("deg", above=0, at_most=90)] | None = Field(
        30.0, description="slope beyond which no pole is raised"
    )
    existing_boxes: DistanceM | None = Field(20.0, description="distance from boxes already up")
    rules: Rules = Field((), description="bounds of any layer; each is a reason of its own")

    @field_validator("rules")
    @classmethod
    def _rules_differ(cls, value: tuple[ExclusionRule, ...]) -> tuple[ExclusionRule, ...]:
        return distinct(value)


class RunSettings(Section):
    """One run: the whole YAML file."""

    title: str = Field(
        "Bat-box sites",
        min_length=1,
        max_length=80,
        description="heading of the figure and the sheets",
        examples=["North field"],
    )
    units: Units = Field(
        "metric",
        description="what people read everything in: metric, or us (ft, mi, acres, °F); rasters "
        "and tables for machines are metric, and a length in this file has its own unit",
    )
    inputs: Inputs = Field(description="the files that describe the land")
    grid: GridSettings = Field(GridSettings(), description="the common grid of all layers")
    mount: Mount = Field(Mount(), description="how the boxes are put up")
    season: Season = Field(Season(), description="the part of the year that counts")
    sun: SunRule = Field(SunRule(), description="when the sun counts")
    water: WaterRules = Field(WaterRules(), description="which water counts")
    climate: Climate = Field(
        "moderate",
        description="which default criteria apply; left out: by the weather, where that is given",
    )
    combine: Combine = Field(
        Combination(), description="how the criteria's values combine into the score"
    )
    weighing: Weighing | None = Field(
        None, description="how the criteria's weights are found; left out: each states its own"
    )
    criteria: Entries | None = Field(
        None,
        description="what makes a place good: criteria, or groups of them; left out: the defaults "
        "of the climate",
    )
    foraging: CoverShare = Field(
        CoverShare(of=("water", "wetland", "grass"), woodland_edge=30.0, within=500.0),
        description="what foraging_share counts",
    )
    layers: MeasuredLayers = Field(
        {},
        description="layers of your own, by a name that ends in the unit of their measure",
        examples=[{"road_distance_m": {"distance": {"to": "roads.gpkg"}}}],
    )
    exclusions: Exclusions = Field(Exclusions(), description="what rules land out")
    box: BoxSettings = Field(BoxSettings(), description="what the boxes are to be")
    sites: SiteSettings = Field(SiteSettings(), description="how many sites, how far apart")
    out: FolderPath | None = Field(
        None, description="folder of the results", examples=["../runs/north_field"]
    )

    @property
    def quantities(self) -> Quantities:
        """How quantities are told to people."""
        return Quantities(self.units)

    @field_validator("layers")
    @classmethod
    def _names_fit(cls, value: dict[str, MeasuredLayer]) -> dict[str, MeasuredLayer]:
        checked_names(value)
        return value

    @field_validator("criteria")
    @classmethod
    def _weights_count(
        cls, value: tuple[Entry, ...] | None, info: ValidationInfo
    ) -> tuple[Entry, ...] | None:
        if value is not None:
            check_entries(value, info)
        return value

    @model_validator(mode="after")
    def _judgement_fits(self) -> RunSettings:
        if self.criteria is not None:
            check_section(self.criteria, self.combine, self.weighing)
        elif self.weighing is not None:
            what = "weighing is given, but no criteria are"
            fix = "write the criteria out, without weights; or delete weighing"
            raise UnfitValueError(what, fix, within=("weighing",))
        return self

    @model_validator(mode="after")
    def _heat_has_weather(self) -> RunSettings:
        for name, layer in self.layers.items():
            if layer.box_heat is not None and self.inputs.weather is None:
                what = f"{name} is heat of boxes, but no weather is given"
                fix = "give inputs.weather, a year of a station nearby; or take the layer out"
                raise UnfitValueError(what, fix, within=("layers", name, "box_heat"))
        return self

    @model_validator(mode="after")
    def _walls_can_be_had(self) -> RunSettings:
        if self.mount.kind == "pole":
            return self
        if self.inputs.buildings is None:
            what = f"mount.kind is {self.mount.kind}, but no buildings are given"
            fix = "give inputs.buildings, whose walls are the candidates; or write kind: pole"
        elif self.sites.groups is not None:
            what = "boxes in groups stand on poles"
            fix = "write mount.kind: pole, or leave out sites.groups"
        elif self.sites.choice == "exact":
            what = "walls are chosen greedily; there is no exact choice among them"
            fix = "write sites.choice: greedy, or mount.kind: pole"
        else:
            return self
        raise UnfitValueError(what, fix, within=("mount", "kind"))
