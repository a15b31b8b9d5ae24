"""Weather files: what is read from them, what is refused, what is doubted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from suitability.climate import climate_of, with_weather
from suitability.config import load_run
from suitability.errors import InputError
from suitability.inputs.weather import Weather, read_weather
from suitability.inputs.weather_checks import doubts, far_away

SAMPLE = Path(__file__).parents[3] / "sample_area" / "weather.epw"
SHIPPED = Path(pvlib.__file__).parent / "data"

Row = list[str]
MONTH, DAY, HOUR, AIR, GHI, DNI, DHI, WIND = 1, 2, 3, 6, 13, 14, 15, 21


@pytest.fixture
def altered(tmp_path: Path) -> Callable[..., Path]:
    """Return a writer of the sample's weather with rows, header or order changed."""

    def write(
        change: Callable[[list[Row]], list[Row]] = lambda rows: rows,
        *,
        header: Callable[[list[str]], list[str]] = lambda lines: lines,
        name: str = "station.epw",
    ) -> Path:
        lines = SAMPLE.read_text(encoding="ascii").splitlines()
        rows = change([line.split(",") for line in lines[8:]])
        path = tmp_path / name
        path.write_text("\n".join([*header(lines[:8]), *(",".join(row) for row in rows), ""]))
        return path

    return write


def put(column: int, at: slice | int, value: str) -> Callable[[list[Row]], list[Row]]:
    def change(rows: list[Row]) -> list[Row]:
        for row in rows[at] if isinstance(at, slice) else [rows[at]]:
            row[column] = value
        return rows

    return change


def moved(hours: int, *, months: range = range(1, 13)) -> Callable[[list[Row]], list[Row]]:
    """Move the sun's columns by whole hours in some months."""

    def change(rows: list[Row]) -> list[Row]:
        for column in (GHI, DNI, DHI):
            values = [row[column] for row in rows]
            for k, row in enumerate(rows):
                if int(row[MONTH]) in months:
                    row[column] = values[(k - hours) % len(rows)]
        return rows

    return change


def station(path: Path) -> Weather:
    return read_weather(path)[0]


def warned(path: Path) -> str:
    return "\n".join(read_weather(path)[1].warnings)


def test_an_hour_stands_for_its_middle_in_utc() -> None:
    weather = station(SAMPLE)
    assert weather.utc[0] == pd.Timestamp("2025-01-01 05:30", tz="UTC")  # UTC-5, hour 1
    assert weather.month_day[0] == "01-01"
    assert weather.month_day[-1] == "12-31"
    assert weather.air_c.shape == (8760,)


def test_greensboro_in_its_own_header() -> None:
    weather, report = read_weather(SHIPPED / "723170TYA.CSV")
    assert (weather.lat, weather.lon, weather.ground_elevation_m) == (36.1, -79.95, 273)
    assert report.facts[0].startswith("TMY3, GREENSBORO PIEDMONT TRIAD INT: 36.10° N, 79.95° W")
    assert "months of 1980 to 2003" in report.facts[1]
    assert report.warnings == ()


def test_both_readers_agree_with_the_files_own_rows() -> None:
    weather = station(SHIPPED / "723170TYA.CSV")
    lines = (SHIPPED / "723170TYA.CSV").read_text().splitlines()
    names = lines[1].split(",")
    for k in (0, 1415, 1416, 4500, 8759):  # 1415: the last hour of February, a leap year's here
        row = dict(zip(names, lines[2 + k].split(","), strict=True))
        assert weather.air_c[k] == float(row["Dry-bulb (C)"])
        assert weather.dni[k] == float(row["DNI (W/m^2)"])
        assert weather.month_day[k] == row["Date (MM/DD/YYYY)"][:5].replace("/", "-")


def test_midsummer_is_january_in_the_south() -> None:
    weather = station(SAMPLE)
    july = weather.air_c.reshape(365, 24)[181:212].max(axis=1).mean()
    assert weather.midsummer_mean_daily_max_c == pytest.approx(july)
    south = replace(weather, lat=-40.0)
    january = weather.air_c.reshape(365, 24)[:31].max(axis=1).mean()
    assert south.midsummer_mean_daily_max_c == pytest.approx(january)
    assert january < 10 < july


def test_seasons_over_new_year() -> None:
    weather = station(SAMPLE)
    assert weather.in_season("04-01", "09-30").sum() == 183 * 24
    assert weather.in_season("11-01", "02-28").sum() == 120 * 24


def test_short_gaps_are_filled_and_told(altered: Callable[..., Path]) -> None:
    weather, report = read_weather(altered(put(AIR, slice(4000, 4003), "99.9")))
    whole = station(SAMPLE).air_c
    steps = np.linspace(whole[3999], whole[4003], 5)
    np.testing.assert_allclose(weather.air_c[3999:4004], steps)
    assert report.assumed == ("air temperature of 3 hours from the hours beside them",)


