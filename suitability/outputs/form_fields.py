"""A column of a form: what people read, and what may be written into it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class FormField:
    """A column to fill in.

    Parameters
    ----------
    name, title, description : str
        Of the column; what people read; what to write into it.
    kind : {"text", "whole", "number", "date", "yes_no"}
        What it holds.
    words : tuple of (str, str)
        The texts that fit, each with what it means; none: any.
    ends : tuple of float, optional
        Least and most that fit, both included.
    needed : bool
        Whether it may not be left empty.
    """

    name: str
    title: str
    description: str
    kind: Literal["text", "whole", "number", "date", "yes_no"] = "text"
    words: tuple[tuple[str, str], ...] = ()
    ends: tuple[float, float] | None = None
    needed: bool = False
