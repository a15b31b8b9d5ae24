"""What inputs seem to be, for a first run file; each guess says what it rests on."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pyogrio
from pyogrio.errors import DataLayerError, DataSourceError

from suitability.config.paths import SHIPPED_LEGENDS
from suitability.config.sources import VectorSource, VerticalUnit
from suitability.errors import InputError
from suitability.grid import WGS84, Grid
from suitability.inputs.cells import ClassCells
from suitability.inputs.elsewhere import require_here
from suitability.inputs.legend import NO_CLASS, load_legend
from suitability.inputs.opening import open_raster
from suitability.inputs.permanent import load_permanence
from suitability.inputs.places import StrPath
from suitability.inputs.sampling import sample_windows
from suitability.inputs.vector import Kind, read_layer
from suitability.inputs.vertical import HeightUnit, vertical_unit

MOST_CODES = 20  # told in a message

_HEIGHT = re.compile(r"height|hgt|(^|_)ht($|_)|hoehe|höhe|hauteur|altura", re.IGNORECASE)
_FEET = re.compile(r"(^|_)(ft|feet|foot)($|_)", re.IGNORECASE)
_METRES = re.compile(r"(^|_)(m|meter|meters|metre|metres)($|_)", re.IGNORECASE)
_POSSIBLE_HEIGHTS = (0.5, 4000.0)  # of buildings, in either unit


@dataclass(frozen=True)
class Layer:
    """A layer of a vector file, looked at.

    Parameters
    ----------
    name : str or None
        What must be stated to read it; None where the file has only this one.
    attributes : pandas.DataFrame
        Its attributes.
    facts, warnings : tuple of str
        What it is, and what is doubtful.
    """

    name: str | None
    attributes: pd.DataFrame
    facts: tuple[str, ...]
    warnings: tuple[str, ...]


def unit_of_heights(
    path: StrPath, stated: VerticalUnit | None, assumed: VerticalUnit | None = None
) -> HeightUnit:
    """Return the unit of a raster's heights; see `vertical_unit`."""
    with open_raster(path) as dataset:
        return vertical_unit(dataset, stated, assumed=assumed, where=str(path))


def codes_met(path: StrPath, grid: Grid) -> dict[int, int]:
    """Return land-cover codes and how many cells hold each, from samples over the land.

    Raises
    ------
    InputError
        If the raster cannot be read, or holds other than codes.
    """
    with open_raster(path) as dataset:
        cells = ClassCells(dataset, 1, (), str(path))
        found = [cells(window).ravel() for window in sample_windows(dataset, grid)]
    codes, counts = np.unique(np.concatenate(found), return_counts=True)
    met = zip(codes.tolist(), counts.tolist(), strict=True)
    return {code: count for code, count in met if code != NO_CLASS}


def fitting_legend(codes: Mapping[int, int], path: StrPath) -> str:
    """Return the only shipped legend that knows every code.

    Raises
    ------
    InputError
        If none does, or more than one: then it has to be stated.
    """
    legends = {name: load_legend(name) for name in SHIPPED_LEGENDS}
    fits = [
        name
        for name, legend in legends.items()
        if set(codes) <= legend.codes | set(legend.nodata) and legend.codes & set(codes)
    ]
    if len(fits) == 1:
        return fits[0]
    listed = ", ".join(str(code) for code in sorted(codes)[:MOST_CODES])
    if fits:
        msg = f"the codes {listed} fit several legends: {', '.join(fits)}"
        fix = f"state the one that the raster was made with: --legend {fits[0]}"
        raise InputError(msg, where=path, fix=fix)
    unknown = {
        name: sorted(set(codes) - legend.codes - set(legend.nodata))
        for name, legend in legends.items()
    }
    told = "; ".join(
        f"{name} has no {', '.join(str(code) for code in lacks[:MOST_CODES])}"
        for name, lacks in unknown.items()
        if lacks
    )
    msg = f"no shipped legend fits the land cover: {told or 'it holds no class here'}"
    fix = (
        "write a legend in YAML with name, source, nodata: [0] and classes: {41: {name: Deciduous "
        "Forest, group: forest}}, and state it: --legend my_legend.yaml"
    )
    raise InputError(msg, where=path, fix=fix)


