"""Which days and minutes a season is sampled on, and what each stands for."""

import numpy as np
import pandas as pd
import pytest

from suitability.sun import clear_sky_dni, sun_positions

ALL_DAY = {"rule": "altitude", "min_altitude_deg": 0.0}


def month_hours(sun):
    return {m: sun.hours[sun.month == m].sum() for m in sun.share_of_season}


def test_arrays_are_alike_and_hours_positive():
    sun = sun_positions(40.0, -86.0)
    for values in (sun.azimuth_deg, sun.altitude_deg, sun.month, sun.is_morning, sun.hours):
        assert values.shape == (len(sun),) == (len(sun.utc),)
    assert (sun.hours > 0).all()
    assert sun.altitude_deg.min() > 0
    assert str(sun.utc.tz) == "UTC"


def test_shares_are_of_days_and_sum_to_one():
    sun = sun_positions(40.0, -86.0, start="04-16", end="06-10")
    assert sun.share_of_season == {4: 15 / 56, 5: 31 / 56, 6: 10 / 56}
    mean = sum(hours * sun.share_of_season[m] for m, hours in month_hours(sun).items())
    assert sun.season_hours.sum() == pytest.approx(mean)


@pytest.mark.parametrize("every_days", [1, 6, 10, 40])
@pytest.mark.parametrize("step_min", [7, 15, 60])
def test_weights_of_a_month_are_a_mean_day_whatever_the_sampling(every_days, step_min):
    # Within the polar circle the June sun counts all day.
    sun = sun_positions(
        80.0, 15.0, start="06-01", end="07-20", step_min=step_min, every_days=every_days, **ALL_DAY
    )
    assert month_hours(sun) == {6: pytest.approx(24), 7: pytest.approx(24)}
    assert sun.season_hours.sum() == pytest.approx(24)
    # Elsewhere the sampling changes the season's hours by minutes.
    coarse = sun_positions(40.0, -86.0, step_min=step_min, every_days=every_days)
    fine = sun_positions(40.0, -86.0, step_min=2, every_days=1)
    assert coarse.season_hours.sum() == pytest.approx(fine.season_hours.sum(), abs=0.15)


@pytest.mark.parametrize(("step_min", "per_day"), [(15, 96), (7, 206), (60, 24), (1000, 1)])
def test_steps_divide_the_day(step_min, per_day):
    sun = sun_positions(80.0, 0.0, start="06-21", end="06-21", step_min=step_min, **ALL_DAY)
    assert len(sun) == per_day
    np.testing.assert_allclose(sun.hours, 24 / per_day)
    if per_day > 1:
        gaps = np.diff(sun.utc.tz_localize(None).to_numpy()) / np.timedelta64(1, "s")
        assert np.abs(gaps - 86_400 / per_day).max() <= 1  # whole seconds


def test_days_start_at_different_parts_of_a_step():
    sun = sun_positions(80.0, 0.0, start="06-01", end="06-30", step_min=60, **ALL_DAY)
    assert len(set(sun.utc.minute)) == 5 == len(set(sun.utc.normalize()))


def test_sampled_days_lie_evenly_in_each_month():
    sun = sun_positions(40.0, 0.0, start="05-01", end="06-30", every_days=6)
    days = sorted(set(sun.utc.date))
    assert [d.day for d in days if d.month == 5] == [4, 10, 16, 22, 28]
    assert [d.day for d in days if d.month == 6] == [4, 10, 16, 22, 28]


def test_season_over_new_year():
    sun = sun_positions(-35.0, 149.0, start="11-15", end="02-10", year=2024)
    assert sun.share_of_season == {11: 16 / 88, 12: 31 / 88, 1: 31 / 88, 2: 10 / 88}
    years = {month: set(sun.utc[sun.month == month].year) for month in (11, 12, 1, 2)}
    assert years[11] == {2024}
    assert years[2] == {2025}
    assert sun.utc.is_monotonic_increasing


def test_season_of_a_whole_year_meets_its_first_month_twice():
    sun = sun_positions(40.0, 0.0, start="07-15", end="07-14", year=2025)
    assert sum(sun.share_of_season.values()) == pytest.approx(1)
    assert sun.share_of_season[7] == 31 / 365
    assert set(sun.utc[sun.month == 7].year) == {2025, 2026}
    whole = sun_positions(40.0, 0.0, start="01-01", end="12-31", year=2025)
    assert sun.season_hours.sum() == pytest.approx(whole.season_hours.sum(), abs=0.05)


def test_leap_day_belongs_to_its_february():
    leap = sun_positions(40.0, 0.0, start="02-01", end="03-01", year=2024, every_days=1)
    plain = sun_positions(40.0, 0.0, start="02-01", end="03-01", year=2025, every_days=1)
    assert leap.share_of_season == {2: 29 / 30, 3: 1 / 30}
    assert plain.share_of_season == {2: 28 / 29, 3: 1 / 29}
    assert pd.Timestamp("2024-02-29").date() in set(leap.utc.date)
    assert len(set(leap.utc[leap.month == 2].date)) == 29


