"""The days that a picture of the sky shows, and the sun on one of them."""

import numpy as np
import pytest

from suitability.sun.day import days_shown, sun_on


def test_midsummer_comes_first_and_no_day_twice():
    assert days_shown("04-01", "09-30", 40.0) == ("06-21", "04-01", "09-30")
    assert days_shown("04-01", "09-30", 0.0)[0] == "06-21"
    assert days_shown("10-01", "03-31", -35.0) == ("12-21", "10-01", "03-31")
    assert days_shown("06-21", "09-30", 40.0) == ("06-21", "09-30")


def test_the_sun_is_shown_from_rise_to_set():
    azimuth, altitude = sun_on("06-21", 40.0, -86.0, 2025)
    # 15 h from the upper limb's rise to its set (from memory, for 40 degrees north).
    assert len(altitude) * 5 / 60 == pytest.approx(15.0, abs=0.2)
    assert 0 < altitude.min() < 1.5
    assert altitude.max() == pytest.approx(90 - 40 + 23.44, abs=0.1)
    assert (np.diff(azimuth) > 0).all()
    assert len(sun_on("06-21", 40.0, -86.0, 2025, step_min=20)[0]) == pytest.approx(
        len(azimuth) / 4, abs=1
    )
    assert len(sun_on("12-21", 40.0, -86.0, 2025)[0]) < 0.65 * len(azimuth)
