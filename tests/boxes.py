"""Boxes, colours and weather that the tests of heat share."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
import pvlib

from suitability.box import BoxDesign, Colour
from suitability.box.heat import HeatModel, heat_model
from suitability.inputs.weather import Weather, read_weather

OPEN = np.zeros(360)  # a level horizon
GREENSBORO, SAND_POINT = "723170TYA.CSV", "703165TY.csv"  # hot and cool summers, ship with pvlib

BLACK = Colour("black", 0.90, 0.94, 0.97)
WHITE = Colour("white", 0.20, 0.27, 0.35)
PLAIN = Colour("plain plywood", 0.5, 0.6, 0.7)
ONE = BoxDesign("one", 0.35, 0.60, 0.10, 0.019, chambers=1, chamber_m=0.062)
FOUR = BoxDesign("four", 0.45, 0.75, 0.143, 0.019, chambers=4, chamber_m=0.019, overhang_m=0.05)
ROUND = BoxDesign("round", 0.241, 0.91, 0.241, 0.019, chambers=2, chamber_m=0.019, post_m=0.089)


@lru_cache
def station(name: str = GREENSBORO) -> Weather:
    return read_weather(Path(pvlib.__file__).parent / "data" / name)[0]


@lru_cache
def summer(name: str = GREENSBORO, *, on_wall: bool = False) -> HeatModel:
    return heat_model(
        station(name),
        designs=(ONE, FOUR, ROUND),
        colours=(BLACK, PLAIN, WHITE),
        season=("06-01", "08-31"),
        on_wall=on_wall,
    )


def summer_air_c(name: str = GREENSBORO) -> np.ndarray:
    weather = station(name)
    return weather.air_c[weather.in_season("06-01", "08-31")]
