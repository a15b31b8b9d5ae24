"""What all parts of the run file share: the strict section, and its plainest values."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, Strict


class Section(BaseModel):
    """A part of the run file; an unknown key is an error."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        validate_default=True,
        allow_inf_nan=False,
        str_strip_whitespace=True,
    )


Number = Annotated[float, Strict()]
WholeNumber = Annotated[int, Strict()]
Text = Annotated[str, Field(min_length=1)]
Share = Annotated[Number, Field(ge=0, le=1)]
