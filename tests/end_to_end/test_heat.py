"""Weather in a run: the table of heat, what is said of it, and what happens without it."""

import json
import shutil
from pathlib import Path

import pandas as pd
import pvlib
import pytest
from boxes import station
from command import refused, succeeded
from small_land import RUN, write_config, write_land

from suitability.box.catalogue import load_catalogue
from suitability.box.heat import heat_model

SHIPPED = Path(pvlib.__file__).parent / "data"
WARM, COOL = "723170TYA.CSV", "703165TY.csv"
WEATHER = RUN.replace("season:", "  weather: station.csv\nseason:")


@pytest.fixture(scope="module")
def land(tmp_path_factory):
    folder = tmp_path_factory.mktemp("land")
    write_land(folder, WEATHER)
    shutil.copy(SHIPPED / WARM, folder / "station.csv")
    return folder


@pytest.fixture(scope="module")
def run(land):
    succeeded("screen", land / "run.yaml", "--out", land / "out")
    return land / "out"


@pytest.fixture(scope="module")
def table(run):
    return pd.read_csv(run / "heat.csv", keep_default_na=False)


def test_a_row_a_site_facing_colour_and_box(run, table):
    sites = pd.read_csv(run / "sites.csv")
    key = ["rank", "facing_deg", "colour", "box"]
    assert not table.duplicated(key).any()
    assert set(table["rank"]) == set(sites["rank"])
    assert sorted(set(table["facing_deg"])) == [22.5 * k for k in range(16)]
    assert set(table["colour"]) == set(load_catalogue().colours)
    counts = table.groupby("rank").size()
    assert (counts == 16 * 5 * table["box"].nunique()).all()
    assert table["note"].str.contains("not a measurement").all()


def test_the_table_is_what_the_model_says_of_the_sites_own_horizon(run, table):
    shipped = load_catalogue()
    seen = pd.read_csv(run / "horizons.csv")["site_1_deg"].to_numpy()
    box = shipped.designs["two chambers"].with_chamber(shipped.species["any"].chamber_m)
    model = heat_model(
        station(WARM), designs=[box], colours=[shipped.colours["dark"]], season=("05-01", "06-30")
    )
    found = model.at(seen).at(157.5, "dark", "two chambers")
    row = table.set_index(["rank", "facing_deg", "colour", "box"]).loc[
        (1, 157.5, "dark", "two chambers")
    ]
    for place, case in enumerate(("low", "mid", "high")):
        for measure in ("over_40", "tolerable", "longest_over_40"):
            # The table of horizons is turned to true north and rounded.
            assert row[f"{measure}_{case}_h"] == pytest.approx(found[f"{measure}_h"][place], abs=3)
        assert row[f"mean_daily_max_{case}_c"] == pytest.approx(
            found["mean_daily_max_c"][place], abs=0.11
        )


def test_the_record_says_whence_and_what_was_assumed(run):
    record = json.loads((run / "run.json").read_text())
    assert "heat.csv" in record["files"]
    heat = record["boxes"]["heat"]
    assert "not a measurement" in heat["what"]
    assert heat["station"].startswith("TMY3, GREENSBORO")
    assert len(heat["assumed"]["wind_share"]) == 3
    (weather,) = [each for each in record["inputs"] if each["role"] == "weather"]
    assert any("km from the land" in text for text in weather["warnings"])
    assert any("km from the land" in text for text in record["warnings"])


def test_check_tells_what_the_weather_is(land):
    printed = " ".join(succeeded("check", land / "run.yaml").split())
    assert "GREENSBORO" in printed
    assert "July mean daily maximum 30.7 °C" in printed
    assert "chose the default criteria of moderate summers" in printed
    assert "km from the land" in printed


def test_cool_weather_chooses_cool_criteria_and_measures_no_land_anew(land, run):
    measured = (run / "layers" / "direct_sun_h.tif").stat().st_mtime_ns
    shutil.copy(SHIPPED / COOL, land / "cool.csv")
    cool = write_config(land, WEATHER.replace("station.csv", "cool.csv"))
    succeeded("screen", cool, "--out", run)
    record = json.loads((run / "run.json").read_text())
    assert record["settings"]["climate"] == "cool"
    assert (run / "layers" / "direct_sun_h.tif").stat().st_mtime_ns == measured
    assert pd.read_csv(run / "heat.csv")["over_40_mid_h"].max() < 50
    write_config(land, WEATHER)


def test_without_weather_no_temperature_is_told(land):
    out = land / "without"
    succeeded("screen", land / "run.yaml", "--out", out)
    assert (out / "heat.csv").exists()
    plain = write_config(land, RUN)
    succeeded("screen", plain, "--out", out)
    assert not (out / "heat.csv").exists()
    record = json.loads((out / "run.json").read_text())
    assert record["boxes"]["heat"] is None
    assert record["settings"]["climate"] == "moderate"
    write_config(land, WEATHER)


def test_weather_that_cannot_be_is_a_mistake_told_by_line(land):
    lines = (SHIPPED / WARM).read_text().splitlines()
    (land / "short.csv").write_text("\n".join(lines[:5000]))
    config = write_config(land, WEATHER.replace("station.csv", "short.csv"))
    printed = refused("screen", config, "--out", land / "none")
    assert "hours of the year are not there" in printed
    assert "inputs.weather" in printed
    assert not (land / "none" / "run.json").exists()
    write_config(land, WEATHER)
