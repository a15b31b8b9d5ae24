"""A value of the run file that cannot be used, told in two parts."""

from __future__ import annotations

_LONGEST = 40  # of a wrong text that is shown back


class UnfitValueError(ValueError):
    """What is wrong with a value, and what to write instead.

    Parameters
    ----------
    what : str
        What is wrong, with the value itself.
    fix : str
        What to write instead.
    within : tuple, optional
        Keys and list positions that lead to the very entry, from the value that was checked.
    """

    def __init__(self, what: str, fix: str, *, within: tuple[str | int, ...] = ()) -> None:
        self.what = what
        self.fix = fix
        self.within = within
        super().__init__(f"{what}; {fix}")


def shown(value: object) -> str:
    """Return a value as its writer knows it from the file, shortened."""
    if value is None:
        return "nothing (null)"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a section of keys"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, int) and abs(value) > 10**_LONGEST:
        return "a number of very many digits"
    text = str(value)
    if len(text) > _LONGEST:
        text = text[:_LONGEST] + "…"
    return repr(text) if isinstance(value, str) else text
