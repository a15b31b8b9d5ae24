"""The run files of cool, moderate and hot summers, screened on the sample area as they stand."""

import json
from pathlib import Path

import pandas as pd
import pytest
from command import succeeded

CONFIGS = Path(__file__).parents[2] / "configs"


@pytest.fixture(scope="module")
def screened(tmp_path_factory):
    """Screen all three into one folder, so that the land is measured once; return what is told."""
    out = tmp_path_factory.mktemp("climates") / "run"
    found = {}
    for climate in ("cool", "moderate", "hot"):
        succeeded("screen", CONFIGS / f"{climate}_summers.yaml", "--out", out)
        record = json.loads((out / "run.json").read_text("utf-8"))
        found[climate] = record, pd.read_csv(out / "sites.csv")
    return found


def test_each_finds_its_sites_where_its_summers_want_them(screened):
    hours = {climate: sites["direct_sun_h"].mean() for climate, (_, sites) in screened.items()}
    assert all(len(sites) == 12 for _, sites in screened.values())
    assert hours["hot"] < hours["moderate"] < hours["cool"]
    assert hours["cool"] > 10
    assert hours["hot"] < 8
    afternoon = {climate: sites["afternoon_sun_h"].mean() for climate, (_, sites) in
                 screened.items()}  # fmt: skip
    assert afternoon["hot"] < 4 < afternoon["cool"]


def test_the_record_says_which_climate_was_chosen_and_where_sources_conflict(screened):
    for climate, (record, _) in screened.items():
        (basis,) = [entry for entry in record["bases"] if entry["key"] == "climate"]
        assert basis["value"] == climate
        assert basis["evidence"] == ("common practice" if climate == "moderate" else "own")
        assert "Central Valley" in basis["conflict"]
        sun = record["criteria"][0]
        assert (sun["layer"], sun["evidence"]) == ("direct_sun_h", "peer-reviewed")
        assert sun["conflict"]
