"""The boxes whose heat is a layer of the land."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from suitability.box.design import BoxDesign, Colour
from suitability.box.wanted import Wanted
from suitability.config import LoadedRun
from suitability.errors import ConfigError


@dataclass(frozen=True)
class LayerBox:
    """A box, how it is put up, and what counts as too warm.

    Parameters
    ----------
    design : BoxDesign
        With chambers as wide as the run's bats want them.
    colour : Colour
        Of its outside.
    facing_deg : float
        Of those on poles, clockwise from true north. [degrees]
    above_c : float
        Hours above this count. [°C]
    """

    design: BoxDesign
    colour: Colour
    facing_deg: float
    above_c: float


def layer_boxes(run: LoadedRun, wanted: Wanted) -> dict[str, LayerBox]:
    """Return the boxes whose heat a run's layers tell, by layer.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    wanted : Wanted
        What its advice goes by, and may choose from.

    Raises
    ------
    ConfigError
        If there is no such box or colour, or it does not hang on what the run puts boxes on.
    """
    found = {}
    for name, layer in run.settings.layers.items():
        asked = layer.box_heat
        if asked is None:
            continue
        design = _one_of(wanted.catalogue.designs, asked.design, run, name, "design", "box")
        colour = _one_of(wanted.catalogue.colours, asked.colour, run, name, "colour", "colour")
        kind = run.settings.mount.kind
        needed = {"pole", "wall"} if kind == "both" else {kind}
        if missing := sorted(needed - set(design.mounts)):
            what = f"the box {design.name!r} does not hang on a {missing[0]}"
            fits = [d.name for d in wanted.catalogue.designs.values() if needed <= set(d.mounts)]
            fix = f"choose from {', '.join(fits)}" if fits else "change mount.kind"
            raise ConfigError(what, where=run.locate(f"layers.{name}.box_heat.design"), fix=fix)
        found[name] = LayerBox(
            design.with_chamber(wanted.bats.chamber_m), colour, asked.facing, asked.above
        )
    return found


def _one_of(known: Any, name: str, run: LoadedRun, layer: str, key: str, kind: str) -> Any:
    if name not in known:
        what = f"there is no {kind} {name!r}"
        fix = f"choose from {', '.join(known)}; or add it in a file, box.{key}s"
        raise ConfigError(what, where=run.locate(f"layers.{layer}.box_heat.{key}"), fix=fix)
    return known[name]
