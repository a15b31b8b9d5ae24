"""No season has more direct sun than days are long, wherever, whenever and however sampled.

Source: the sunrise equation with the sun's upper limb and 34' of refraction at the horizon, zenith
90.833° (NOAA Solar Calculation Details); the sun's declination by Spencer's series (J. W. Spencer,
Search 2, 1971), both from memory.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from suitability.sun import sun_positions


def day_length_h(lat_deg: float, day_of_year: float) -> float:
    """Return the time from sunrise to sunset."""
    g = 2 * math.pi * (day_of_year - 1) / 365
    declination = (
        0.006918 - 0.399912 * math.cos(g) + 0.070257 * math.sin(g)
        - 0.006758 * math.cos(2 * g) + 0.000907 * math.sin(2 * g)
        - 0.002697 * math.cos(3 * g) + 0.00148 * math.sin(3 * g)
    )  # fmt: skip
    lat = math.radians(lat_deg)
    cos_h = (math.cos(math.radians(90.833)) - math.sin(lat) * math.sin(declination)) / (
        math.cos(lat) * math.cos(declination)
    )
    return 24 / math.pi * math.acos(max(-1.0, min(1.0, cos_h)))


def test_the_longest_day_at_forty_degrees_is_that_of_almanacs() -> None:
    # Philadelphia, 39.95° N: 15 h 1 min on 21 June, 9 h 20 min on 21 December (from memory).
    assert day_length_h(39.95, 172) == pytest.approx(15 + 1 / 60, abs=2 / 60)
    assert day_length_h(39.95, 355) == pytest.approx(9 + 20 / 60, abs=2 / 60)


@settings(max_examples=40, deadline=None)
@given(
    lat=st.floats(-66, 66),
    lon=st.floats(-180, 180),
    month=st.integers(1, 12),
    step_min=st.sampled_from([5.0, 15.0, 60.0]),
    year=st.integers(1950, 2050),
    ground_m=st.floats(-400, 5000),
    lowest=st.floats(-5, 5) | st.none(),
)
def test_direct_sun_fits_into_the_day(lat, lon, month, step_min, year, ground_m, lowest) -> None:
    how = {} if lowest is None else {"rule": "altitude", "min_altitude_deg": lowest}
    path = sun_positions(
        lat, lon, start=f"{month:02}-10", end=f"{month:02}-10", step_min=step_min, every_days=1,
        year=year, ground_elevation_m=ground_m, **how,
    )  # fmt: skip
    middle = 30.44 * (month - 1) + 10
    longest = max(day_length_h(lat, middle + off) for off in (-2, 0, 2))
    assert path.season_hours.sum() <= longest + step_min / 60
    assert path.season_hours.sum() <= 24
