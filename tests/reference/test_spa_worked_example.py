"""The sun's place and the length of the day against published tables.

I. Reda, A. Andreas, Solar Position Algorithm for Solar Radiation Applications, NREL/TP-560-34302,
rev. January 2008: worked example (table A5.1) and rise and set at Greenwich (table A2.1).
R. G. Allen et al., Crop evapotranspiration, FAO Irrigation and Drainage Paper 56, 1998: eq. 24,
34. L. Strous, Astronomy Answers, sunrise on 1 January 2002 (table 1). The closed forms are common
textbook geometry.
"""

import numpy as np
import pandas as pd
import pvlib
import pytest

from suitability.sun import sun_positions

# The example's place.
LAT, LON, ELEVATION_M = 39.742476, -105.1786, 1830.14


def spa(utc, lat, lon, **air):
    return pvlib.solarposition.get_solarposition(utc, lat, lon, method="nrel_numpy", **air)


def closed_form_day_h(lat, declination, altitude=0.0):
    """Return the hours in which the geometric sun stands above an altitude (all degrees)."""
    f, d, h = np.radians([lat, declination, altitude])
    cosine = (np.sin(h) - np.sin(f) * np.sin(d)) / (np.cos(f) * np.cos(d))
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))) * 2 / 15)


def test_worked_example_through_the_library_as_it_is_called():
    when = pd.DatetimeIndex(["2003-10-17 12:30:30"]).tz_localize("Etc/GMT+7").tz_convert("UTC")
    found = spa(
        when, LAT, LON, altitude=ELEVATION_M, pressure=82_000, temperature=11, delta_t=67.0
    ).iloc[0]
    assert found["apparent_zenith"] == pytest.approx(50.111622, abs=1e-5)
    assert found["azimuth"] == pytest.approx(194.340241, abs=1e-5)


def test_worked_example_through_sun_positions():
    day = {"start": "10-17", "end": "10-17", "year": 2003, "step_min": 0.5}
    sun = sun_positions(LAT, LON, rule="altitude", ground_elevation_m=ELEVATION_M, **day)
    at = pd.Timestamp("2003-10-17 19:30:30", tz="UTC")
    near = np.argsort(np.abs(sun.utc - at))[:4]
    seconds = (sun.utc[near] - at).total_seconds().to_numpy() / 30
    altitude, azimuth = (
        np.polynomial.Polynomial.fit(seconds, values[near], 3)(0.0)
        for values in (sun.altitude_deg, sun.azimuth_deg)
    )
    # The example's pressure and temperature differ from the standard air at its elevation by 1 %
    # and 1 K: 0.0002 degrees of refraction.
    assert 90 - altitude == pytest.approx(50.111622, abs=4e-4)
    assert azimuth == pytest.approx(194.340241, abs=1e-5)


@pytest.mark.parametrize(
    ("day", "lat", "delta_t", "rise", "set_"),
    [
        ("1994-01-02", 35, 60.0, "7:08:12.8", "16:59:55.9"),
        ("1996-07-05", -35, 62.0, "7:08:15.4", "17:01:04.5"),
        ("2004-12-04", -35, 64.0, "4:38:57.1", "19:02:02.5"),
    ],
)
def test_rise_and_set_at_greenwich(day, lat, delta_t, rise, set_):
    utc = pd.date_range(day, periods=86_400, freq="s", tz="UTC")
    up = spa(utc, lat, 0.0, delta_t=delta_t)["elevation"].to_numpy() > -0.8333
    first, last = utc[up][0], utc[up][-1]
    midnight = pd.Timestamp(day, tz="UTC")
    assert abs(first - midnight - pd.Timedelta(rise)).total_seconds() <= 2
    assert abs(last - midnight - pd.Timedelta(set_)).total_seconds() <= 2


@pytest.mark.parametrize(
    ("lat", "rise"),
    [
        *[(-60, "2:43"), (-50, "3:55"), (-40, "4:35"), (-30, "5:02"), (-20, "5:24")],
        *[(-10, "5:43"), (0, "6:00"), (10, "6:17"), (20, "6:35"), (30, "6:56"), (40, "7:22")],
        (50, "7:59"),
    ],
)
def test_first_light_of_new_year_2002(lat, rise):
    # The table tells when the upper limb appears; the centre, which counts here, follows when
    # the sun has climbed its own radius (16').
    sun = sun_positions(
        lat,
        0.0,
        start="01-01",
        end="01-01",
        year=2002,
        step_min=0.25,
        rule="altitude",
        min_altitude_deg=0.0,
    )
    first = (sun.utc[0] - pd.Timestamp("2002-01-01", tz="UTC")).total_seconds()
    printed = pd.Timedelta(f"{rise}:00").total_seconds()
    f, d = np.radians(lat), np.radians(-23.0)
    width = np.arccos(np.clip(-np.tan(f) * np.tan(d), -1, 1))
    climb_deg_s = np.cos(f) * np.cos(d) * np.sin(width) * 15 / 3600
    later = 16 / 60 / climb_deg_s
    assert first == pytest.approx(printed + later, abs=35 + 15)  # the table's minute, our step


