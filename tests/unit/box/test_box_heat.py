"""Heat of boxes: counting, and what moves it which way."""

from dataclasses import replace

import numpy as np
import pytest
from boxes import BLACK, FOUR, ONE, OPEN, PLAIN, ROUND, WHITE, station, summer, summer_air_c

from suitability.box import SPREAD
from suitability.box.body import Assumptions
from suitability.box.heat import FACING_DEG, heat_at, heat_model

SUMMER = ("06-01", "08-31")
SOUTH = 8


def test_counts_are_those_of_the_temperatures():
    """Count again, plainly, from the chambers' temperatures."""
    model, found = summer(), summer().at(OPEN)
    for place in ((SOUTH, 0, 1, 1), (4, 1, 0, 2), (12, 2, 2, 0), (0, 0, 2, 1)):
        f, c, d, s = place
        chambers = model.temperatures_c(OPEN, facing=f, colour=c, design=d, case=s)
        warmest, coolest = chambers.max(axis=1), chambers.min(axis=1)
        stressed = warmest > 40
        runs = np.diff(np.flatnonzero(np.diff(np.r_[False, stressed, False])))[::2]
        days = warmest.reshape(-1, 24)
        assert found.over_40_h[place] == stressed.sum()
        assert found.over_45_h[place] == (warmest > 45).sum()
        assert found.no_refuge_h[place] == (coolest > 40).sum()
        assert found.longest_over_40_h[place] == max(runs, default=0)
        comfortable = ((chambers >= 26.7) & (chambers <= 37.8)).any(axis=1)
        assert found.comfortable_h[place] == comfortable.sum()
        assert found.tolerable_h[place] == ((chambers >= 22) & (chambers <= 40)).any(axis=1).sum()
        assert found.mean_daily_max_c[place] == pytest.approx(days.max(axis=1).mean())
        assert found.mean_daily_min_c[place] == pytest.approx(days.min(axis=1).mean())
        assert found.coolest_c[place] == pytest.approx(warmest.min())
        first = model.month_day[np.argmax(stressed)] if stressed.any() else ""
        assert found.first_over_40[place] == first
    assert found.season_h == 92 * 24


def test_shape_and_names():
    found = summer().at(OPEN)
    assert found.over_40_h.shape == (16, 3, 3, len(SPREAD))
    assert found.colours == ("black", "plain plywood", "white")
    south = found.at(181.0, "black", "four")
    assert south["over_40_h"] == tuple(found.over_40_h[SOUTH, 0, 1])
    with pytest.raises(ValueError, match="not in tuple"):
        found.at(180.0, "blue", "four")


def test_low_is_cooler_than_mid_and_mid_than_high():
    found = summer().at(OPEN)
    for measure in (found.mean_daily_max_c, found.over_40_h, found.over_45_h):
        assert (np.diff(measure, axis=-1) >= 0).all()
    assert (np.diff(found.mean_daily_max_c, axis=-1) > 0.1).all()


def test_darker_is_warmer_and_a_hidden_sun_is_cooler():
    found, hidden = summer().at(OPEN), summer().at(np.full(360, 60.0))
    assert (np.diff(found.mean_daily_max_c, axis=1) < 0).all()
    assert (hidden.mean_daily_max_c < found.mean_daily_max_c).all()


def test_wind_cools_and_air_through_the_bottom_too():
    calm, season = station(), {"season": SUMMER}
    windy = replace(calm, wind_m_s=calm.wind_m_s * 2)
    boxes = {"designs": (ONE,), "colours": (BLACK,), "facing_deg": [180.0]}
    found = heat_model(calm, **boxes, **season).at(OPEN).mean_daily_max_c
    in_wind = heat_model(windy, **boxes, **season).at(OPEN).mean_daily_max_c
    tight = Assumptions(exchange_m_s=(0.005, 0.005, 0.005))
    closed = heat_model(calm, **boxes, **season, assumed=tight).at(OPEN).mean_daily_max_c
    assert (in_wind < found - 0.5).all()
    assert (closed > found + 1).all()


def test_vents_and_thick_walls_cool():
    vents = replace(ONE, name="vented", vented=True)
    thick = replace(ONE, name="thick", wall_m=0.03, depth_m=0.122, width_m=0.372)
    model = heat_model(
        station(), designs=(ONE, vents, thick), colours=(BLACK,), facing_deg=[180.0], season=SUMMER
    )
    plain, vented, thick_walls = model.at(OPEN).mean_daily_max_c[0, 0, :, 1]
    assert vented < plain - 0.3
    assert thick_walls < plain - 0.3


