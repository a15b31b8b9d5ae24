"""Land-cover legends: what the codes of a raster mean. The legends themselves are data files."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field
from ruamel.yaml.error import YAMLError

from suitability.config.paths import SHIPPED_LEGENDS
from suitability.errors import InputError
from suitability.grid import Float32
from suitability.inputs.places import StrPath, place_of
from suitability.inputs.tables import first_fault, parse_table

Codes = NDArray[np.int16]
Group = Literal[
    "water", "wetland", "forest", "shrub", "grass", "crop", "developed", "barren", "ice"
]

NO_CLASS = -1  # in arrays of codes: no data here
MAX_CODE = 32_767  # codes are held in 16 bits

# Where a legend gives no height for a class. Common practice: no published table was found.
ASSUMED_CANOPY_M: dict[str, float] = {"forest": 18.0, "shrub": 2.0}

# Codes that only these other legends use, and what to do about them.
_FOREIGN = (
    (set(range(111, 117)) | set(range(121, 127)), "the 100 m global land cover of Copernicus"),
    ({61, 83, 84, 85, 91, 92}, "the 1992 land cover of the NLCD"),
)


@dataclass(frozen=True)
class LandCoverClass:
    """A class of a legend: its code in the raster, name, group and assumed canopy height. [m]."""

    code: int
    name: str
    group: Group
    canopy_height_m: float


@dataclass(frozen=True)
class Legend:
    """What the codes of a land-cover raster mean.

    Parameters
    ----------
    name : str
        Name of the classification.
    source : str
        Who published it.
    nodata : tuple of int
        Codes that mean "no data".
    classes : tuple of LandCoverClass
        Every class, by rising code.
    """

    name: str
    source: str
    nodata: tuple[int, ...]
    classes: tuple[LandCoverClass, ...]

    @cached_property
    def codes(self) -> frozenset[int]:
        """Codes of all classes."""
        return frozenset(entry.code for entry in self.classes)

    def name_of(self, code: int) -> str:
        """Return the class name of a code, or "no data"."""
        names = {entry.code: entry.name for entry in self.classes}
        return names.get(code, "no data")

    def require_known(self, counts: Mapping[int, int], where: str | None = None) -> None:
        """Refuse codes that the legend does not hold.

        Parameters
        ----------
        counts : mapping of int to int
            Cells by code; `NO_CLASS` and the legend's nodata are passed over.
        where : str, optional
            The raster, for the error.

        Raises
        ------
        InputError
            If a code is unknown: all unknown codes, with how many cells hold each.
        """
        silent = {NO_CLASS, *self.nodata}
        unknown = {code: n for code, n in counts.items() if code not in self.codes | silent}
        if not unknown:
            return
        listed = ", ".join(f"{code} ({n:,} cells)" for code, n in sorted(unknown.items())[:20])
        more = f" and {len(unknown) - 20} more" if len(unknown) > 20 else ""
        msg = f"{self.name} has no class for {listed}{more}"
        known = {int(code) for code in counts} - silent
        raise InputError(msg, where=where, fix=_remedy(known, set(unknown)))

    def mask_of(self, codes: Codes, *groups: Group) -> NDArray[np.bool_]:
        """Return which cells belong to any of the groups, in the shape of `codes`."""
        members = [entry.code for entry in self.classes if entry.group in groups]
        return np.isin(codes, members)

    def codes_of(self, wanted: Iterable[str | int], where: str | None = None) -> frozenset[int]:
        """Return the codes of groups, classes by name, or codes.

        Parameters
        ----------
        wanted : iterable of str or int
            As written; capital letters do not matter. A group may have no class in a legend.
        where : str, optional
            The line of the run file, for the error.

        Raises
        ------
        InputError
            If something is no group, class or code of the legend.
        """
        found: set[int] = set()
        for word in wanted:
            if isinstance(word, int):
                hits = {word} & self.codes
            else:
                hits = {e.code for e in self.classes if word.casefold() == e.name.casefold()}
                hits |= {e.code for e in self.classes if word.casefold() == e.group}
            if not hits and str(word).casefold() not in get_args(Group):
                msg = f"{self.name} has no group, class or code {word!r}"
                names = ", ".join(f"{entry.code} {entry.name}" for entry in self.classes)
                fix = f"groups are {', '.join(get_args(Group))}; its classes: {names}"
                raise InputError(msg, where=where, fix=fix)
            found |= hits
        return frozenset(found)

    def assumed_canopy_m(self, codes: Codes) -> Float32:
        """Return a canopy height for each cell from the legend's table. [m].

        Common practice, not a measurement; NaN where there is no class.
        """
        heights = np.full(codes.shape, np.nan, dtype=np.float32)
        for height_m in {entry.canopy_height_m for entry in self.classes}:
            members = [e.code for e in self.classes if e.canopy_height_m == height_m]
            heights[np.isin(codes, members)] = height_m
        return heights


class _ClassText(BaseModel):
    model_config = ConfigDict(extra="forbid")
    name: str
    group: Group
    canopy_height_m: Annotated[float, Field(ge=0, le=120, allow_inf_nan=False)] | None = None


_Code = Annotated[int, Field(ge=0, le=MAX_CODE)]


class _LegendText(BaseModel):
    model_config = ConfigDict(extra="forbid")
    name: str
    source: str
    nodata: list[int] = []
    classes: dict[_Code, _ClassText] = Field(min_length=1)


def load_legend(name_or_path: StrPath, place: str | None = None) -> Legend:
    """Read a shipped legend by its name, or any legend from its YAML file.

    Parameters
    ----------
    name_or_path : str or path
        `nlcd`, `worldcover`, or the path of a legend.
    place : str, optional
        The line of the run file that names it, for errors.

    Raises
    ------
    InputError
        If there is no such legend, or it is not a legend.
    """
    named = str(name_or_path)
    path: Any = files(__package__) / "legends" / f"{named}.yaml"
    if named not in SHIPPED_LEGENDS:
        path = Path(named)
    where = place_of(named, place)
    try:
        text = _LegendText.model_validate(parse_table(path.read_bytes()))
    except (OSError, UnicodeDecodeError, YAMLError, ValueError) as exc:
        msg = f"no legend can be read from {named!r}: {first_fault(exc)}"
        fix = (
            f"name a shipped legend ({', '.join(SHIPPED_LEGENDS)}), or a YAML file with name, "
            "source, nodata: [0] and classes: {41: {name: Deciduous Forest, group: forest}}"
        )
        raise InputError(msg, where=where, fix=fix) from exc
    return _to_legend(text, where)


def _to_legend(text: _LegendText, where: str) -> Legend:
    both = sorted(set(text.nodata) & set(text.classes))
    if both:
        msg = f"code {both[0]} is both a class and nodata"
        raise InputError(msg, where=where, fix="keep it in one of the two")
    classes = []
    for code, entry in sorted(text.classes.items()):
        height_m = entry.canopy_height_m
        if height_m is None:
            height_m = ASSUMED_CANOPY_M.get(entry.group, 0.0)
        classes.append(LandCoverClass(code, entry.name, entry.group, height_m))
    return Legend(text.name, text.source, tuple(sorted(text.nodata)), tuple(classes))


def _remedy(present: set[int], unknown: set[int]) -> str:
    """Return what may be wrong; a legend is never guessed."""
    for foreign, title in _FOREIGN:
        if unknown & foreign:
            return (
                f"the codes look like {title}, whose classes do not fit; write a legend for it "
                "in YAML and name that file as `legend`, or use another raster"
            )
    fitting = [name for name in SHIPPED_LEGENDS if present <= load_legend(name).codes]
    if fitting:
        return (
            f"every code fits the legend {fitting[0]}; if it is that, state `legend: {fitting[0]}`"
        )
    return (
        "state the legend that the raster was made with, or write one in YAML that names "
        "these codes (as nodata, if that is what they mean)"
    )
