"""The unit of heights: from the run file, the band's tag, or the vertical part of the CRS."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rasterio.io import DatasetReader

from suitability.config.sources import VerticalUnit
from suitability.errors import InputError
from suitability.inputs.opening import crs_of, full_crs_of

# Metres in one. The international foot is 0.3048 m exactly; the US survey foot is 1200/3937 m
# (NIST SP 811, Appendix B.6): 2 parts in a million apart, 1.2 cm at 6,000 m.
TO_METRES: dict[VerticalUnit, float] = {"m": 1.0, "ft": 0.3048, "us_survey_ft": 1200 / 3937}

_WORDS: dict[str, VerticalUnit] = {
    **dict.fromkeys(("m", "metre", "meter", "metres", "meters", "9001"), "m"),
    **dict.fromkeys(("ft", "foot", "feet", "international foot", "9002"), "ft"),
    **dict.fromkeys(
        ("us-ft", "ftus", "us survey foot", "us survey feet", "foot_us", "us_survey_ft",
         "u.s. survey foot", "u.s. survey feet", "us_survey_foot", "survey foot", "9003"),
        "us_survey_ft",
    ),
}  # fmt: skip


@dataclass(frozen=True)
class HeightUnit:
    """The unit of a raster's heights, and how it is known.

    Parameters
    ----------
    unit : {"m", "ft", "us_survey_ft"}
        See `TO_METRES` for its length.
    how_known : str
        Where the unit comes from.
    is_assumed : bool
        Neither the file nor the run file states it.
    conflict : str, optional
        A warning, if the two disagree.
    """

    unit: VerticalUnit
    how_known: str
    is_assumed: bool = False
    conflict: str | None = None

    @property
    def factor_to_m(self) -> float:
        """Metres in one of the unit."""
        return TO_METRES[self.unit]


def vertical_unit(
    dataset: DatasetReader,
    stated: VerticalUnit | None = None,
    *,
    band: int = 1,
    assumed: VerticalUnit | None = None,
    where: str | None = None,
) -> HeightUnit:
    """Find the unit of a raster's heights.

    Reprojecting a raster moves its cells and leaves its heights as they are, so the unit is
    asked for, never taken from the horizontal CRS.

    Parameters
    ----------
    dataset : rasterio dataset
        The open raster.
    stated : {"m", "ft", "us_survey_ft"}, optional
        What the run file states; it wins over the file.
    band : int
        The band that holds the heights.
    assumed : {"m", "ft", "us_survey_ft"}, optional
        Taken where neither states one.
    where : str, optional
        File and line, for the error.

    Raises
    ------
    InputError
        If neither states the unit and none may be assumed.
    """
    from_file = _tagged(dataset, band) or _from_crs(dataset)
    if stated is not None:
        conflict = None
        if from_file is not None and from_file[0] != stated:
            conflict = (
                f"the run file states heights in {stated}, {from_file[1]} says {from_file[0]}; "
                f"{stated} is used"
            )
        elif from_file is None and stated == "m" and _counts_in_feet(dataset):
            conflict = (
                "the raster's CRS counts in feet, and nothing but the run file says that its "
                "heights are metres: if they are feet, too, all of the land is taken for 3.3 "
                "times as high"
            )
        return HeightUnit(stated, "stated in the run file", conflict=conflict)
    if from_file is not None:
        return HeightUnit(from_file[0], f"from {from_file[1]}")
    if assumed is not None:
        return HeightUnit(assumed, "assumed", is_assumed=True)
    msg = "neither the raster nor the run file says in which unit the heights are"
    fix = "state `unit: m`, `unit: ft` or `unit: us_survey_ft`"
    raise InputError(msg, where=where, fix=fix)


def _tagged(dataset: DatasetReader, band: int) -> tuple[VerticalUnit, str] | None:
    unit = _WORDS.get((dataset.units[band - 1] or "").strip().lower())
    return (unit, "the band's unit tag") if unit else None


def _counts_in_feet(dataset: DatasetReader) -> bool:
    return any("foot" in axis.unit_name.lower() for axis in crs_of(dataset).axis_info)


def _from_crs(dataset: DatasetReader) -> tuple[VerticalUnit, str] | None:
    crs = full_crs_of(dataset)
    vertical = crs.sub_crs_list[1] if crs.is_compound and len(crs.sub_crs_list) > 1 else crs
    for axis in vertical.axis_info:
        if axis.direction != "up":
            continue
        for unit, metres in TO_METRES.items():
            if math.isclose(axis.unit_conversion_factor, metres, rel_tol=1e-9):
                return unit, "the vertical part of its CRS"
    return None
