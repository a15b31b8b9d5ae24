"""A box that is moved or taken down: its place ends, and nothing is lost."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import pandas as pd
from sqlalchemy import Connection, func, insert, select, update

from suitability.errors import ResultError
from suitability.follow_up.register import Register
from suitability.follow_up.register_tables import PLACEMENTS, VISITS


def take_down(register: Register, box: str, *, on: date, why: str, today: date) -> None:
    """End a box's place; the box, its places and visits stay in the register.

    Raises
    ------
    ResultError
        If it is not up, or was not yet on that day, or has later visits.
    """
    with register.writing() as connection:
        _end_place(register, connection, box, on, why, today)


def move(
    register: Register, box: str, *, on: date, why: str, to: Mapping[str, Any], today: date
) -> None:
    """End a box's place and begin its next, on one day.

    Parameters
    ----------
    register : Register
        Which has it.
    box : str
        Its name.
    on : datetime.date
        The day of the move.
    why : str
        The reason.
    to : mapping
        Where to, by column of placements, with `lon_deg` and `lat_deg`.
    today : datetime.date
        No move is of a later day.

    Raises
    ------
    ResultError
        If it is not up, or was not yet on that day, or has later visits.
    """
    place = {name: value for name, value in to.items() if name in PLACEMENTS.c}
    place |= {"box": box, "put_up": on, "geom": (to["lon_deg"], to["lat_deg"])}
    with register.writing() as connection:
        _end_place(register, connection, box, on, why, today)
        connection.execute(insert(PLACEMENTS).values(place))


def _end_place(
    register: Register, connection: Connection, box: str, on: date, why: str, today: date
) -> None:
    where = register.where
    places = register.placements(connection)
    stays = places[(places["box"] == box) & places["taken_down"].isna()]
    if stays.empty:
        known = bool((places["box"] == box).any())
        msg = f"the box `{box}` is not up" if known else f"the register has no box `{box}`"
        raise ResultError(msg, where=where, fix="see `suitability boxes list` for what is up")
    stay = stays.iloc[0]
    if on > today:
        msg = f"{on} is still to come"
        raise ResultError(msg, where=where, fix="write it down once it is done")
    put_up = pd.Timestamp(stay["put_up"]).date()
    if on <= put_up:
        msg = f"`{box}` was put up on {put_up}, not before {on}"
        raise ResultError(msg, where=where, fix=f"give a day from {put_up + timedelta(1)} on")
    number = int(stay["placement"])
    there = (VISITS.c.placement == number) & VISITS.c.withdrawn_on.is_(None)
    asked = select(func.max(VISITS.c.date)).where(there)
    last = connection.execute(asked).scalar_one()
    if last is not None and last > on:
        msg = f"`{box}` was visited there on {last}, after {on}"
        raise ResultError(msg, where=where, fix="see which of the two days is wrong")
    change = update(PLACEMENTS).where(PLACEMENTS.c.fid == number)
    connection.execute(change.values(taken_down=on, why=why))
