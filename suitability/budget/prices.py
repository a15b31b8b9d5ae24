"""A file of prices: what its user pays; the program holds no price of its own."""

from __future__ import annotations

import os
import re
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from suitability.config.document import Document, parse_document
from suitability.config.load import read_text, section_of
from suitability.config.section import Section, Text, WholeNumber
from suitability.config.unfit import UnfitValueError, shown

BEGINS = "currency: and boxes: into it, as configs/budget.yaml shows"

_PLAIN = re.compile(r"[0-9]{1,12}(\.[0-9]{1,6})?")


def _decimal(value: object) -> Decimal:
    """Return a number as it was written: 0.1 is a tenth."""
    if isinstance(value, Decimal):
        return value
    if value is None:
        what = "this is not filled in"
        raise UnfitValueError(what, "write a number of your own, or take the key out")
    text = value.strip() if isinstance(value, str) else str(value)
    if isinstance(value, bool) or not _PLAIN.fullmatch(text):
        what = f"{shown(value)} is no amount"
        fix = "write a plain number from 0 on, such as 12.50, without currency, comma or sign"
        raise UnfitValueError(what, fix)
    return Decimal(text)


def _share(value: object) -> Decimal:
    """Return a share from 0.1 or "10 %"."""
    percent = isinstance(value, str) and value.strip().endswith("%")
    bare = str(value).strip().removesuffix("%").strip() if percent else value
    try:
        share = _decimal(bare) / (100 if percent else 1)
    except (UnfitValueError, InvalidOperation) as exc:
        what = f"{shown(value)} is no share"
        raise UnfitValueError(what, 'write a share, such as 0.1 or "10 %"') from exc
    if share > 1:
        what = f"{shown(value)} is more than the whole"
        raise UnfitValueError(what, 'write a share of 1 at most, such as 0.1 or "10 %"')
    return share


Amount = Annotated[Decimal, BeforeValidator(_decimal)]
Share = Annotated[Decimal, BeforeValidator(_share)]


class Item(Section):
    """Something that is bought once for the whole project."""

    item: Text = Field(description="what it is", examples=["sign"])
    price: Amount = Field(description="of one", examples=["22.50"])
    count: Amount = Field(Decimal(1), description="how many", examples=[2])


class SiteItem(Item):
    """Something that is bought for every site: post, hardware, paint."""

    only_for: Literal["pole", "wall"] | None = Field(
        None, description="for boxes on that mount alone; left out: for all"
    )


class Labour(Section):
    """Hours of work, and what one costs."""

    rate: Amount = Field(description="of an hour; 0 for volunteers", examples=[25])
    hours_per_site: Amount = Field(
        description="to put up a box, by all who work at it", examples=[3]
    )
    hours_once: Amount = Field(
        Decimal(0), description="for the whole project: planning, permits", examples=[8]
    )


class Travel(Section):
    """Trips to the land."""

    round_trip: Amount = Field(description="there and back, in `unit`", examples=[40])
    price: Amount = Field(description="of one `unit`", examples=[0.5])
    unit: Text = Field("mile", description="mile, km or what you count in", examples=["mile"])
    trips: Amount = Field(Decimal(1), description="for putting up", examples=[1])


class Visits(Section):
    """Looking after the boxes, year after year."""

    per_year: Amount = Field(description="how often a year", examples=[2])
    hours_per_site: Amount = Field(description="of one visit at one site", examples=[0.5])
    rate: Amount | None = Field(
        None, description="of an hour; left out: that of labour", examples=[25]
    )
    trips: Amount = Field(Decimal(1), description="that one visit of all sites takes", examples=[1])


class Prices(Section):
    """What boxes cost to put up and to keep."""

    currency: Text = Field(description="as it shall be printed", examples=["USD"])
    decimals: Annotated[WholeNumber, Field(ge=0, le=3)] = Field(
        2, description="of the currency; every line is rounded to them, halves up"
    )
    invented: bool = Field(
        False, description="true in the example: every output says so until you take it out"
    )
    sites: Annotated[WholeNumber, Field(ge=1)] | None = Field(
        None, description="only the best so many of the run; left out: all", examples=[6]
    )
    years: Annotated[WholeNumber, Field(ge=0, le=50)] = Field(
        description="of visits and upkeep after putting up", examples=[5]
    )
    boxes: dict[Text, Amount] = Field(
        description="price of one box, by the run's name of it", examples=[{"three chambers": 60}]
    )
    other_boxes: Amount | None = Field(
        None, description="of a box that `boxes` does not name", examples=[60]
    )
    each_site: tuple[SiteItem, ...] = Field(
        (), description="bought for every site", examples=[[{"item": "post", "price": 40}]]
    )
    once: tuple[Item, ...] = Field(
        (),
        description="bought once for the whole project",
        examples=[[{"item": "sign", "price": 20}]],
    )
    labour: Labour
    travel: Travel | None = Field(None, description="left out: none")
    visits: Visits | None = Field(None, description="left out: none")
    upkeep: Amount = Field(
        Decimal(0), description="material a site and year: paint, repairs", examples=[5]
    )
    contingency: Share = Field(description='on everything, such as "10 %"', examples=["10 %"])
    price_rise: Share = Field(
        Decimal(0),
        description="a year, from the second year of upkeep on; left out: none",
        examples=["3 %"],
    )


def read_prices(path: str | os.PathLike[str]) -> tuple[Prices, Document]:
    """Read a file of prices, and where its keys stand.

    Raises
    ------
    ConfigError
        If the file cannot be read, or says what cannot be used; every fault with its line.
    """
    text, name = read_text(path, "file of prices"), Path(path).name
    return section_of(text, name, Prices, begins=BEGINS), parse_document(text, name, begins=BEGINS)


def trip_cost(travel: Travel | None) -> Decimal:
    """Return what one trip costs."""
    return travel.round_trip * travel.price if travel else Decimal(0)


def plain(value: Decimal) -> str:
    """Return a number as people write it: no exponent, no zeros behind."""
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def rate_of_visits(prices: Prices) -> Decimal:
    """Return what an hour of a visit costs."""
    visits: Any = prices.visits
    return prices.labour.rate if visits.rate is None else visits.rate