def look_at_layer(path: StrPath, kinds: frozenset[Kind], role: str) -> Layer:
    """Return the layer of a vector file that can be what is wanted.

    Raises
    ------
    InputError
        If the file cannot be read, or has no such layer, or more than one.
    """
    name = _only_layer(path, kinds, role)
    source = VectorSource(path=str(path), layer=name)
    features, report = read_layer(source, WGS84, kinds=kinds, role=role)
    attributes = pd.DataFrame(features.drop(columns=features.geometry.name))
    return Layer(name, attributes, report.facts, report.warnings)


def height_field(attributes: pd.DataFrame) -> tuple[str | None, VerticalUnit | None, str]:
    """Return the attribute that holds heights of buildings, its unit if its name says it, and why.

    Parameters
    ----------
    attributes : pandas.DataFrame
        Of the footprints.
    """
    named = [str(name) for name in attributes.columns if _HEIGHT.search(str(name))]
    usable = [name for name in named if _holds_heights(attributes[name])]
    if not usable:
        fields = ", ".join(str(name) for name in attributes.columns) or "none"
        return None, None, f"no field looks like a height (fields: {fields})"
    field = usable[0]
    others = f"; {', '.join(usable[1:])} might be, too" if usable[1:] else ""
    if _FEET.search(field):
        return field, "ft", f"a height by its name{others}"
    if _METRES.search(field):
        return field, "m", f"a height by its name{others}"
    return field, None, f"a height by its name, which does not say its unit{others}"


def permanence_field(attributes: pd.DataFrame) -> tuple[str, str, str] | None:
    """Return the attribute that tells how lasting water is, the table that reads it, and why."""
    for table_name, field_name in (("nhd", "fcode"), ("words", None)):
        table = load_permanence(table_name)
        for field in attributes.columns:
            if field_name is not None and str(field).lower() != field_name:
                continue
            values = {_as_code(value) for value in attributes[field]}
            if values and values <= set(table.lasting):
                kinds = ", ".join(sorted({table.lasting[value].replace("_", " ")
                                          for value in values}))  # fmt: skip
                return str(field), table_name, f"every value is known: {kinds}"
    return None


def unknown_codes(attributes: pd.DataFrame) -> tuple[str, list[str]] | None:
    """Return the field that is called FCode, with its codes that the shipped table lacks."""
    table = load_permanence("nhd")
    for field in attributes.columns:
        if str(field).lower() == "fcode":
            values = {_as_code(value) for value in attributes[field]}
            return str(field), sorted(values - set(table.lasting))
    return None


def _as_code(value: object) -> str:
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    missing = value is None or value is pd.NA or (isinstance(value, float) and np.isnan(value))
    return "" if missing else str(value).strip()


def _holds_heights(column: pd.Series) -> bool:
    numbers = pd.to_numeric(column, errors="coerce")
    low, high = _POSSIBLE_HEIGHTS
    return bool(numbers.between(low, high).any())


def _only_layer(path: StrPath, kinds: frozenset[Kind], role: str) -> str | None:
    """Return the layer to name, None where there is nothing to choose."""
    require_here(path, str(path))
    try:
        listed = pyogrio.list_layers(path)
    except (DataSourceError, DataLayerError, OSError):
        return None  # whoever reads it says in words what is wrong
    named = [(str(name), str(kind)) for name, kind in listed if kind is not None]
    if len(named) < 2:
        return None
    fits = [name for name, kind in named if _fits(kind, kinds)]
    if len(fits) == 1:
        return fits[0]
    names = ", ".join(fits or [name for name, _ in named])
    msg = f"the file has several layers that could be {role}: {names}"
    if not fits:
        msg = f"no layer of the file can be {role}: {names}"
    fix = "export the one that is meant into a file of its own, and give that"
    raise InputError(msg, where=path, fix=fix)


def _fits(geometry_type: str, kinds: frozenset[Kind]) -> bool:
    plain = geometry_type.removeprefix("2.5D ").removeprefix("Multi").split(" ")[0].lower()
    names = {"linestring": "line", "polygon": "polygon", "point": "point"}
    return plain in ("unknown", "geometry") or names.get(plain, "") in kinds
