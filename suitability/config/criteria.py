"""What makes a place good: criteria, alone or in groups, their weights, and how they combine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated, Any, Literal

from pydantic import (
    BeforeValidator,
    Discriminator,
    Field,
    Tag,
    ValidationInfo,
    field_validator,
    model_validator,
)

from suitability.config.curves import Curve, ValueFunction
from suitability.config.section import Number, Section, Text
from suitability.config.unfit import UnfitValueError
from suitability.config.units import unit_of
from suitability.config.weighing import Weighing

# Steps in the place of a fault that no run file holds: which kind of entry a list's entry is.
KINDS = ("<criterion>", "<group>")

By = Literal[
    "weighted mean", "weighted geometric mean", "limiting criterion", "ordered weighted mean"
]
WEIGHTED_MEAN: By = "weighted mean"
GEOMETRIC_MEAN: By = "weighted geometric mean"
LIMITING: By = "limiting criterion"
ORDERED: By = "ordered weighted mean"
Evidence = Literal["peer-reviewed", "agency guidance", "common practice", "own"]

# What the whole is called among groups.
TOP = "score"

Weight = Annotated[Number, Field(ge=0)]


class Criterion(Section):
    """A layer that counts, how its measure is valued, and how much it weighs."""

    layer: Text = Field(
        description="what is measured; the name ends in its unit", examples=["direct_sun_h"]
    )
    weight: Weight | None = Field(
        None,
        description="how much it counts beside the others; the weights need not add up to 1; left "
        "out where `weighing` gives them",
        examples=[0.35],
    )
    value: ValueFunction = Field(
        description="raw measure to a value in 0..1", examples=[{"rising": ["3 h", "7 h"]}]
    )
    basis: Text = Field("stated in the run file", description="where weight and curve come from")
    evidence: Evidence = Field("own", description="how firm that basis is")
    conflict: Text | None = Field(None, description="where sources disagree, if they do")

    @field_validator("layer")
    @classmethod
    def _names_its_unit(cls, value: str) -> str:
        unit_of(value)
        return value

    @field_validator("value")
    @classmethod
    def _units_fit(cls, value: ValueFunction, info: ValidationInfo) -> ValueFunction:
        if "layer" in info.data:
            value.curve(unit_of(info.data["layer"]))
        return value

    @property
    def name(self) -> str:
        """What weights and errors call it: its layer."""
        return self.layer

    @property
    def unit(self) -> str:
        """Unit of the layer's raw measure."""
        return unit_of(self.layer)

    @property
    def curve(self) -> Curve:
        """The value function, the raw measure in the layer's unit."""
        return self.value.curve(self.unit)

    def in_numbers(self) -> Criterion:
        """Return the same, the table of its curve written out, so that it needs no file."""
        if self.value.table is None:
            return self
        written_out = ValueFunction(points=self.curve.knots, must=self.value.must)
        return self.model_copy(update={"value": written_out})


class Combination(Section):
    """How values combine into one."""

    by: By = Field(
        WEIGHTED_MEAN,
        description="the weighted mean, in which good values make up for poor ones; the weighted "
        "geometric mean, in which a value of 0 cannot be made up for; the limiting criterion: the "
        "lowest value alone; or the ordered weighted mean",
    )
    order_weights: Annotated[tuple[Weight, ...], Field(min_length=1)] | None = Field(
        None,
        description="for the ordered weighted mean: what the highest value weighs beside its "
        "criterion's own weight, then the next, down to the lowest; all equal: the weighted mean",
        examples=[[0.1, 0.2, 0.3, 0.4]],
    )

    @model_validator(mode="after")
    def _order_weights_fit(self) -> Combination:
        ordered = self.by == ORDERED
        if ordered and self.order_weights is None:
            what = f"{self.by} needs order weights"
            fix = (
                "add order_weights: [0.1, 0.2, 0.3, 0.4], one for each criterion, for the highest "
            )
            raise UnfitValueError(what, fix + "value first")
        if not ordered and self.order_weights is not None:
            what = f"order weights have no part in the {self.by}"
            fix = f"delete the line, or write by: {ORDERED}"
            raise UnfitValueError(what, fix, within=("order_weights",))
        if self.order_weights is not None and not any(self.order_weights):
            what = "all order weights are zero"
            raise UnfitValueError(what, "give one a weight above 0", within=("order_weights",))
        return self


def _by_alone(value: object) -> object:
    """Let a combination be written as its name alone."""
    return {"by": value} if isinstance(value, str) else value


Combine = Annotated[
    Combination, BeforeValidator(_by_alone, json_schema_input_type=Text | Combination)
]


