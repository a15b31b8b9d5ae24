"""What sites cost by a user's prices: exact decimals, every line rounded once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Literal

from suitability.budget.prices import Prices, rate_of_visits, trip_cost

Part = Literal["putting up", "each year"]
PUTTING_UP: Part = "putting up"
EACH_YEAR: Part = "each year"


@dataclass(frozen=True)
class PlannedSite:
    """A site that is to have a box.

    Parameters
    ----------
    rank : int
        Of the run.
    box : str or None
        Name of the design; None where none is advised.
    mount : str
        `pole` or `wall`.
    """

    rank: int
    box: str | None
    mount: str


@dataclass(frozen=True)
class Line:
    """A line of the budget: count times price, rounded.

    Parameters
    ----------
    part : str
        `putting up` or `each year`.
    item, unit : str
        What it is, and what is counted.
    count, price, amount : decimal.Decimal
        How many, of one, and in all.
    """

    part: Part
    item: str
    count: Decimal
    unit: str
    price: Decimal
    amount: Decimal


@dataclass(frozen=True)
class Budget:
    """What sites cost.

    Parameters
    ----------
    lines : tuple of Line
        Putting up, then what comes each year at the prices of the first.
    contingency : dict
        By part.
    years : tuple of decimal.Decimal
        What each year comes to, contingency and price rise in it.
    by_site : tuple of decimal.Decimal
        In the order of the sites, their part of putting up; they add up to it exactly.
    """

    lines: tuple[Line, ...]
    contingency: dict[Part, Decimal]
    years: tuple[Decimal, ...]
    by_site: tuple[Decimal, ...]

    def subtotal(self, part: Part) -> Decimal:
        """Return a part without its contingency."""
        return sum((line.amount for line in self.lines if line.part == part), Decimal(0))

    def total_of(self, part: Part) -> Decimal:
        """Return a part with its contingency."""
        return self.subtotal(part) + self.contingency[part]

    @property
    def total(self) -> Decimal:
        """Putting up and all years."""
        return self.total_of(PUTTING_UP) + sum(self.years, Decimal(0))


def budget_of(sites: Sequence[PlannedSite], prices: Prices) -> Budget:
    """Return what sites cost.

    Parameters
    ----------
    sites : sequence of PlannedSite
        One or more; each box has its price.
    prices : Prices
        The user's.
    """
    lines = (*_putting_up(sites, prices), *_each_year(len(sites), prices))
    sums: dict[Part, Decimal] = {
        part: sum((line.amount for line in lines if line.part == part), Decimal(0))
        for part in (PUTTING_UP, EACH_YEAR)
    }
    contingency = {part: _rounded(sums[part] * prices.contingency, prices) for part in sums}
    yearly = sums[EACH_YEAR] + contingency[EACH_YEAR]
    years = tuple(
        _rounded(yearly * (1 + prices.price_rise) ** year, prices) for year in range(prices.years)
    )
    total = sums[PUTTING_UP] + contingency[PUTTING_UP]
    own = [_own_cost(site, prices) for site in sites]
    shared = (sums[PUTTING_UP] - sum(own)) / len(sites)
    by_site = allotted(total, [cost + shared for cost in own], prices.decimals)
    return Budget(lines, contingency, years, by_site)


def allotted(total: Decimal, weights: Sequence[Decimal], decimals: int) -> tuple[Decimal, ...]:
    """Return a total in parts that go by weights and add up to it exactly.

    Each is rounded down, and what is left goes, unit by unit, to the parts that lost most by
    that (the method of the largest remainder); of equals to the first.

    Parameters
    ----------
    total : decimal.Decimal
        With `decimals` decimals.
    weights : sequence of decimal.Decimal
        Not negative; if all are 0 they count alike.
    decimals : int
        Of the parts.
    """
    whole = sum(weights, Decimal(0))
    shares = [total * w / whole if whole else total / len(weights) for w in weights]
    unit = Decimal(1).scaleb(-decimals)
    parts = [share.quantize(unit, ROUND_FLOOR) for share in shares]
    left = int((total - sum(parts, Decimal(0))) / unit)
    order = sorted(range(len(parts)), key=lambda at: (parts[at] - shares[at], at))
    for at in order[:left]:
        parts[at] += unit
    return tuple(parts)


def box_price(box: str | None, prices: Prices) -> Decimal | None:
    """Return the price of a box; None where none is stated, 0 where none is advised."""
    return Decimal(0) if box is None else prices.boxes.get(box, prices.other_boxes)


def _own_cost(site: PlannedSite, prices: Prices) -> Decimal:
    """Return what a site costs by itself, before anything that all share."""
    items = [e.price * e.count for e in prices.each_site if e.only_for in (None, site.mount)]
    work = prices.labour.rate * prices.labour.hours_per_site
    return (box_price(site.box, prices) or Decimal(0)) + sum(items, Decimal(0)) + work


def _putting_up(sites: Sequence[PlannedSite], prices: Prices) -> list[Line]:
    def line(item: str, count: Decimal, unit: str, price: Decimal) -> Line:
        return Line(PUTTING_UP, item, count, unit, price, _rounded(count * price, prices))

    number = len(sites)
    boxes = Counter(site.box for site in sites if site.box is not None)
    found = [
        line(f"box: {box}", Decimal(count), "box", box_price(box, prices) or Decimal(0))
        for box, count in sorted(boxes.items())
    ]
    for entry in prices.each_site:
        at = sum(entry.only_for in (None, site.mount) for site in sites)
        if at:
            found.append(line(entry.item, entry.count * at, "piece", entry.price))
    found += [line(entry.item, entry.count, "piece", entry.price) for entry in prices.once]
    labour = prices.labour
    hours = labour.hours_per_site * number + labour.hours_once
    found.append(line("labour", hours, "hour", labour.rate))
    if prices.travel:
        way = prices.travel.trips * prices.travel.round_trip
        found.append(line("travel", way, prices.travel.unit, prices.travel.price))
    return found


def _each_year(number: int, prices: Prices) -> list[Line]:
    def line(item: str, count: Decimal, unit: str, price: Decimal) -> Line:
        return Line(EACH_YEAR, item, count, unit, price, _rounded(count * price, prices))

    found = []
    if visits := prices.visits:
        hours = visits.per_year * visits.hours_per_site * number
        found.append(line("visits: labour", hours, "hour", rate_of_visits(prices)))
        if trip_cost(prices.travel) and prices.travel:
            way = visits.per_year * visits.trips * prices.travel.round_trip
            found.append(line("visits: travel", way, prices.travel.unit, prices.travel.price))
    if prices.upkeep:
        found.append(line("upkeep", Decimal(number), "site", prices.upkeep))
    return found


def _rounded(amount: Decimal, prices: Prices) -> Decimal:
    return amount.quantize(Decimal(1).scaleb(-prices.decimals), ROUND_HALF_UP)
