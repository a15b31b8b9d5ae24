"""What the page for the field says of a site."""

from __future__ import annotations

import math
from typing import Any

from suitability.decide import Part, explain_place
from suitability.errors import ResultError
from suitability.layers.canopy import FAR_EDGE_M
from suitability.layers.registry import MONTHS, month_layer
from suitability.mapping import day_in_words
from suitability.outputs.cautions import SiteCaution, short_caution
from suitability.outputs.sheet_content import FieldSheet, Merit, Rows, Sky
from suitability.outputs.sky_chart import DayPath
from suitability.sheets.site import SheetSite, degrees
from suitability.sun import days_shown, sun_on

_ADVICE_POINTS = ("facing", "colour", "vents")  # topics begin so: whose reasons are told


def field_sheet(site: SheetSite, titles: dict[str, str], lowest: float) -> FieldSheet:
    """Return what the page says.

    Parameters
    ----------
    site : SheetSite
        The site.
    titles : dict of str to str
        What each criterion's layer measures, in words.
    lowest : float
        Where the first class of the score starts.
    """
    run, row = site.run, site.row
    sky = _sky(site)
    months = _months(site)
    told = "on its wall's face" if site.is_on_wall else "at the height of the box"
    day, named = run.record["written_utc"][:10], run.grid.crs.name
    return FieldSheet(
        site=site.text("site"),
        land=run.title,
        summary=_summary(site),
        geo=site.geo,
        place=_place(site),
        bearings=_bearings(site),
        needle=_needle(site),
        put_up=_put_up(site),
        distances=_distances(site),
        when=when_rows(site.timing),
        months=months,
        sun=f"In the season {told}: {row['direct_sun_h']:.1f} h a day." if months else "",
        merits=_merits(site, titles),
        how=_how(run.judgement.adds_up),
        why=_why(site),
        here=_here(site),
        everywhere=tuple(c.title for c in site.cautions if not c.applies_here),
        checks=_checks(site),
        missing=_missing(site, sky, months),
        map=site.land.near(site.rank, site.facts.kind, site.facing_deg, is_judged=True),
        lowest=lowest,
        sky=sky,
        foot=f"{site.tell.retold(short_caution())} Grid: {named}. Run of {day}.",
    )


def when_rows(timing: dict[str, Any]) -> Rows:
    """Return the year of a box, a row each."""
    occupied, work = (None if days is None else _span(days) for days in
                      (timing["occupied"], timing["maintain"]))  # fmt: skip
    return (
        ("Up by", day_in_words(timing["install_by"])),
        ("Bats in it", occupied or ""),
        ("Work on it", work or "bats may be in it all year: look first, and ask"),
    )


def _span(days: str) -> str:
    first, _, last = days.partition(" to ")
    return f"{day_in_words(first)} to {day_in_words(last)}"


def _summary(site: SheetSite) -> str:
    row, count = site.row, len(site.run.record["sites"])
    parts = [
        "Box on a wall" if site.is_on_wall else "Box on a pole",
        f"group {int(row['group'])}, {site.text('role')}" if site.text("role") else "",
        f"score {row['score']:.2f} (0 to 1, higher suits better)",
        f"number {site.rank} of {count}",
    ]
    return "; ".join(part for part in parts if part)


def _place(site: SheetSite) -> Rows:
    row, grid = site.row, site.run.grid
    east, north = (f"{row[name]:.2f}".rstrip("0").rstrip(".") for name in ("x_m", "y_m"))
    height = site.number("ground_elevation_m")
    up = "" if height is None else f"; ground {site.tell.height(height)} above sea level"
    return (
        ("Grid", f"{east} E, {north} N ({grid.label})"),
        ("WGS 84", f"{row['lat_deg']:.6f}, {row['lon_deg']:.6f} (lat, lon)"),
        ("MGRS", f"{site.text('mgrs')}{up}"),
    )


def _bearings(site: SheetSite) -> Rows:
    """Return the facing by three norths."""
    facing = site.facing_deg
    if facing is None:
        return ()
    grid = facing - site.land.convergence_deg(site.rank)
    magnetic = site.number("facing_magnetic_deg")
    compass = "not known: take the true bearing" if magnetic is None else degrees(magnetic)
    return (
        ("True", f"{degrees(facing)} ({site.facing_word}); from grid north {degrees(grid)}"),
        ("Magnetic", compass),
    )


def _needle(site: SheetSite) -> str:
    if site.advice is None:
        return ""
    told = str(site.advice["declination"])
    return f"Needle: {told}." if told else ""


def _put_up(site: SheetSite) -> Rows:
    advice = site.advice
    height = site.number("mount_height_m")
    wall = site.about_wall()
    mount = (f"wall of {wall}" if wall else "wall") if site.is_on_wall else "pole"
    rows = [("On", mount)]
    if site.text("box"):
        rows.append(("Box", f"{site.text('box')}, {site.text('colour')}"))
        width = "" if advice is None else f", each {site.tell.small(advice['box']['chamber_m'])}"
        chambers = site.number("chambers")
        if chambers is not None:
            rows.append(("Chambers", f"{chambers:.0f}{width}" + (" wide" if width else "")))
    else:
        why = f": {advice['warnings'][0]}" if advice and advice["warnings"] else ""
        rows.append(("Box", f"none is recommended{why}"))
    if height is not None:
        rows.append(("Height", f"{site.tell.height(height)} above the ground"))
    return tuple(rows)


