"""A run's weather, and what it says about the summers of the land."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from suitability.config import LoadedRun
from suitability.config.settings import Climate
from suitability.grid import Grid
from suitability.inputs.report import InputReport
from suitability.inputs.weather import Weather, read_weather
from suitability.inputs.weather_checks import far_away

# Mean daily maximum of July, in the south of January: below the first summers are cool, above the
# second hot. Common practice: 85 and 95 °F. [°C]
COOL_BELOW_C = 29.4
HOT_ABOVE_C = 35.0


@dataclass(frozen=True)
class Weathered:
    """A run with its weather.

    Parameters
    ----------
    run : LoadedRun
        Of the climate that its weather shows, unless its file states one.
    weather : Weather or None
        None where none is given.
    reports : tuple of InputReport
        What the weather is: one report, or none.
    """

    run: LoadedRun
    weather: Weather | None
    reports: tuple[InputReport, ...]

    def reports_at(self, grid: Grid, ground_elevation_m: float) -> tuple[InputReport, ...]:
        """Return the reports with what there is to say about the way from station to land.

        Parameters
        ----------
        grid : Grid
            The run's.
        ground_elevation_m : float
            Mean of the land. [m]
        """
        if self.weather is None:
            return ()
        lon, lat = (float(degrees) for degrees in grid.lonlat(*grid.centre))
        far = tuple(far_away(self.weather, lat, lon, ground_elevation_m))
        return tuple(replace(each, warnings=(*each.warnings, *far)) for each in self.reports)


def with_weather(run: LoadedRun) -> Weathered:
    """Read a run's weather and let it choose the climate where the run file states none.

    Raises
    ------
    InputError
        If the weather cannot be used.
    """
    source = run.settings.inputs.weather
    if source is None:
        return Weathered(run, None, ())
    weather, report = read_weather(source.path, run.locate("inputs.weather"))
    settings = run.settings
    if "climate" in settings.model_fields_set or settings.criteria is not None:
        return Weathered(run, weather, (report,))
    climate = climate_of(weather.midsummer_mean_daily_max_c)
    settings = settings.model_copy(update={"climate": climate})
    done = f"chose the default criteria of {climate} summers, as the run file states no climate"
    report = replace(report, done=(*report.done, done))
    return Weathered(replace(run, settings=settings), weather, (report,))


def climate_of(midsummer_mean_daily_max_c: float) -> Climate:
    """Return the climate whose default criteria fit a July, in the south a January. [°C]."""
    if midsummer_mean_daily_max_c < COOL_BELOW_C:
        return "cool"
    return "hot" if midsummer_mean_daily_max_c > HOT_ABOVE_C else "moderate"


def station_of(reports: Sequence[InputReport]) -> str:
    """Return the station in words, as a run reported it; empty where it had none."""
    return next((each.facts[0] for each in reports if each.role == "weather"), "")