def test_polar_night_has_no_position_and_keeps_its_month():
    sun = sun_positions(75.0, 20.0, start="11-20", end="12-20")
    assert len(sun) == 0
    assert sun.season_hours.shape == (0,)
    assert sun.share_of_season == {11: 11 / 31, 12: 20 / 31}
    half = sun_positions(75.0, 20.0, start="12-01", end="05-31")
    hours = month_hours(half)
    assert hours[12] == hours[1] == 0
    assert hours[5] > 18


@pytest.mark.parametrize(("lat", "noon"), [(50.0, 180.0), (-50.0, 0.0)])
def test_sun_crosses_the_meridian_towards_the_equator(lat, noon):
    sun = sun_positions(lat, 10.0, start="03-21", end="03-21", step_min=2)
    highest = sun.azimuth_deg[sun.altitude_deg.argmax()]
    assert abs((highest - noon + 180) % 360 - 180) < 2
    assert sun.azimuth_deg[0] == pytest.approx(90, abs=10)  # rises in the east everywhere


@pytest.mark.parametrize("lon", [-179.9, -105.0, 0.0, 77.3, 179.9])
@pytest.mark.parametrize("month_day", ["02-11", "05-14", "11-03"])  # equation of time: its ends
def test_morning_ends_at_the_highest_sun(lon, month_day):
    sun = sun_positions(45.0, lon, start=month_day, end=month_day, step_min=1)
    top = sun.altitude_deg.argmax()
    assert sun.is_morning[: top - 1].all()
    assert not sun.is_morning[top + 2 :].any()
    assert (np.diff(sun.is_morning.astype(int)) <= 0).all()
    # One local day, whatever UTC makes of it.
    assert (np.diff(sun.utc.tz_localize(None).to_numpy()) <= np.timedelta64(1, "m") * 1.1).all()


def test_hours_do_not_depend_on_longitude():
    hours = [
        sun_positions(45.0, lon, start="09-10", end="09-10", step_min=1, **ALL_DAY).hours.sum()
        for lon in (-179.9, -90.0, 0.0, 90.0, 179.9)
    ]
    assert np.ptp(hours) < 0.1  # the day shortens by 3 minutes while the earth turns


def test_rules_say_in_words_what_counts():
    one = {"start": "06-01", "end": "06-01"}
    assert "above 3°" in sun_positions(40.0, 0.0, rule="altitude", **one).rule
    irradiance = sun_positions(40.0, 0.0, linke_turbidity=3.5, **one).rule
    assert "120 W/m²" in irradiance
    assert "turbidity: 3.5" in irradiance
    assert "monthly climatology" in sun_positions(40.0, 0.0, **one).rule


def test_higher_altitude_rule_keeps_fewer():
    one = {"start": "06-01", "end": "06-01", "rule": "altitude"}
    found = [len(sun_positions(40.0, 0.0, min_altitude_deg=a, **one)) for a in (-10, 0, 3, 30, 80)]
    assert found[0] == found[1] > found[2] > found[3] > found[4] == 0


@pytest.mark.parametrize(
    "sampling", [{"step_min": 0}, {"step_min": -5}, {"step_min": 1500}, {"every_days": 0}]
)
def test_a_sampling_that_samples_nothing_is_refused(sampling):
    with pytest.raises(ValueError, match="samples no season"):
        sun_positions(40.0, -86.0, **sampling)


def test_what_counts_is_told_in_full():
    one = {"start": "06-01", "end": "06-01", "step_min": 60}
    assert sun_positions(40.0, 0.0, rule="altitude", min_altitude_deg=5, **one).rule == (
        "sun's centre with refraction above 5° (NREL SPA)"
    )
    stated = {"linke_turbidity": 3.5, "min_irradiance_w_m2": 200.0}
    assert sun_positions(40.0, 0.0, **stated, **one).rule == (
        "clear-sky direct normal irradiance above 200 W/m² (WMO-No. 8; Ineichen–Perez, "
        "Linke turbidity: 3.5; NREL SPA, refracted centre)"
    )


def test_a_season_left_out_is_april_to_september_by_irradiance():
    left_out = sun_positions(40.0, -86.0)
    stated = sun_positions(
        40.0, -86.0, start="04-01", end="09-30", step_min=15, every_days=6, year=2025,
        ground_elevation_m=0, rule="irradiance", min_irradiance_w_m2=120,
    )  # fmt: skip
    assert left_out.utc.equals(stated.utc)
    assert left_out.rule == stated.rule
    np.testing.assert_array_equal(left_out.hours, stated.hours)


def test_air_is_thinner_and_clearer_up_high():
    one = {"start": "06-01", "end": "06-01", "step_min": 5}
    low, high = (
        sun_positions(40.0, -105.0, ground_elevation_m=height, **one) for height in (0, 3000)
    )
    hazy = sun_positions(40.0, -105.0, linke_turbidity=7.0, **one)
    assert len(high) > len(low) > len(hazy)
    utc = low.utc[:1]
    by_month = clear_sky_dni(utc, 40.0, -105.0, [30.0], 0.0)
    turbid = clear_sky_dni(utc, 40.0, -105.0, [30.0], 0.0, linke_turbidity=7.0)
    above = clear_sky_dni(utc, 40.0, -105.0, [30.0], 3000.0)
    assert turbid < by_month < above
    assert by_month.shape == (1,)