@pytest.mark.parametrize(
    ("column", "code", "told"),
    [(AIR, "99.9", "air temperature is missing in 9 hours, first on 06-16"),
     (DNI, "9999", "direct irradiance is missing in 9 hours"),
     (WIND, "999", "wind speed is missing in 9 hours")],
)  # fmt: skip
def test_long_gaps_are_refused(
    altered: Callable[..., Path], column: int, code: str, told: str
) -> None:
    with pytest.raises(InputError, match=told):
        read_weather(altered(put(column, slice(4000, 4009), code)))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (put(AIR, 4000, "88.0"), "air temperature of 88 °C on 06-16"),
        (put(AIR, 4000, "-99.0"), "air temperature of -99 °C"),
        (put(WIND, 4000, "-3"), "wind speed of -3 m/s"),
        (put(GHI, 4000, "3200"), "global irradiance of 3200 W/m²"),
        (put(GHI, slice(0, 8760), "0.7"), "never exceeds 0.7 W/m²"),
        (lambda rows: rows[:3000] + rows[3001:], "1 hours of the year are not there, first 05-06"),
        (lambda rows: rows[:500], "8,260 hours of the year are not there"),
        (lambda rows: [*rows[:10], rows[9], *rows[10:]], "more than once: 01-01, the one from 09"),
        (put(HOUR, 23, "25"), "hours are numbered 1 to 25, not 1 to 24"),
        (put(AIR, 4000, "warm"), "no EPW weather can be read from it"),
        (lambda _: [], "no EPW weather can be read|hours of the year are not there"),
    ],
)
def test_what_no_weather_is(
    altered: Callable[..., Path], change: Callable[[list[Row]], list[Row]], told: str
) -> None:
    with pytest.raises(InputError, match=told):
        read_weather(altered(change))


@pytest.mark.parametrize(
    ("header", "told"),
    [
        (lambda lines: lines[1:], "does not start with the eight header lines"),
        (lambda lines: [lines[0].replace("40.2", "140.2"), *lines[1:]], "names no place"),
        (lambda lines: [*lines[:7], lines[7].replace(",1,1,", ",1,4,")], "4 rows an hour"),
        (lambda lines: [lines[0].replace("-84.3", "west"), *lines[1:]], "no EPW weather"),
    ],
)
def test_headers_that_tell_no_station(
    altered: Callable[..., Path], header: Callable[[list[str]], list[str]], told: str
) -> None:
    with pytest.raises(InputError, match=told):
        read_weather(altered(header=header))


def test_files_that_are_no_weather(tmp_path: Path) -> None:
    for name, content, told in (
        ("a.txt", "x", "neither an EPW file"),
        ("a.csv", "date,rain\n1,2\n", "no TMY3 weather can be read"),
        ("a.epw", "", "eight header lines"),
    ):
        (tmp_path / name).write_text(content)
        with pytest.raises(InputError, match=told):
            read_weather(tmp_path / name)
    with pytest.raises(InputError, match="no such file"):
        read_weather(tmp_path / "none.epw")
    with pytest.raises(InputError, match="this machine only"):
        read_weather("https://example.org/a.epw")


def test_a_leap_day_is_left_out(altered: Callable[..., Path]) -> None:
    def with_leap_day(rows: list[Row]) -> list[Row]:
        leap = [["2024", "2", "29", *row[3:]] for row in rows[1392:1416]]
        return rows[:1416] + leap + rows[1416:]

    weather, report = read_weather(altered(with_leap_day))
    np.testing.assert_array_equal(weather.air_c, station(SAMPLE).air_c)
    assert report.assumed == ("29 February is left out",)


def test_a_daylight_saving_period_is_told(altered: Callable[..., Path]) -> None:
    def header(lines: list[str]) -> list[str]:
        return [*lines[:4], "HOLIDAYS/DAYLIGHT SAVINGS,No,3/9,11/2,0", *lines[5:]]

    assert "read as standard time" in read_weather(altered(header=header))[1].assumed[0]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (moved(1), "fits better an hour earlier"),
        (moved(-1), "fits better an hour later"),
        (moved(1, months=range(4, 10)), "another clock in summer"),
        (moved(12), "hours of night"),
        (put(DNI, slice(0, 8760), "0"), "differs from direct and diffuse together"),
        (put(WIND, slice(0, 8760), "0"), "no wind in the whole year"),
    ],
)
def test_what_is_doubted(
    altered: Callable[..., Path], change: Callable[[list[Row]], list[Row]], told: str
) -> None:
    assert told in warned(altered(change))


@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv"])
def test_good_years_are_not_doubted(name: str) -> None:
    assert not list(doubts(station(SHIPPED / name)))


def test_a_far_station_is_told_with_its_distance() -> None:
    weather = station(SAMPLE)
    assert not list(far_away(weather, 40.3, -84.2, 320.0))
    # A degree of the meridian at 40° N: 111.04 km (WGS 84).
    assert "lies 111 km from the land" in next(far_away(weather, 41.2, -84.3, 300.0))
    assert "700 m above the station" in next(far_away(weather, 40.2, -84.3, 1000.0))


@pytest.mark.parametrize(
    ("july_c", "climate"), [(29.3, "cool"), (29.4, "moderate"), (35.0, "moderate"), (35.1, "hot")]
)
def test_climate_by_midsummer(july_c: float, climate: str) -> None:
    assert climate_of(july_c) == climate


def test_weather_chooses_the_climate_only_where_none_is_stated(tmp_path: Path) -> None:
    files = "inputs: {elevation: dem.tif, land_cover: cover.tif, weather: cool.csv}\n"
    (tmp_path / "cool.csv").write_bytes((SHIPPED / "703165TY.csv").read_bytes())
    for text, climate, says in ((files, "cool", True), (files + "climate: hot\n", "hot", False)):
        (tmp_path / "run.yaml").write_text(text)
        found = with_weather(load_run(tmp_path / "run.yaml"))
        assert found.run.settings.climate == climate
        assert ("chose the default criteria" in str(found.reports[0].done)) == says
