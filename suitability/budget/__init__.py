"""What the sites of a finished run cost to put up and to keep, by the user's own prices."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import pandas as pd

from suitability.budget.costs import (
    EACH_YEAR,
    PUTTING_UP,
    Budget,
    PlannedSite,
    box_price,
    budget_of,
)
from suitability.budget.prices import Prices, plain, read_prices
from suitability.config.document import Document
from suitability.errors import ConfigError, InputError, ResultError
from suitability.finished import FinishedRun
from suitability.outputs.budget_table import BUDGET, write_budget


@dataclass(frozen=True)
class Proposal:
    """A budget with all that a reader of it has to know.

    Parameters
    ----------
    rows : tuple of tuple of str
        Part, item, count, unit, price, amount of each line, totals and sites.
    currency : str
        As it is printed.
    warnings : tuple of str
        What is not in it.
    note : str
        Whose prices, and how they are rounded.
    path : pathlib.Path
        The table that was written.
    """

    rows: tuple[tuple[str, ...], ...]
    currency: str
    warnings: tuple[str, ...]
    note: str
    path: Path


def propose(
    folder: str | os.PathLike[str],
    prices_file: str | os.PathLike[str],
    to: str | os.PathLike[str] | None = None,
) -> Proposal:
    """Work out what a finished run's sites cost, and write the table.

    Parameters
    ----------
    folder : path
        The run's.
    prices_file : path
        The user's prices, YAML.
    to : path, optional
        The table; left out, `budget.csv` in the run's folder.

    Raises
    ------
    ConfigError
        If the prices cannot be used, or a box has none.
    InputError
        If the folder holds no finished run, or the table cannot be written.
    ResultError
        If the run has no sites.
    """
    prices, document = read_prices(prices_file)
    run = FinishedRun.of(folder)
    sites = _sites(run, prices.sites)
    _require_prices(sites, prices, document)
    rows = rows_of(budget_of(sites, prices), sites, prices)
    note = _note(prices, Path(prices_file).name)
    path = run.folder / BUDGET if to is None else Path(to)
    try:
        write_budget(path, rows, currency=prices.currency, note=note)
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror or exc}"
        raise InputError(msg, where=path, fix="name another file with --to") from exc
    return Proposal(rows, prices.currency, _warnings(sites, prices), note, path)


def rows_of(
    budget: Budget, sites: Sequence[PlannedSite], prices: Prices
) -> tuple[tuple[str, ...], ...]:
    """Return a budget line by line: what is counted, what it comes to, and each site's part."""

    def money(amount: Decimal) -> str:
        return f"{amount.quantize(Decimal(1).scaleb(-prices.decimals), ROUND_HALF_UP):f}"

    def total(part: str, item: str, amount: Decimal) -> tuple[str, ...]:
        return (part, item, "", "", "", money(amount))

    rows: list[tuple[str, ...]] = []
    for part in (PUTTING_UP, EACH_YEAR):
        rows += [
            (part, line.item, plain(line.count), line.unit, plain(line.price), money(line.amount))
            for line in budget.lines
            if line.part == part
        ]
        rows.append(total(part, f"contingency {plain(100 * prices.contingency)} %",
                          budget.contingency[part]))  # fmt: skip
        rows.append(total(part, "total", budget.total_of(part)))
    rows += [total("by year", f"year {n}", due) for n, due in enumerate(budget.years, start=1)]
    rows.append(total("in all", f"putting up and {prices.years} years", budget.total))
    rows.append(total("in all", "a site", budget.total / len(sites)))
    if prices.years:
        yearly = sum(budget.years, Decimal(0)) / prices.years
        rows.append(total("in all", "a site and year, after putting up", yearly / len(sites)))
    rows += [
        total("putting up, by site", f"site {site.rank}: {site.box or 'no box'}", part)
        for site, part in zip(sites, budget.by_site, strict=True)
    ]
    return tuple(rows)


def _sites(run: FinishedRun, most: int | None) -> list[PlannedSite]:
    table = run.sites if most is None else run.sites.head(most)
    if table.empty:
        fix = "screen again with other criteria or exclusions"
        msg = "the run has no sites"
        raise ResultError(msg, where=run.folder, fix=fix)
    return [
        PlannedSite(
            row["rank"],
            None if pd.isna(row["box"]) else row["box"],
            row.get("kind", run.settings["mount"]["kind"]),
        )
        for row in table.to_dict("records")
    ]


def _require_prices(sites: Sequence[PlannedSite], prices: Prices, document: Document) -> None:
    unpriced = {site.box for site in sites if box_price(site.box, prices) is None}
    if unpriced:
        names = sorted(str(box) for box in unpriced)
        msg = f"there is no price of the box {', '.join(repr(name) for name in names)}"
        fix = f"add `{names[0]}: PRICE` to boxes, or other_boxes for all that are not named"
        raise ConfigError(msg, where=document.locate("boxes"), fix=fix)


def _warnings(sites: Sequence[PlannedSite], prices: Prices) -> tuple[str, ...]:
    bare = sum(site.box is None for site in sites)
    told = []
    if prices.invented:
        told.append(
            "these prices are invented, as the example has them: write your own, then take "
            "`invented` out"
        )
    if bare:
        told.append(f"no box is advised for {bare} of {len(sites)} sites; none is counted there")
    return tuple(told)


def _note(prices: Prices, name: str) -> str:
    rise = (
        f"a rise of {plain(100 * prices.price_rise)} % a year is in the years"
        if prices.price_rise
        else "no rise of prices is in it"
    )
    whose = "INVENTED PRICES" if prices.invented else f"prices of {name}"
    return (
        f"{whose}; each line rounded to {prices.decimals} decimals, halves up, totals are sums "
        f"of lines; {rise}; taxes and permits only where a line says so"
    )
