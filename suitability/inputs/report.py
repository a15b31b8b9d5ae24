"""What is told about an input: what it is, what was done to it, what was assumed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from suitability.quantities import Quantities

# In place of the path of what no file was given for.
NONE_GIVEN = "none given"


def is_none_given(path: str) -> bool:
    """Return whether a report's path tells that there was no file."""
    return path.startswith(NONE_GIVEN)


@dataclass(frozen=True)
class InputReport:
    """One input, in words that `check` prints and the run's record keeps.

    Parameters
    ----------
    role : str
        What the input is for, such as `elevation`.
    path : str
        Where it was read.
    facts : tuple of str
        What it is: size, cell, CRS, unit, nodata; or features and fields.
    done : tuple of str
        What was done to bring it onto the grid.
    assumed : tuple of str
        What neither the file nor the run file states.
    warnings : tuple of str
        What changes how the result may be read.
    outside_share : float
        Share of the grid's cells (rasters) or of the features (vectors) without data here. [0..1]
    """

    role: str
    path: str
    facts: tuple[str, ...] = ()
    done: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    outside_share: float = 0.0

    def told_in(self, quantities: Quantities) -> InputReport:
        """Return the report in the units that its reader wants; it is made in metric."""
        facts, done, assumed, warnings = (
            tuple(map(quantities.retold, texts))
            for texts in (self.facts, self.done, self.assumed, self.warnings)
        )
        return replace(self, facts=facts, done=done, assumed=assumed, warnings=warnings)

    @classmethod
    def of(cls, kept: Mapping[str, Any]) -> InputReport:
        """Return a report that was kept as plain values."""
        values: Any = {
            key: tuple(value) if isinstance(value, list) else value for key, value in kept.items()
        }
        return cls(**values)


def merge_reports(reports: Iterable[tuple[int, Iterable[InputReport]]]) -> list[InputReport]:
    """Return one report an input from those of the tiles of a grid.

    Texts that differ in their numbers only are told once, as of the first tile that told them.

    Parameters
    ----------
    reports : iterable of (int, iterable of InputReport)
        The cells of each tile, and its reports.
    """
    found: dict[tuple[str, str], list[tuple[int, InputReport]]] = {}
    for cells, tile in reports:
        for report in tile:
            found.setdefault((report.role, report.path), []).append((cells, report))
    merged = []
    for (role, path), parts in found.items():
        cells = sum(part_cells for part_cells, _ in parts)
        merged.append(
            InputReport(
                role,
                path,
                facts=_told_once(report.facts for _, report in parts),
                done=_told_once(report.done for _, report in parts),
                assumed=_told_once(report.assumed for _, report in parts),
                warnings=_told_once(report.warnings for _, report in parts),
                outside_share=sum(n * report.outside_share for n, report in parts) / cells,
            )
        )
    return merged


def _told_once(texts: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    """Return texts without those that differ from an earlier one in numbers only."""
    told: dict[str, list[str]] = {}
    for part in texts:
        for text in part:
            told.setdefault(re.sub(r"[-\d.,]+", "#", text), []).append(text)
    return tuple(
        same[0] if len(set(same)) == 1 else f"{same[0]} (in one tile; alike in others)"
        for same in told.values()
    )