def _distances(site: SheetSite) -> Rows:
    facts, tell = site.facts, site.tell
    edge, slope = site.number("canopy_edge_m"), site.number("slope_deg")
    water = facts.water_m if facts.water_m is not None else site.number("water_distance_exact_m")
    building = "Next building" if site.is_on_wall else "Building"
    away = {
        "Water": water, building: facts.building_m, "Overhead line": facts.wire_m,
        "Boundary": facts.boundary_m, "Box now up": facts.existing_box_m,
    }  # fmt: skip
    rows = [(name, tell.length(value)) for name, value in away.items() if value is not None]
    if edge is not None:
        far = " or more" if edge >= FAR_EDGE_M else ""
        rows.insert(min(1, len(rows)), ("Trees' edge", f"{tell.length(edge)}{far}"))
    if slope is not None:
        rows.append(("Slope", f"{slope:.0f}°" if slope >= 1 else "less than 1°"))
    return tuple(rows)


def _months(site: SheetSite) -> tuple[tuple[str, float], ...]:
    names = {month_layer(number): name for number, name in enumerate(MONTHS, start=1)}
    # In the table's order, which is the season's.
    found = [(names[key].capitalize(), site.number(key)) for key in site.row if key in names]
    return tuple((name, math.nan if value is None else value) for name, value in found)


def _sky(site: SheetSite) -> Sky | None:
    try:
        horizon = site.run.horizon(site.rank)
    except ResultError:  # the run has more sites than it keeps horizons of
        return None
    season, lat, lon = site.run.settings["season"], site.row["lat_deg"], site.row["lon_deg"]
    days = days_shown(season["start"], season["end"], lat)
    paths = [DayPath(day_in_words(day), *sun_on(day, lat, lon, season["year"])) for day in days]
    return Sky(horizon, tuple(paths), site.facing_deg, lat)


def _merits(site: SheetSite, titles: dict[str, str]) -> tuple[Merit, ...]:
    judgement = site.run.judgement
    raw = {c.layer: _measure(site, c.layer) for c in judgement.criteria}
    parts = sorted(explain_place(judgement, raw), key=lambda part: -part.share)
    return tuple(_merit(site, part, titles) for part in parts)


def _measure(site: SheetSite, layer: str) -> float:
    value = site.number(layer)
    return math.nan if value is None else value


def _merit(site: SheetSite, part: Part, titles: dict[str, str]) -> Merit:
    got = part.value * part.share
    told = (
        f"{part.contribution:.2f} of {part.share:.2f}"
        if part.contribution is not None
        else f"{part.value:.2f}, weight {part.share:.2f}"
    )
    name = titles.get(part.layer, part.layer)
    name = name[:1].upper() + name[1:]
    measure = site.tell.axis(part.unit).tell_digits(part.raw, 3)
    measure = measure.replace(" deg", "°")
    is_known = math.isfinite(part.raw)
    return Merit(
        name, measure if is_known else "–", part.share, got if math.isfinite(got) else 0.0, told
    )


def _how(adds_up: bool) -> str:
    if adds_up:
        return "Bars: what each adds to the score, within the most that it can."
    return "Bars: value within weight; they are not summed but combined, see `suitability explain`."


def _why(site: SheetSite) -> tuple[str, ...]:
    """Return reasons and second choices, those of facing, box and colour before others."""
    if site.advice is None:
        return ()
    points = site.advice["points"]
    first = [p for p in points if p["topic"].startswith(_ADVICE_POINTS)]
    rest = [p for p in points if p not in first and p["topic"] != "height"]
    told = [
        (f"{p['topic']}: {p['choice']}; {p['why']}", f"or {p['topic']}: {p['second']}", p["second"])
        for p in first
    ]
    texts = [text for why, other, second in told for text in ((why, other) if second else (why,))]
    texts += [f"or {p['topic']}: {p['second']}" for p in rest if p["second"]]
    return tuple(_sentence(text) for text in texts)


def _here(site: SheetSite) -> tuple[str, ...]:
    warnings = () if site.advice is None else site.advice["warnings"]
    return (
        *(_sentence(text) for text in warnings),
        *(_heeded(caution) for caution in site.cautions if caution.applies_here),
    )


def _heeded(caution: SiteCaution) -> str:
    return f"{caution.title}. {caution}"


def _checks(site: SheetSite) -> tuple[str, ...]:
    off = site.tell.retold("10 ft (3 m)")
    digging = (
        "Utility locate called (in the US: 811); ticket ____________"
        if not site.is_on_wall
        else "Cables, old paint and siding of the wall looked at"
    )
    ground = (
        "Tree roots, rock and water: a hole can be dug here"
        if not site.is_on_wall
        else "Nobody passes, eats or plays below"
    )
    return (
        digging,
        f"Looked up: pole and ladder stay {off} off any overhead line",
        "Owner's permission in writing; local codes asked",
        "Ladder on firm, level ground; two people",
        ground,
        "Place and sun are as this page says; nothing new in the way",
        "Up on __________  Box no. ______  Faces _____°  Height ______",
    )


def _missing(
    site: SheetSite, sky: Sky | None, months: tuple[tuple[str, float], ...]
) -> tuple[str, ...]:
    facts, told = site.facts, []
    if site.advice is None:
        told.append("The run has so many sites that it keeps no reasons for this one's box.")
    if sky is None:
        told.append("The run keeps no horizon of this site.")
    if not months:
        told.append("The run tells no hours by month.")
    if not facts.wires_given:
        told.append("The run was given no overhead lines: look for them on the spot.")
    if site.is_on_wall and not site.text("material"):
        told.append("The run does not know what the wall is made of.")
    return tuple(told)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}".rstrip(".") + "."