def _kind_of(entry: Any) -> str:
    """Tell a group from a criterion by its keys."""
    if isinstance(entry, dict):
        is_group = "group" in entry or ("criteria" in entry and "layer" not in entry)
    else:
        is_group = isinstance(entry, Group)
    return KINDS[is_group]


Entry = Annotated[
    Annotated[Criterion, Tag(KINDS[0])] | Annotated["Group", Tag(KINDS[1])],
    Discriminator(_kind_of),
]
Entries = Annotated[tuple[Entry, ...], Field(min_length=1)]


class Group(Section):
    """Criteria that are weighed among themselves, and count as one beside others."""

    group: Text = Field(description="what it is called", examples=["water and food"])
    weight: Weight | None = Field(
        None,
        description="how much the group counts beside the others; left out where `weighing` gives "
        "the weights",
        examples=[0.4],
    )
    combine: Combine = Field(
        Combination(), description="how the group's values combine", examples=[LIMITING]
    )
    weighing: Weighing | None = Field(
        None, description="how the group's weights are found; left out: each states its own"
    )
    criteria: Entries = Field(
        description="what makes up the group: criteria or groups",
        examples=[
            [{"layer": "water_distance_m", "weight": 1, "value": {"falling": [400, 1600]}}],
        ],
    )

    @field_validator("criteria")
    @classmethod
    def _weights_count(cls, value: tuple[Entry, ...], info: ValidationInfo) -> tuple[Entry, ...]:
        check_entries(value, info)
        return value

    @model_validator(mode="after")
    def _whole_fits(self) -> Group:
        check_section(self.criteria, self.combine, self.weighing)
        return self

    @property
    def name(self) -> str:
        """What weights and errors call it."""
        return self.group

    def in_numbers(self) -> Group:
        """Return the same, the tables of its curves written out, so that it needs no file."""
        return self.model_copy(update={"criteria": tuple(e.in_numbers() for e in self.criteria)})


def check_entries(entries: Sequence[Criterion | Group], info: ValidationInfo) -> None:
    """See that criteria and groups of one list have weights where they need them, and own names.

    Parameters
    ----------
    entries : sequence of Criterion or Group
        The list.
    info : ValidationInfo
        Holds `weighing` of the same section, where that is valid.

    Raises
    ------
    UnfitValueError
        If they do not. (A ValueError.)
    """
    if "weighing" in info.data:
        _check_weights(entries, info.data["weighing"])
    _check_names(entries)


def check_section(
    entries: Sequence[Criterion | Group], combine: Combination, weighing: Weighing | None
) -> None:
    """See that weighing and order weights fit what they are for.

    Raises
    ------
    UnfitValueError
        If they do not. (A ValueError.)
    """
    if weighing is not None:
        weighing.check([entry.name for entry in entries])
    count = sum(entry.weight is None or entry.weight > 0 for entry in entries)
    if combine.order_weights is not None and len(combine.order_weights) != count:
        what = (
            f"{len(combine.order_weights)} order weights are given for {count} criteria that count"
        )
        fix = f"give {count}, for the highest value first"
        raise UnfitValueError(what, fix, within=("combine", "order_weights"))


def _check_weights(entries: Sequence[Criterion | Group], weighing: Weighing | None) -> None:
    for place, entry in enumerate(entries):
        if weighing is None and entry.weight is None:
            what = "weight is missing"
            raise UnfitValueError(what, "add weight: 0.35", within=(place,))
        if weighing is not None and entry.weight is not None:
            what = f"a weight of {entry.weight:g} is stated, yet weighing gives the weights"
            fix = "delete either the weight or weighing"
            raise UnfitValueError(what, fix, within=(place, "weight"))
    if weighing is None and not any(entry.weight for entry in entries):
        what = "all weights are zero"
        raise UnfitValueError(what, "give at least one criterion a weight above 0")


def _check_names(entries: Sequence[Criterion | Group]) -> None:
    every = [entry.name for _, entry in walked(entries)]
    twice = sorted({name for name in every if every.count(name) > 1})
    if twice:
        what = f"{', '.join(twice)} is named more than once"
        fix = "name each layer in one criterion, and each group differently"
        raise UnfitValueError(what, fix)
    if TOP in every:
        what = f"{TOP} is what the whole is called"
        raise UnfitValueError(what, "give the group another name")


def walked(
    entries: Sequence[Criterion | Group], place: str = "criteria"
) -> Iterator[tuple[str, Criterion | Group]]:
    """Yield all criteria and groups at any depth, in the file's order, with their keys."""
    for number, entry in enumerate(entries):
        key = f"{place}[{number}]"
        yield key, entry
        if isinstance(entry, Group):
            yield from walked(entry.criteria, f"{key}.criteria")
