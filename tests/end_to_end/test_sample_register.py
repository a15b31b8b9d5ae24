"""The sample area's register: a story that holds together, and what the commands make of it."""

from datetime import date
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from suitability.finished import FinishedRun
from suitability.follow_up.register import open_register
from suitability.follow_up.review import STATES
from suitability.follow_up.reviewing import review_register
from suitability.follow_up.teaching import teach

SAMPLE = Path(__file__).parents[2] / "sample_area"
REGISTER = SAMPLE / "register.gpkg"


@pytest.fixture(scope="module")
def kept():
    register = open_register(REGISTER)
    return register.placements(), register.visits()


def test_24_boxes_are_watched_for_five_seasons_in_every_way(kept):
    placements, visits = kept
    assert placements["box"].nunique() == 24
    assert sorted(visits["date"].dt.year.unique()) == [2021, 2022, 2023, 2024, 2025]
    assert set(visits["method"]) == {"emergence count", "guano", "sight", "acoustic", "none"}
    assert {"occupied", "not occupied", "not checked"} == set(visits["state"])
    assert visits["wasps"].any()
    assert visits["repair"].notna().any()
    moved = placements[placements["box"].duplicated(keep=False)]
    assert moved["box"].unique().tolist() == ["CF-06"]
    assert moved["taken_down"].iloc[0] == moved["put_up"].iloc[1]
    down = placements["taken_down"].notna() & ~placements["box"].isin(moved["box"])
    assert placements[down]["box"].tolist() == ["CF-10"]


def test_boxes_that_the_run_knows_of_hang_where_it_has_them(kept):
    placements, visits = kept
    known = gpd.read_file(SAMPLE / "existing_boxes.gpkg").to_crs(4326).set_index("label")
    places = placements.set_index("box").loc[known.index]
    assert np.allclose(places["lon_deg"], known.geometry.x, atol=2e-6)
    assert np.allclose(places["lat_deg"], known.geometry.y, atol=2e-6)
    assert (places["put_up"].dt.year == known["year"]).all()
    told = visits[visits["state"] != "not checked"].groupby("box")["state"].last()
    assert ((told[known.index] == "occupied") == known["occupied"]).all()


def test_what_it_says_of_places_is_what_the_run_measures(kept, sample_run):
    poles = kept[0][kept[0]["kind"] == "pole"]
    run = FinishedRun.of(sample_run)
    there = [run.grid.from_lonlat(*at) for at in zip(poles["lon_deg"], poles["lat_deg"], strict=1)]
    x_m, y_m = np.array(there).T
    for layer, off in (("direct_sun_h", 0.06), ("water_distance_m", 0.6)):
        np.testing.assert_allclose(run.measures(layer, x_m, y_m), poles[layer], rtol=0, atol=off)


def test_every_way_in_which_a_box_may_stand_is_there():
    states = review_register(REGISTER, on=date(2025, 11, 20)).boxes["state"]
    assert set(states) == set(STATES)


def test_it_has_boxes_enough_to_learn_from_and_those_on_walls_are_left_out(kept, sample_run):
    placements, visits = kept
    taught = teach(FinishedRun.of(sample_run), placements, visits)
    assert taught.patch is not None
    assert taught.left_out == 2
    assert pd.isna(placements.loc[placements["kind"] == "wall", "direct_sun_h"]).all()
