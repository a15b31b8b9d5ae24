"""What a user did that cannot work: what is wrong, where, and how to put it right.

SuitabilityError
├── ConfigError   the run file: a key, a unit, a range
├── GridError     the common grid: its CRS, its cells
├── InputError    a raster, a vector file or a legend
└── ResultError   a run that cannot answer: nothing left, or no such site
"""

from __future__ import annotations

import os


class SuitabilityError(Exception):
    """A user's mistake, told in three parts.

    Parameters
    ----------
    what : str
        What is wrong, with the numbers.
    where : str or path, optional
        The file, the layer, or the YAML line and key.
    fix : str, optional
        What to do about it.
    """

    def __init__(
        self,
        what: str,
        *,
        where: str | os.PathLike[str] | None = None,
        fix: str | None = None,
    ) -> None:
        self.what = what
        self.where = None if where is None else os.fspath(where)
        self.fix = fix
        super().__init__(str(self))

    def __reduce__(self) -> tuple[object, ...]:
        """Let the three parts survive the way from a worker process."""
        return _rebuilt, (type(self), self.what, self.where, self.fix)

    def __str__(self) -> str:
        """Give the three parts, one a line."""
        parts = [self.what]
        if self.where:
            parts.append(f"  where: {self.where}")
        if self.fix:
            parts.append(f"  fix:   {self.fix}")
        return "\n".join(parts)


def _rebuilt(
    kind: type[SuitabilityError], what: str, where: str | None, fix: str | None
) -> SuitabilityError:
    return kind(what, where=where, fix=fix)


class ConfigError(SuitabilityError):
    """The run file says something that cannot be used."""


class GridError(SuitabilityError):
    """No common grid can be made."""


class InputError(SuitabilityError):
    """A file cannot be read, or cannot be what it is said to be."""


class ResultError(SuitabilityError):
    """The inputs were fine, yet there is nothing to give back."""
