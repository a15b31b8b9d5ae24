"""A budget against one worked out by hand; the prices are invented."""

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from suitability.budget import rows_of
from suitability.budget.costs import EACH_YEAR, PUTTING_UP, PlannedSite, allotted, budget_of
from suitability.budget.prices import BEGINS, Prices, read_prices
from suitability.config.load import section_of
from suitability.errors import ConfigError

EXAMPLE = Path(__file__).parents[3] / "configs" / "budget.yaml"
SITES = (
    PlannedSite(1, "tall", "pole"),
    PlannedSite(2, "tall", "wall"),
    PlannedSite(3, None, "pole"),
)
PRICES = """\
currency: EUR
years: 3
boxes: {tall: 10.05}
each_site:
  - {item: post, price: 7.335, only_for: pole}
  - {item: screw, price: 0.1, count: 3}
once: [{item: sign, price: 2.5, count: 2}]
labour: {rate: 12.50, hours_per_site: 1.5, hours_once: 0.25}
travel: {round_trip: 30, price: 0.333, unit: km, trips: 2}
visits: {per_year: 2, hours_per_site: 0.5, rate: 10}
upkeep: 1.115
contingency: 10 %
price_rise: 3 %
"""


def prices(text=PRICES):
    return section_of(text, "prices.yaml", Prices, begins=BEGINS)


def test_a_budget_worked_out_by_hand():
    found = budget_of(SITES, prices())
    lines = {(line.part, line.item): str(line.amount) for line in found.lines}
    assert lines == {
        (PUTTING_UP, "box: tall"): "20.10",  # 2 × 10.05
        (PUTTING_UP, "post"): "14.67",  # 2 × 7.335
        (PUTTING_UP, "screw"): "0.90",  # 9 × 0.1
        (PUTTING_UP, "sign"): "5.00",
        (PUTTING_UP, "labour"): "59.38",  # 4.75 h × 12.50 = 59.375, halves up
        (PUTTING_UP, "travel"): "19.98",  # 60 km × 0.333
        (EACH_YEAR, "visits: labour"): "30.00",  # 2 × 0.5 h × 3 × 10
        (EACH_YEAR, "visits: travel"): "19.98",
        (EACH_YEAR, "upkeep"): "3.35",  # 3 × 1.115 = 3.345, halves up
    }
    assert found.subtotal(PUTTING_UP) == Decimal("120.03")
    assert found.contingency[PUTTING_UP] == Decimal("12.00")  # 12.003
    assert found.total_of(EACH_YEAR) == Decimal("58.66")  # 53.33 + 5.33
    # 58.66, × 1.03 = 60.4198, × 1.0609 = 62.232394
    assert [str(year) for year in found.years] == ["58.66", "60.42", "62.23"]
    assert found.total == Decimal("313.34")  # 132.03 + 181.31


def test_sites_add_up_to_what_putting_up_costs():
    found = budget_of(SITES, prices())
    assert sum(found.by_site) == found.total_of(PUTTING_UP)
    # Own: 10.05 + 7.335 + 0.3 + 18.75 = 36.435, 29.10 and 26.385; shared: 28.11, 9.37 each.
    # Of 132.03 by 45.805 : 38.47 : 35.755 of 120.03: 50.3844…, 42.3160… and 39.3295…
    assert [str(part) for part in found.by_site] == ["50.38", "42.32", "39.33"]


def test_nothing_rises_unless_it_is_stated():
    found = budget_of(SITES, prices(PRICES.replace("price_rise: 3 %\n", "")))
    assert set(found.years) == {Decimal("58.66")}


def test_rows_say_what_is_counted():
    rows = rows_of(budget_of(SITES, prices()), SITES, prices())
    assert rows[1] == ("putting up", "post", "2", "piece", "7.335", "14.67")
    assert ("in all", "a site", "", "", "", "104.45") in rows  # 313.34 / 3 = 104.446…
    assert ("in all", "a site and year, after putting up", "", "", "", "20.15") in rows
    assert rows[-1] == ("putting up, by site", "site 3: no box", "", "", "", "39.33")


@settings(deadline=None)
@given(
    st.integers(0, 10**9),
    st.lists(st.decimals(0, 1000, places=3), min_size=1, max_size=40),
    st.integers(0, 3),
)
def test_parts_always_add_up(total, weights, decimals):
    whole = Decimal(total).scaleb(-decimals)
    parts = allotted(whole, weights, decimals)
    assert sum(parts) == whole
    assert all(part >= 0 for part in parts)
    if sum(weights):
        for part, weight in zip(parts, weights, strict=True):
            assert abs(part - whole * weight / sum(weights)) < Decimal(1).scaleb(-decimals)


@pytest.mark.parametrize(
    ("old", "new", "where", "what"),
    [
        ("tall: 10.05", "tall: null", "line 3: boxes.tall", "this is not filled in"),
        ("tall: 10.05", "tall: $10", "line 3: boxes.tall", "'$10' is no amount"),
        ("upkeep: 1.115", "upkeep: -1", "line 11: upkeep", "-1 is no amount"),
        ("rate: 12.50, ", "", "line 8: labour", "rate is missing"),
        ("price: 0.1,", "prise: 0.1, price: 0.1,", "line 6: each_site[1].prise", "not a key"),
        ("10 %", "110 %", "line 12: contingency", "more than the whole"),
        ("10 %", "much", "line 12: contingency", "'much' is no share"),
        ("years: 3", "years: 3.5", "line 2: years", "3.5"),
        ("only_for: pole", "only_for: tree", "line 5: each_site[0].only_for", "'tree'"),
    ],
)
def test_mistakes_are_told_with_line_and_key(tmp_path, old, new, where, what):
    path = tmp_path / "prices.yaml"
    path.write_text(PRICES.replace(old, new), encoding="utf-8")
    with pytest.raises(ConfigError) as caught:
        read_prices(path)
    assert caught.value.where == f"prices.yaml, {where}"
    assert what in caught.value.what
    assert caught.value.fix


def wrong_texts():
    """Yield the example with each of its values made nothing, a list and a word in turn."""
    lines = EXAMPLE.read_text(encoding="utf-8").splitlines()
    for number, line in enumerate(lines):
        bare = line.partition("#")[0].rstrip()
        if ":" not in bare or bare.lstrip().startswith("-"):
            continue
        key = bare.partition(":")[0]
        for wrong in (
            f"{key}: [[]]",
            f"{key}: {{no: 1}}",
            f"{key}: ..",
            f"{key}x{bare[len(key) :]}",
        ):
            yield "\n".join([*lines[:number], wrong, *lines[number + 1 :]])


def test_whatever_is_wrong_is_told_as_a_users_mistake(tmp_path):
    refused = 0
    for text in wrong_texts():
        path = tmp_path / "prices.yaml"
        path.write_text(text, encoding="utf-8")
        try:
            read_prices(path)
        except ConfigError:
            refused += 1
    assert refused > 80
