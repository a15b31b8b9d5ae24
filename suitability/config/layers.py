"""Layers that a run file names itself: what each measures, from which file or land cover.

The name of a layer ends in the unit of its measure. It may then be a criterion or rule land out.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import BeforeValidator, ConfigDict, Field, model_validator

from suitability.config.box_heat import BoxHeatHours
from suitability.config.section import Section, Text
from suitability.config.sources import RasterSource, Vectors, VectorSource, path_alone
from suitability.config.unfit import UnfitValueError, shown
from suitability.config.units import DistanceM, InUnit, PositiveLengthM, unit_of

# What each kind of layer counts in; a raster's values have any unit that a name can end in.
_ENDINGS = {
    "distance": "_m",
    "cover": "_share",
    "presence": "_share",
    "density": "_per_km2",
    "aspect": "_deg",
    "position": "_m",
    "box_heat": "_h",
}
KINDS = ("distance", "value", "cover", "presence", "density", "aspect", "position", "box_heat")
NAME = r"^[a-z][a-z0-9_]{0,39}$"


def _class_or_group(value: object) -> object:
    """Refuse what names no class: nothing, lists, and yes or no, which Python counts as 1 or 0."""
    is_code = isinstance(value, int) and not isinstance(value, bool)
    if not is_code and not (isinstance(value, str) and value.strip()):
        what = f"{shown(value)} is no class of land cover"
        raise UnfitValueError(what, "write a group, a class's name in quotes, or its code")
    return value


_ClassOrGroup = Annotated[
    Text | int, BeforeValidator(_class_or_group, json_schema_input_type=Text | int)
]


class Distance(Section):
    """How far it is to the nearest feature; 0 on it."""

    to: Vectors = Field(
        description="points, lines or polygons, one source or a list", examples=["roads.gpkg"]
    )
    reach: PositiveLengthM = Field(
        500.0, description="the greatest distance told; further, if a curve or rule asks for it"
    )


class RasterValue(RasterSource):
    """The value of a raster, of any CRS and cell."""

    resampling: Literal["smooth", "nearest"] = Field(
        "smooth",
        description="smooth: between cells, or the mean of finer ones; nearest: the nearest cell",
    )


class CoverShare(Section):
    """Share of some land cover within a radius of each cell; unknown land does not count."""

    of: Annotated[tuple[_ClassOrGroup, ...], Field(min_length=1)] = Field(
        description="groups of the legend (water, grass, …), names of its classes, or codes",
        examples=[["grass", "wetland"]],
    )
    woodland_edge: PositiveLengthM | None = Field(
        None, description="woodland this near to other land counts as well; null: it does not"
    )
    within: PositiveLengthM = Field(description="radius", examples=["500 m"])


class Presence(Section):
    """1 where a feature touches the cell, else 0."""

    of: Vectors = Field(
        description="points, lines or polygons, one source or a list", examples=["roads.gpkg"]
    )


class Density(Section):
    """Points within a radius of each cell, to the square kilometre."""

    of: Vectors = Field(description="points, one source or a list", examples=["roosts.gpkg"])
    within: PositiveLengthM = Field(description="radius", examples=["1 mile"])


class Aspect(Section):
    """Where the slope faces: degrees clockwise from true north, 0 to 360; none where it is level.

    A curve over it does not wrap: its value at 0 deg must be that at 360 deg.
    """

    level_below: Annotated[float, InUnit("deg", at_least=0, at_most=90)] = Field(
        0.0, description="ground of this slope or less faces nowhere and has no measure"
    )


class Position(Section):
    """How far the ground stands above (or below) the mean of the ground around it."""

    within: PositiveLengthM = Field(description="radius", examples=["150 m"])
    beyond: DistanceM = Field(
        0.0, description="ground up to this far does not count: a ring, not a disc"
    )

    @model_validator(mode="after")
    def _is_a_ring(self) -> Position:
        if self.beyond >= self.within:
            what = f"nothing lies beyond {self.beyond:g} m and within {self.within:g} m"
            raise UnfitValueError(what, "make `within` the greater", within=("beyond",))
        return self


class MeasuredLayer(Section):
    """A layer of a run: one kind of measure."""

    model_config = ConfigDict(
        json_schema_extra={
            "oneOf": [
                {"required": [kind], "properties": {kind: {"not": {"type": "null"}}}}
                for kind in KINDS
            ]
        }
    )

    title: Text | None = Field(
        None, description="what people read in maps and tables", examples=["distance to roads"]
    )
    distance: Distance | None = Field(None, description="to the nearest feature (name ends in _m)")
    value: (
        Annotated[
            RasterValue, BeforeValidator(path_alone, json_schema_input_type=Text | RasterValue)
        ]
        | None
    ) = Field(None, description="of a raster (name ends in the unit of its values)")
    cover: CoverShare | None = Field(
        None, description="share of land cover within a radius (name ends in _share)"
    )
    presence: Presence | None = Field(
        None, description="1 where features touch the cell, else 0 (name ends in _share)"
    )
    density: Density | None = Field(
        None, description="of points within a radius (name ends in _per_km2)"
    )
    aspect: Aspect | None = Field(
        None, description="where the slope faces, from true north (name ends in _deg)"
    )
    position: Position | None = Field(
        None, description="height above the ground around (name ends in _m)"
    )
    box_heat: BoxHeatHours | None = Field(
        None, description="hours of the season in which a box is too warm (name ends in _h)"
    )

    @model_validator(mode="after")
    def _one_kind(self) -> MeasuredLayer:
        given = [kind for kind in KINDS if getattr(self, kind) is not None]
        if len(given) != 1:
            what = f"{' and '.join(given)} are given" if given else "nothing is measured"
            raise UnfitValueError(what, f"give one of {', '.join(KINDS)}")
        return self

    @property
    def kind(self) -> str:
        """Which of `KINDS` it is."""
        return next(kind for kind in KINDS if getattr(self, kind) is not None)

    @property
    def vectors(self) -> tuple[str, tuple[VectorSource, ...]] | None:
        """The key that the sources of its features stand under, and those; None if it has none."""
        if self.distance is not None:
            return "distance.to", self.distance.to
        if self.presence is not None:
            return "presence.of", self.presence.of
        return None if self.density is None else ("density.of", self.density.of)


# Columns of the table of sites that are no layers, though their names look alike.
COLUMNS = frozenset(
    {"x_m", "y_m", "lon_deg", "lat_deg", "facing_deg", "facing_magnetic_deg", "mount_height_m"}
)


def checked_names(layers: Mapping[str, MeasuredLayer]) -> None:
    """Refuse names that cannot be a layer's, or do not end in the unit of what it measures.

    Raises
    ------
    UnfitValueError
        At the first such name. (A ValueError.)
    """
    for name, layer in layers.items():
        if not re.match(NAME, name):
            what = f"{shown(name)} cannot be the name of a layer"
            fix = "write small letters, digits and _, 40 at most, such as road_distance_m"
            raise UnfitValueError(what, fix, within=(name,))
        if name in COLUMNS:
            what = f"{shown(name)} is another column of the table of sites"
            raise UnfitValueError(what, f"call it own_{name}", within=(name,))
        ending = _ENDINGS.get(layer.kind)
        if ending is None:
            try:
                unit_of(name)
            except UnfitValueError as exc:
                raise UnfitValueError(exc.what, exc.fix, within=(name,)) from exc
        elif not name.endswith(ending):
            what = f"{shown(name)} measures {layer.kind}, yet does not end in {ending}"
            stem = name.rpartition("_")[0] or name
            raise UnfitValueError(what, f"call it {stem}{ending}", within=(name,))


MeasuredLayers = Annotated[
    dict[str, MeasuredLayer],
    Field(json_schema_extra={"propertyNames": {"pattern": NAME}}),
]
