"""What advice goes by: whom boxes are for, what may be chosen, how warm summers are."""

from __future__ import annotations

from dataclasses import dataclass

from suitability.box.catalogue import Catalogue, load_catalogue
from suitability.box.design import BoxDesign, Colour, MountKind, SpeciesGroup
from suitability.config import LoadedRun
from suitability.config.settings import Climate
from suitability.errors import ConfigError
from suitability.quantities import Quantities

# A mean daily maximum of the warmest month inside each climate's band. [°C]
_WITHIN: dict[Climate, float] = {"cool": 25.0, "moderate": 32.0, "hot": 36.0}


@dataclass(frozen=True)
class Wanted:
    """What advice goes by, the same for every site of a run.

    Parameters
    ----------
    catalogue : Catalogue
        What may be chosen.
    bats : SpeciesGroup
        Whom the boxes are for.
    climate : {"cool", "moderate", "hot"}
        How warm the summers are.
    warmest_max_c : float or None
        Mean daily maximum of the warmest month; None where no weather is given. [°C]
    most_stress_h : float
        Hours above 40 °C beyond which no box is named. [h]
    quantities : Quantities
        How lengths and temperatures are told.
    """

    catalogue: Catalogue
    bats: SpeciesGroup
    climate: Climate
    warmest_max_c: float | None
    most_stress_h: float
    quantities: Quantities


def wanted_of(run: LoadedRun, warmest_max_c: float | None = None) -> Wanted:
    """Return what a run's advice goes by.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    warmest_max_c : float, optional
        Mean daily maximum of the warmest month, where weather is given. [°C]

    Raises
    ------
    ConfigError
        If a file of boxes, colours or bats cannot be used, or there is no such group of bats.
    """
    settings = run.settings.box
    catalogue = load_catalogue(settings.designs, settings.colours, settings.species)
    bats = catalogue.species.get(settings.bats)
    if bats is None:
        msg = f"there is no group of bats {settings.bats!r}"
        fix = f"choose from {', '.join(catalogue.species)}; or add it in a file, box.species"
        raise ConfigError(msg, where=run.locate("box.bats"), fix=fix)
    return Wanted(
        catalogue,
        bats,
        run.settings.climate,
        warmest_max_c,
        settings.most_stress,
        run.settings.quantities,
    )


def suitable_designs(wanted: Wanted, mount: MountKind) -> tuple[BoxDesign, ...]:
    """Return the boxes that suit bats and mount, the best first.

    Those with as many chambers as is better for the bats come first, then in the order of the
    file. Where none has as many as they need at least, those with most.
    """
    hang = [box for box in wanted.catalogue.designs.values() if mount in box.mounts]
    enough = [box for box in hang if box.chambers >= wanted.bats.chambers_least]
    ranked = sorted(
        enough or hang, key=lambda box: -min(box.chambers, wanted.bats.chambers)
    )  # keeps the file's order among equals
    return tuple(box.with_chamber(wanted.bats.chamber_m) for box in ranked)


def usual_colours(wanted: Wanted) -> tuple[Colour, ...]:
    """Return the colour that common practice names, and the next paler one."""
    warmest = wanted.warmest_max_c
    known = _WITHIN[wanted.climate] if warmest is None else warmest
    every = sorted(wanted.catalogue.colours.values(), key=lambda each: -each.absorptance_mid)
    at = next((n for n, colour in enumerate(every) if colour.fits(known)), len(every) - 1)
    return tuple(every[at : at + 2])


def summers_in_words(wanted: Wanted) -> str:
    """Say how warm summers are, and how that is known."""
    if wanted.warmest_max_c is None:
        return f"summers count as {wanted.climate} (climate, in the run file)"
    warmest = wanted.quantities.temperature(wanted.warmest_max_c)
    return f"the warmest month's mean daily maximum is {warmest}"