def test_bats_warm_a_box_by_no_more_than_they_give():
    watts = 5.0
    boxes = {"designs": (ONE,), "colours": (WHITE,), "facing_deg": [180.0], "season": SUMMER}
    empty = heat_model(station(), **boxes).at(OPEN)
    full = heat_model(station(), **boxes, assumed=Assumptions(bats_w=watts)).at(OPEN)
    gained = full.mean_daily_min_c - empty.mean_daily_min_c
    assert (gained > 0.3).all()
    assert (gained < watts / 1.0).all()  # a box loses more than 1 W/K through walls and bottom


def test_a_box_of_four_equal_sides_does_not_mind_a_quarter_turn():
    found = summer().at(OPEN)
    quarter = found.mean_daily_max_c[:, :, 2]
    np.testing.assert_allclose(quarter[0], quarter[4], atol=1e-9)
    np.testing.assert_allclose(quarter[3], quarter[15], atol=1e-9)
    flat = found.mean_daily_max_c[:, 0, 0, 1]
    assert flat.max() - flat.min() > 0.2


def test_a_wall_behind_shields_the_back():
    horizon = np.zeros(360)
    horizon[:90], horizon[271:] = 90.0, 90.0  # a wall to the north of a box that looks south
    wall, pole = summer(on_wall=True).at(horizon), summer().at(horizon)
    assert wall.over_40_h.shape == pole.over_40_h.shape
    # Its back is no longer cooled by air; of four chambers the last is then the warmer one.
    chambers = [
        summer(on_wall=on_wall).temperatures_c(horizon, facing=SOUTH, design=1)
        for on_wall in (False, True)
    ]
    afternoon = np.arange(chambers[0].shape[0]) % 24 == 15
    assert chambers[1][afternoon, 3].mean() > chambers[0][afternoon, 3].mean()


def test_seasons_over_new_year_count_their_days_in_order():
    model = heat_model(
        station(), designs=(ONE,), colours=(BLACK,), facing_deg=[180.0], season=("11-01", "02-28")
    )
    assert model.month_day[0] == "11-01"
    assert model.month_day[-1] == "02-28"
    assert model.month_day.size == 120 * 24
    winter = station().air_c[station().in_season("11-01", "02-28")]
    assert model.at(OPEN).coolest_c[0, 0, 0, 1] == pytest.approx(winter.min(), abs=2.5)


def test_the_warm_up_is_long_enough():
    """A season that starts in its middle finds the same temperatures."""
    boxes = {"designs": (FOUR, ROUND), "colours": (PLAIN,), "facing_deg": [180.0]}
    whole = heat_model(station(), **boxes, season=SUMMER)
    later = heat_model(station(), **boxes, season=("07-01", "08-31"))
    for design in (0, 1):
        late = later.temperatures_c(OPEN, design=design)
        same = whole.temperatures_c(OPEN, design=design)[30 * 24 :]
        np.testing.assert_allclose(late, same, atol=1e-3)


def test_places_side_by_side_are_places_one_by_one():
    model = summer()
    horizons = np.stack([OPEN, np.full(360, 30.0), np.full(360, 10.0)])
    told: list[float] = []
    found = heat_at(model, horizons, np.array([0.0, 1.5, -2.0]), tell=told.append)
    for k, turn in enumerate((0.0, 1.5, -2.0)):
        alone = model.at(horizons[k], convergence_deg=turn)
        np.testing.assert_array_equal(found[k].over_40_h, alone.over_40_h)
    assert told == pytest.approx([1 / 3, 2 / 3, 1])


def test_without_sun_a_box_is_as_warm_as_the_air():
    dark = replace(station(), dni=np.zeros(8760), dhi=np.zeros(8760), ghi=np.zeros(8760))
    model = heat_model(
        dark, designs=(ONE, FOUR, ROUND), colours=(BLACK,), facing_deg=FACING_DEG[:2],
        season=SUMMER, assumed=Assumptions(sky_w_m2=0.0),
    )  # fmt: skip
    air = summer_air_c()
    for design in range(3):
        chambers = model.temperatures_c(OPEN, design=design)
        assert abs(chambers.mean() - air.mean()) < 0.05
        assert chambers.max() < air.max()
