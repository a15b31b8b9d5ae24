"""A real browser without a window, started once, and the pages that the tests look at."""

from __future__ import annotations

from pathlib import Path

import pytest
from pages import HOSTILE_RUN, Page, started
from small_land import write_land

from suitability.config import load_run
from suitability.run import screen


@pytest.fixture(scope="session")
def browser(system_program, tmp_path_factory):
    """Yield the driver of a browser."""
    chromium, chromedriver = system_program("chromium"), system_program("chromedriver")
    driver = started(chromium, chromedriver, tmp_path_factory.mktemp("browser"))
    yield driver
    driver.quit()


@pytest.fixture(scope="session")
def hostile_run(tmp_path_factory) -> Path:
    """Return the folder of a run whose every text tries to break out, judged in every way."""
    folder = tmp_path_factory.mktemp("hostile")
    run = load_run(write_land(folder, HOSTILE_RUN))
    screen(run, folder / "results")
    return folder / "results"


@pytest.fixture
def sample_page(browser, sample_run) -> Page:
    """Return the page of the sample run, freshly opened."""
    return Page(browser, sample_run).opened()


@pytest.fixture
def hostile_page(browser, hostile_run) -> Page:
    """Return the page of the hostile run, freshly opened."""
    return Page(browser, hostile_run).opened()
