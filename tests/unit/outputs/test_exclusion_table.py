"""The table of land that is out, in hectares and shares."""

import csv

from suitability.decide import REASONS, ExcludedLand
from suitability.outputs.exclusion_table import write_exclusion_table


def test_rows_add_up(tmp_path):
    # 100 cells of 5 m are a quarter of a hectare.
    land = ExcludedLand.of({0: 60, 2: 25, 64: 5, 66: 10}, REASONS)
    write_exclusion_table(tmp_path / "out.csv", land, 5.0)
    with (tmp_path / "out.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["reason"]: row for row in csv.DictReader(file)}
    assert list(rows) == [*(reason.key for reason in REASONS), "any", "none"]
    outside, slope = rows["outside"], rows["slope"]
    assert (outside["words"], outside["bit"]) == ("outside the boundary", "2")
    assert float(outside["area_ha"]) == 35 * 25 / 10_000
    assert float(outside["area_share"]) == 0.35
    assert float(outside["alone_share"]) == 0.25
    assert float(slope["and_outside_ha"]) == float(outside["and_slope_ha"]) == 0.025
    assert float(slope["and_slope_ha"]) == float(slope["area_ha"])
    assert float(rows["any"]["area_share"]) == 0.4
    assert float(rows["none"]["area_ha"]) == 0.15
