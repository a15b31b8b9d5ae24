"""The page to build or to buy by: the box advised for a site of a finished run."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from suitability.box.design import BoxDesign, Ground
from suitability.box.specification import specification
from suitability.errors import ResultError
from suitability.finished import FinishedRun
from suitability.outputs.box_sheet import Board, SheetContent, View, write_box_sheet
from suitability.outputs.cautions import SiteCaution
from suitability.quantities import workshop

# Besides what applies at the site itself: what building, digging and putting up want.
_HEEDED = ("overhead_lines", "digging", "pole", "walls", "ladder", "timber", "siting",
           "never_handle_bats")  # fmt: skip


def write_site_sheet(
    folder: str | os.PathLike[str], rank: int, path: str | os.PathLike[str] | None = None
) -> Path:
    """Write the page of a site's box as a PDF; return where it lies.

    Parameters
    ----------
    folder : path
        The run's folder.
    rank : int
        Of the site.
    path : path, optional
        Where to; left out, `boxes/site_N.pdf` in the run's folder.

    Raises
    ------
    ResultError
        If no box is advised for the site.
    """
    run = FinishedRun.of(folder)
    record, advice = run.record, run.advice(rank)
    if advice is None:
        msg = f"the record of the run holds no advice for site {rank}"
        raise ResultError(msg, where=folder, fix="name one of the first sites")
    if advice["box"] is None:
        msg = f"no box is recommended for site {rank}: {advice['warnings'][0]}"
        raise ResultError(msg, where=folder, fix="see `suitability explain` for that site")
    site = next(each for each in record["sites"] if each["rank"] == rank)
    target = Path(folder) / "boxes" / f"site_{rank}.pdf" if path is None else Path(path)
    write_box_sheet(target, _content(record["title"], site, advice, run.cautions(rank)))
    return target


def _content(
    title: str, site: dict[str, Any], advice: dict[str, Any], cautions: tuple[SiteCaution, ...]
) -> SheetContent:
    box = design_of(advice["box"])
    mount = next(point["choice"] for point in advice["points"] if point["topic"] == "mount")
    items = specification(box, advice["colour"], mount, advice["mount_height_m"])
    facing = advice["facing"]
    magnetic = facing["magnetic_deg"]
    compass = "" if magnetic is None else f", {magnetic % 360:.0f}° by compass"
    return SheetContent(
        title=f"{title}, site {site['rank']}: {box.name}",
        lines=(
            f"At {site['lat_deg']:.6f}, {site['lon_deg']:.6f} (latitude, longitude, WGS 84), for "
            f"{advice['bats']['title']}.",
            f"Its front looks {facing['true_deg']:.0f}° from true north{compass}. The needle "
            f"points {advice['declination']}.",
            *(f"{sentence}." for sentence in advice["timing"]["in_words"]),
            "Sizes are common practice. A screening result: no one can promise that bats move in.",
        ),
        items=[(item.part, item.size, item.note) for item in items],
        views=views_of(box),
        foot=[
            str(caution) for caution in cautions if caution.applies_here or caution.id in _HEEDED
        ],
    )


def design_of(recorded: dict[str, Any]) -> BoxDesign:
    """Return a box from a run's record."""
    return BoxDesign(
        **{
            **recorded,
            "mounts": tuple(recorded["mounts"]),
            "ground": Ground(**recorded["ground"]),
        }
    )


def views_of(box: BoxDesign) -> tuple[View, View]:
    """Return a box from the front, and cut: from the side, or from above where it has a post."""
    tall, landing, wall = box.height_m, box.landing_m, box.wall_m
    front = View(
        "from the front",
        [(0, landing, box.width_m, tall), (0, 0, box.width_m, landing)],
        box.width_m, tall + landing, workshop(box.width_m),
        f"{workshop(tall)}\n+ {workshop(landing)}",
    )  # fmt: skip
    if box.is_around_post:
        return front, View(
            "from above, cut", _rings(box), box.depth_m, box.depth_m, workshop(box.depth_m),
            workshop(box.depth_m),
        )  # fmt: skip
    step = box.chamber_m + box.partition_m
    boards: list[Board] = [(box.depth_m - wall, 0, wall, tall + landing), (0, landing, wall, tall)]
    boards += [
        (wall + n * step - box.partition_m, landing, box.partition_m, tall - 2 * wall)
        for n in range(1, box.chambers)
    ]
    boards.append((0, landing + tall - wall, box.depth_m, wall))
    return front, View(
        "from the side, cut", boards, box.depth_m, tall + landing, workshop(box.depth_m), "",
    )  # fmt: skip


def _rings(box: BoxDesign) -> list[Board]:
    """Return the four boards of each shell about the post, and the post."""
    boards: list[Board] = []
    outer, thick = 0.0, box.wall_m
    for _ in range(box.chambers + 1):
        edge = box.depth_m - 2 * outer
        far = outer + edge - thick
        boards += [
            (outer, outer, edge, thick), (outer, far, edge, thick),
            (outer, outer, thick, edge), (far, outer, thick, edge),
        ]  # fmt: skip
        outer += thick + box.chamber_m
        thick = box.partition_m
    at = (box.depth_m - box.post_m) / 2
    return [*boards, (at, at, box.post_m, box.post_m)]
