"""`suitability budget` on the sample run, with prices of the test's own."""

import csv
from pathlib import Path

from command import parts, refused, succeeded

EXAMPLE = Path(__file__).parents[2] / "configs" / "budget.yaml"


def rows_of(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_the_example_says_that_its_prices_are_invented(sample_run, tmp_path):
    path = tmp_path / "example.csv"
    printed = succeeded("budget", sample_run, EXAMPLE, "--to", path)
    assert "these prices are invented" in printed
    rows = rows_of(path)
    assert all(row["note"].startswith("INVENTED PRICES") for row in rows)
    amounts = {(row["part"], row["item"]): row["amount"] for row in rows}
    # 12 sites: boxes 12 × 111, posts 12 × 77, brackets 24 × 11, sign 22, 56 h × 33, 88 × 0.55.
    assert amounts["putting up", "total"] == "4882.24"  # 4438.40 and a tenth
    assert amounts["each year", "total"] == "568.04"  # 12 h × 33, 48.40, 12 × 6 and a tenth
    assert amounts["in all", "putting up and 5 years"] == "7722.44"
    by_site = [float(row["amount"]) for row in rows if row["part"] == "putting up, by site"]
    assert len(by_site) == 12
    assert round(sum(by_site), 2) == 4882.24


def test_own_prices_of_the_best_sites(sample_run, tmp_path):
    prices, path = tmp_path / "prices.yaml", tmp_path / "own.csv"
    prices.write_text(
        "{currency: '=€', decimals: 0, sites: 3, years: 0, boxes: {}, other_boxes: 20,\n"
        " labour: {rate: 0, hours_per_site: 1}, contingency: 0}\n",
        encoding="utf-8",
    )
    printed = succeeded("budget", sample_run, prices, "--to", path)
    assert "invented" not in printed
    rows = rows_of(path)
    assert {row["currency"] for row in rows} == {"'=€"}
    assert rows[0]["note"].startswith("prices of prices.yaml; each line rounded to 0 decimals")
    amounts = {(row["part"], row["item"]): row["amount"] for row in rows}
    assert amounts["in all", "putting up and 0 years"] == "60"
    assert amounts["in all", "a site"] == "20"
    assert ("in all", "a site and year, after putting up") not in amounts


def test_a_box_without_a_price_is_named(sample_run, tmp_path):
    prices = tmp_path / "prices.yaml"
    text = EXAMPLE.read_text(encoding="utf-8")
    text = text.replace("other_boxes: 88", "other_boxes: null").replace(
        "  around a post: 111\n", ""
    )
    prices.write_text(text, encoding="utf-8")
    what, where, fix = parts(refused("budget", sample_run, prices, "--to", tmp_path / "none.csv"))
    assert what == "there is no price of the box 'around a post'"
    assert where == "prices.yaml, line 11: boxes"
    assert "`around a post: PRICE`" in fix
    assert not (tmp_path / "none.csv").exists()
