"""The files of a run: where they lie, and what of them is read."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from suitability.config.paths import FilePath, LegendName, PermanenceName
from suitability.config.section import Section, Text, WholeNumber
from suitability.config.units import DistanceM, PositiveLengthM

VerticalUnit = Literal["m", "ft", "us_survey_ft"]


def path_alone(value: object) -> object:
    """Let a source be written as its path alone."""
    return {"path": value} if isinstance(value, str | Path) else value


def _one_or_many(value: object) -> object:
    """Let a list of one be written without its brackets."""
    return value if isinstance(value, list | tuple) else [value]


class RasterSource(Section):
    """A raster of any CRS, cell size and extent that GDAL reads."""

    path: FilePath = Field(
        description="the file, seen from the run file's folder", examples=["dem.tif"]
    )
    band: WholeNumber = Field(1, ge=1, description="which band, counted from 1")


class HeightSource(RasterSource):
    """A raster of heights; the file's own unit is used where it states one."""

    unit: VerticalUnit | None = Field(None, description="vertical unit, if the file states none")


class ClassSource(RasterSource):
    """A raster of land-cover classes with its legend."""

    legend: LegendName = Field(
        "nlcd",
        description="nlcd, worldcover, or the path of your own legend in YAML",
        examples=["nlcd", "worldcover", "legend.yaml"],
    )


class VectorSource(Section):
    """A layer of any vector file that OGR reads."""

    path: FilePath = Field(
        description="the file, seen from the run file's folder", examples=["streams.gpkg"]
    )
    layer: Text | None = Field(
        None, description="layer, if the file has several", examples=["flowlines"]
    )
    where: Text | None = Field(
        None,
        description="attribute filter, as in SQL",
        examples=["permanence = 'perennial'"],
    )


class Permanence(Section):
    """How a source says whether its water is perennial, intermittent or ephemeral."""

    field: Text = Field(description="attribute that tells", examples=["FCode"])
    table: PermanenceName = Field(
        "words",
        description="what its values mean: words (perennial, intermittent, ephemeral), nhd, or "
        "the path of your own table in YAML",
        examples=["nhd", "permanence.yaml"],
    )


class WaterSource(VectorSource):
    """Lines and polygons of water."""

    permanence: Permanence | None = Field(
        None, description="left out: all water of the source counts"
    )


class BuildingSource(VectorSource):
    """Footprints with heights."""

    height_field: Text | None = Field(
        "height_m", description="attribute with the height", examples=["height_m"]
    )
    height_unit: VerticalUnit = Field("m", description="unit of that attribute")
    default_height: PositiveLengthM = Field(5.0, description="for footprints without a height")
    id_field: Text | None = Field(
        None, description="attribute that names a building; left out: they are counted"
    )
    material_field: Text | None = Field(
        None, description="attribute with the walls' material, told of sites on walls"
    )


class KeepClearSource(VectorSource):
    """Doors and other places that boxes keep away from, for what falls below them."""

    distance: DistanceM = Field(3.0, description="kept clear around each point, line or polygon")


class WeatherSource(Section):
    """A typical year at a station nearby."""

    path: FilePath = Field(
        description="the file, seen from the run file's folder: EPW (.epw) or TMY3 (.csv)",
        examples=["station.epw"],
    )


Heights = Annotated[
    HeightSource, BeforeValidator(path_alone, json_schema_input_type=Text | HeightSource)
]
Classes = Annotated[
    ClassSource, BeforeValidator(path_alone, json_schema_input_type=Text | ClassSource)
]
Vector = Annotated[
    VectorSource, BeforeValidator(path_alone, json_schema_input_type=Text | VectorSource)
]
Station = Annotated[
    WeatherSource, BeforeValidator(path_alone, json_schema_input_type=Text | WeatherSource)
]
Water = Annotated[
    WaterSource, BeforeValidator(path_alone, json_schema_input_type=Text | WaterSource)
]
Buildings = Annotated[
    BuildingSource, BeforeValidator(path_alone, json_schema_input_type=Text | BuildingSource)
]
KeepClear = Annotated[
    KeepClearSource, BeforeValidator(path_alone, json_schema_input_type=Text | KeepClearSource)
]
_Many = Annotated[tuple[Vector, ...], Field(min_length=1)]
Vectors = Annotated[_Many, BeforeValidator(_one_or_many, json_schema_input_type=Vector | _Many)]
_ManyWaters = Annotated[tuple[Water, ...], Field(min_length=1)]
Waters = Annotated[
    _ManyWaters, BeforeValidator(_one_or_many, json_schema_input_type=Water | _ManyWaters)
]


_ManyKeepClear = Annotated[tuple[KeepClear, ...], Field(min_length=1)]
KeepClears = Annotated[
    _ManyKeepClear, BeforeValidator(_one_or_many, json_schema_input_type=KeepClear | _ManyKeepClear)
]


class Inputs(Section):
    """The files of a run; two are needed."""

    elevation: Heights = Field(
        description="bare ground (DEM), with its vertical unit", examples=["dem.tif"]
    )
    land_cover: Classes = Field(
        description="land-cover classes, with their legend", examples=["land_cover.tif"]
    )
    streams: Waters | None = Field(
        None,
        description="lines and polygons of water, one source or a list; left out: derived from "
        "the elevation",
        examples=["streams.gpkg", ["streams.gpkg", "ponds.gpkg"]],
    )
    canopy_height: Heights | None = Field(
        None, description="height of trees above the ground; left out: assumed from land cover"
    )
    buildings: Buildings | None = Field(
        None, description="footprints, which cast shadows; boxes may hang on their walls"
    )
    boundary: Vector | None = Field(None, description="the land on which sites may lie")
    keep_outs: Vectors | None = Field(None, description="land on which no site may lie")
    keep_clear: KeepClears | None = Field(
        None, description="doors and the like, which no site may lie near", examples=["doors.gpkg"]
    )
    existing_boxes: Vectors | None = Field(None, description="bat boxes already up")
    wires: Vectors | None = Field(None, description="overhead lines: sites near them are warned of")
    weather: Station | None = Field(
        None, description="hourly weather, for the heat of boxes; left out: none is told"
    )
