"""Designs, colours and groups of bats from files: those shipped, and a user's own beside them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Literal, TypeVar

from pydantic import Field, ValidationInfo, field_validator, model_validator

from suitability.box.design import BoxDesign, Colour, Ground, SpeciesGroup
from suitability.config.criteria import Evidence
from suitability.config.load import read_text, section_of
from suitability.config.section import Number, Section, Share, Text, WholeNumber
from suitability.config.unfit import UnfitValueError
from suitability.config.units import DistanceM, InUnit

Name = Annotated[str, Field(min_length=1, max_length=40)]
ChamberM = Annotated[float, InUnit("m", at_least=0.01, at_most=0.06)]
# No box is larger: ten inches written without their unit are ten metres.
BoxSizeM = Annotated[float, InUnit("m", above=0, at_most=3)]
HeightM = Annotated[float, InUnit("m", above=0, at_most=30)]


class Grounded(Section):
    """An entry that says where it comes from."""

    evidence: Evidence = Field("own", description="how firm the basis is")
    basis: Text = Field("stated by the user", description="where the numbers come from")
    conflict: Text | None = Field(None, description="where sources disagree")

    @property
    def ground(self) -> Ground:
        """Where the entry's numbers come from."""
        return Ground(self.evidence, self.basis, self.conflict)


class _Entry(Grounded):
    """An entry that goes by a name."""

    name: Name = Field(description="what it is called", examples=["my box"])


class DesignEntry(_Entry):
    """A box, by its outer sizes without roof overhang and landing."""

    width: BoxSizeM = Field(description="across the front", examples=["18 in"])
    height: BoxSizeM = Field(description="of the front, without the landing", examples=["30 in"])
    depth: BoxSizeM = Field(description="front to back", examples=["4 in"])
    wall: Annotated[float, InUnit("m", above=0, at_most=0.1)] = Field(
        0.01905, description="thickness of the outer walls"
    )
    chambers: WholeNumber = Field(ge=1, le=12, description="how many", examples=[2])
    chamber: ChamberM = Field(
        description="from one wall of a chamber to the other", examples=["0.75 in"]
    )
    vented: bool = Field(True, description="whether there is a slot in the front")
    overhang: DistanceM = Field(0.05, description="of the roof beyond the front")
    post: DistanceM = Field(0.0, description="edge of the post that the box goes around, if any")
    landing: DistanceM = Field(description="rough board below the entrance", examples=["4 in"])
    mounts: Annotated[tuple[Literal["pole", "wall"], ...], Field(min_length=1)] = Field(
        ("pole", "wall"), description="what the box hangs on"
    )

    @model_validator(mode="after")
    def _chambers_fit(self) -> DesignEntry:
        try:
            self.design()
        except ValueError as exc:
            fix = "state the outer sizes; chambers, walls and post go into the depth"
            raise UnfitValueError(str(exc), fix) from exc
        return self

    def design(self) -> BoxDesign:
        """Return the entry as a box."""
        return BoxDesign(
            name=self.name,
            width_m=self.width,
            height_m=self.height,
            depth_m=self.depth,
            wall_m=self.wall,
            chambers=self.chambers,
            chamber_m=self.chamber,
            vented=self.vented,
            overhang_m=self.overhang,
            post_m=self.post,
            landing_m=self.landing,
            mounts=self.mounts,
            ground=self.ground,
        )


class _ColourEntry(_Entry):
    """A colour of the outside."""

    absorptance: tuple[Share, Share, Share] = Field(
        description="share of sunlight that becomes heat: least, usual, most",
        examples=[[0.75, 0.83, 0.9]],
    )
    warmest_month_max: tuple[Number | None, Number | None] = Field(
        (None, None),
        description="warmest month's mean daily maximum, from and to, for which it is named [°C]",
    )

    @field_validator("absorptance")
    @classmethod
    def _rises(cls, value: tuple[float, ...], _: ValidationInfo) -> tuple[float, ...]:
        return _in_order(value)

    def colour(self) -> Colour:
        """Return the entry as a colour."""
        return Colour(self.name, *self.absorptance, *self.warmest_month_max, self.ground)


