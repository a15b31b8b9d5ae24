"""Registers for tests, filled by hand through the database itself."""

from datetime import date

from sqlalchemy import insert

from suitability.follow_up.register import open_register
from suitability.follow_up.register_tables import BOXES, PLACEMENTS, VISITS

LON, LAT = -84.3, 40.2


def add_box(connection, name, put_up="2022-03-01", taken_down=None, lon=LON, lat=LAT, **more):
    """Add a box with its first place; return the place's number."""
    connection.execute(insert(BOXES).values(name=name))
    return add_placement(connection, name, put_up, taken_down, lon, lat, **more)


def add_placement(connection, name, put_up, taken_down=None, lon=LON, lat=LAT, **more):
    row = {"box": name, "put_up": day(put_up), "taken_down": day(taken_down), "geom": (lon, lat)}
    return connection.execute(insert(PLACEMENTS).values(row | more)).inserted_primary_key[0]


def add_visit(connection, name, placement, on, state="not occupied", **more):
    row = {"box": name, "placement": placement, "date": day(on), "state": state}
    row |= {"observer": "AB", "method": "none" if state == "not checked" else "guano"}
    connection.execute(insert(VISITS).values(row | more))


def day(text):
    return None if text is None else date.fromisoformat(text)


def new_register(address):
    return open_register(address, create=True)