@pytest.mark.parametrize(("lat", "month_day", "day_of_year"), [(-20, "09-03", 246)])
def test_fao_56_day_length(lat, month_day, day_of_year):
    declination = np.degrees(0.409 * np.sin(2 * np.pi * day_of_year / 365 - 1.39))  # eq. 24
    assert closed_form_day_h(lat, declination) == pytest.approx(11.66559, abs=1e-4)  # eq. 34
    sun = sun_positions(
        lat,
        0.0,
        start=month_day,
        end=month_day,
        step_min=1,
        rule="altitude",
        min_altitude_deg=0,
    )
    # Eq. 34 is geometric; refraction lifts a sun on the horizon by 34'.
    refracted = closed_form_day_h(lat, declination, -34 / 60)
    assert sun.hours.sum() == pytest.approx(refracted, abs=0.03)  # two steps


# Hours with the geometric centre above 3 degrees, at sea level, recomputed with SPA at 1 min.
ABOVE_3_DEG = [
    (30, "06-21", 13.42),
    (40, "03-21", 11.50),
    (40, "06-21", 14.25),
    (40, "12-21", 8.55),
    (50, "12-21", 7.03),
]


@pytest.mark.parametrize(("lat", "month_day", "hours"), ABOVE_3_DEG)
def test_three_degree_rule(lat, month_day, hours):
    day = {"start": month_day, "end": month_day, "step_min": 1, "rule": "altitude"}
    # Refraction at 3 degrees is 0.23 degrees in standard air (Bennett 1982, from memory): the
    # refracted sun passes 3.23 degrees when the geometric one passes 3.
    sun = sun_positions(lat, 0.0, min_altitude_deg=3.23, **day)
    assert sun.hours.sum() == pytest.approx(hours, abs=0.05)
    # What the rule counts, the refracted sun, is above 3 degrees a few minutes longer.
    longer = sun_positions(lat, 0.0, min_altitude_deg=3.0, **day).hours.sum() - sun.hours.sum()
    assert 0.01 < longer < 0.09


@pytest.mark.parametrize(("lat", "declination"), [(30, 23.44), (40, 23.44), (50, -23.44), (-35, 0)])
def test_closed_form_above_an_altitude(lat, declination):
    month_day = {23.44: "06-21", -23.44: "12-21", 0: "03-20"}[declination]
    sun = sun_positions(
        lat,
        0.0,
        start=month_day,
        end=month_day,
        step_min=1,
        rule="altitude",
        min_altitude_deg=10.0,
    )
    # Refraction at 10 degrees: 5.4' (Bennett 1982, from memory).
    expected = closed_form_day_h(lat, declination, 10 - 5.4 / 60)
    assert sun.hours.sum() == pytest.approx(expected, abs=0.03)


@pytest.mark.parametrize(("lat", "lit", "dark"), [(80, "06-21", "12-21"), (-80, "12-21", "06-21")])
def test_polar_day_and_night(lat, lit, dark):
    rule = {"step_min": 10, "rule": "altitude", "min_altitude_deg": 0.0}
    day = sun_positions(lat, 20.0, start=lit, end=lit, **rule)
    assert day.hours.sum() == pytest.approx(24, abs=1e-9)
    night = sun_positions(lat, 20.0, start=dark, end=dark, **rule)
    assert len(night) == 0
    assert night.season_hours.sum() == 0
    assert night.share_of_season == {int(dark[:2]): 1.0}
    assert closed_form_day_h(lat, 23.44 * np.sign(lat)) == 24
    assert closed_form_day_h(lat, -23.44 * np.sign(lat)) == 0


@pytest.mark.parametrize("lat", [-60, -35, 0, 35, 60])
def test_equinox_sun_rises_due_east_and_half_the_day_is_light(lat):
    sun = sun_positions(
        lat,
        0.0,
        start="03-20",
        end="03-20",
        step_min=1,
        rule="altitude",
        min_altitude_deg=0.6,  # 0 and the refraction of a sun on the horizon, nearly
    )
    assert sun.azimuth_deg[0] == pytest.approx(90, abs=0.6)
    assert sun.azimuth_deg[-1] == pytest.approx(270, abs=0.6)
    assert sun.hours.sum() == pytest.approx(12, abs=0.06)
    noon = sun.altitude_deg.max()
    assert noon == pytest.approx(90 - abs(lat), abs=0.3)  # the equinox is an hour of that day