class _SpeciesEntry(_Entry):
    """Bats that want alike boxes."""

    title: Text = Field(description="who belongs to it", examples=["small bats"])
    chamber: tuple[ChamberM, ChamberM, ChamberM] = Field(
        description="width of a chamber: least, wanted, most",
        examples=[["0.5 in", "0.75 in", "0.75 in"]],
    )
    chambers: tuple[WholeNumber, WholeNumber] = Field(
        (2, 4), description="how many: at least, better"
    )
    height: tuple[HeightM, HeightM, HeightM] = Field(
        description="of the box above the ground: at least, wanted from, wanted to",
        examples=[["10 ft", "12 ft", "20 ft"]],
    )

    @field_validator("chamber", "chambers", "height")
    @classmethod
    def _rises(cls, value: tuple[float, ...], _: ValidationInfo) -> tuple[float, ...]:
        return _in_order(value)

    def species(self) -> SpeciesGroup:
        """Return the entry as a group of bats."""
        return SpeciesGroup(
            self.name, self.title, *self.chamber, *self.chambers, *self.height, self.ground
        )


File = TypeVar("File", bound=Section)


class DesignFile(Section):
    """A file of boxes."""

    designs: Annotated[tuple[DesignEntry, ...], Field(min_length=1)] = Field(description="boxes")


class _ColourFile(Section):
    colours: Annotated[tuple[_ColourEntry, ...], Field(min_length=1)] = Field(description="colours")


class _SpeciesFile(Section):
    species: Annotated[tuple[_SpeciesEntry, ...], Field(min_length=1)] = Field(
        description="groups of bats"
    )


@dataclass(frozen=True)
class Catalogue:
    """All that advice may choose from, by name, in the files' order; a user's own come last.

    Parameters
    ----------
    designs : mapping of str to BoxDesign
        Boxes.
    colours : mapping of str to Colour
        Colours of the outside.
    species : mapping of str to SpeciesGroup
        Groups of bats.
    """

    designs: Mapping[str, BoxDesign]
    colours: Mapping[str, Colour]
    species: Mapping[str, SpeciesGroup]


def load_catalogue(
    designs: str | None = None, colours: str | None = None, species: str | None = None
) -> Catalogue:
    """Return what is shipped, with a user's own entries.

    Parameters
    ----------
    designs, colours, species : str, optional
        Paths of a user's own files.

    Raises
    ------
    ConfigError
        If one of them cannot be read, or says what cannot be used; every fault with its line.
    """
    boxes = [e.design() for part in _parts(DesignFile, "designs", designs) for e in part.designs]
    paints = [e.colour() for part in _parts(_ColourFile, "colours", colours) for e in part.colours]
    bats = [e.species() for part in _parts(_SpeciesFile, "species", species) for e in part.species]
    return Catalogue(
        {box.name: box for box in boxes},
        {paint.name: paint for paint in paints},
        {group.name: group for group in bats},
    )


def entries_begin(kind: str) -> str:
    """Return what to write into a file of such entries that holds none."""
    return f"{kind}: into it, and its entries below, each beginning with - name:"


def _parts(root: type[File], kind: str, own: str | None) -> list[File]:
    """Return what is read, the shipped file first."""
    begins = entries_begin(kind)
    shipped = (files("suitability.box") / "data" / f"{kind}.yaml").read_text(encoding="utf-8")
    parts = [section_of(shipped, f"{kind}.yaml", root, begins=begins)]
    if own is not None:
        text = read_text(own, f"file of {kind}")
        parts.append(section_of(text, Path(own).name, root, begins=begins))
    return parts


def _in_order(value: tuple[float, ...]) -> tuple[float, ...]:
    if list(value) != sorted(value):
        what = f"{', '.join(f'{number:g}' for number in value)} do not rise"
        raise UnfitValueError(what, "write the least first, the greatest last")
    return value
