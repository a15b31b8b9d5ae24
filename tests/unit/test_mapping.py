"""What pictures say of days, in English whatever language the machine speaks."""

import locale
from contextlib import suppress

import pytest

from suitability.layers.registry import month_title
from suitability.mapping import day_in_words


@pytest.fixture
def _another_language():
    before = locale.setlocale(locale.LC_TIME)
    with suppress(locale.Error):  # not every machine has one: then it says less
        locale.setlocale(locale.LC_TIME, "de_DE.UTF-8")
    yield
    locale.setlocale(locale.LC_TIME, before)


@pytest.mark.usefixtures("_another_language")
def test_months_are_told_in_english():
    assert [day_in_words(day) for day in ("05-01", "12-31")] == ["1 May", "31 December"]
    assert month_title("may_sun_h") == "direct sun a day in May"
    assert month_title("dec_sun_h") == "direct sun a day in December"
