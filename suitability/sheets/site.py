"""What is known of one site of a finished run, as pages of every kind tell it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import pandas as pd

from suitability.box.facing import compass_word
from suitability.finished import FinishedRun
from suitability.outputs.cautions import SiteCaution
from suitability.outputs.site_signs import SiteFacts
from suitability.quantities import Quantities
from suitability.sheets.land import LandAround


@dataclass(frozen=True)
class SheetSite:
    """A site with its run; texts from data come as pages can show them.

    Parameters
    ----------
    run : FinishedRun
        The run.
    land : LandAround
        Its land.
    row : dict
        The site's row of `sites.csv`.
    """

    run: FinishedRun
    land: LandAround
    row: dict[str, Any]

    @property
    def rank(self) -> int:
        """Of the site."""
        return int(self.row["rank"])

    @property
    def tell(self) -> Quantities:
        """How the run tells quantities."""
        return self.run.quantities

    @cached_property
    def facts(self) -> SiteFacts:
        """What stands about it."""
        return self.run.facts(self.rank)

    @cached_property
    def cautions(self) -> tuple[SiteCaution, ...]:
        """What to heed, what applies here first."""
        return self.run.cautions(self.rank)

    @cached_property
    def advice(self) -> dict[str, Any] | None:
        """What is advised, with reasons, where the run keeps them of this site."""
        return self.run.advice(self.rank)

    @property
    def timing(self) -> dict[str, Any]:
        """The year of a box."""
        found: dict[str, Any] = self.run.record["boxes"]["timing"]
        return found

    @property
    def is_on_wall(self) -> bool:
        """Whether the box hangs on a wall."""
        return self.facts.kind == "wall"

    @property
    def geo(self) -> str:
        """The place as a link: latitude, then longitude, WGS 84 (RFC 5870)."""
        return f"geo:{self.row['lat_deg']:.6f},{self.row['lon_deg']:.6f}"

    @property
    def facing_deg(self) -> float | None:
        """The way that the box looks, from true north; None where no box is advised. [degrees]."""
        return self.number("facing_deg")

    @property
    def facing_word(self) -> str:
        """The same as a word, such as `south-east`."""
        return "" if self.facing_deg is None else compass_word(self.facing_deg)

    def text(self, column: str) -> str:
        """Return a text of the site's row; empty where it has none."""
        value = self.row.get(column)
        return "" if value is None or pd.isna(value) else str(value)

    def number(self, column: str) -> float | None:
        """Return a number of the site's row; None where it has none."""
        value = self.row.get(column)
        return None if value is None or pd.isna(value) else float(value)

    def about_wall(self) -> str:
        """Return whose wall it is and what it is made of, as far as is known."""
        return ", ".join(part for part in (self.text("building"), self.text("material")) if part)


def degrees(value: float) -> str:
    """Return a bearing in whole degrees, 0 to 359."""
    return f"{round(value) % 360}°"
