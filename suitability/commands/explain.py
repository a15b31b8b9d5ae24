"""`suitability explain`: why a place has its score, or why it is out."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from suitability.commands.console import open_console, plain

if TYPE_CHECKING:
    from rich.console import Console

    from suitability.explain import Place
    from suitability.quantities import Quantities


def show_place(place: Place, tell: Quantities) -> None:
    """Print why a place has its score, or why it is out, in the units of the run."""
    from rich.table import Table

    console = open_console()
    console.print(f"latitude {place.lat:.6f}, longitude {place.lon:.6f}", highlight=False)
    if place.on_wall is not None:
        told = f"{place.on_wall} (true); direct sun is that on its face"
        console.print(plain(told), highlight=False)
    if place.score is None:
        console.print(
            "[bold]no candidate:[/bold]", "; ".join(tell.retold(r.words) for r in place.reasons)
        )
        for reason in place.reasons:
            if (known := place.rules.get(reason.key)) is not None:
                rule = known.told_in(tell)
                setting = "always" if rule.is_always else f"{rule.key} {rule.shown}"
                named = f"{reason.words} ({setting}; {rule.evidence})"
                _show_basis(console, tell, named, rule.basis, rule.conflict)
        if not math.isnan(place.would_score):
            console.print(f"without that it would score {place.would_score:.3f}", highlight=False)
    else:
        console.print(f"[bold]score {place.score:.3f}[/bold]", highlight=False)
    adds_up = place.judgement.adds_up
    # Values that do not add up have no part of the score; what it would lose without them is told.
    does = ("adds",) if adds_up else ("would lose", "would gain")
    table = Table()
    for heading in ("layer", "measure", "value", "weight", *does, "best at", "evidence"):
        table.add_column(heading, justify="left" if heading in ("layer", "evidence") else "right")
    for part in place.parts:
        changes = (part.loss, part.lift) if part.contribution is None else (part.contribution,)
        table.add_row(
            part.layer,
            tell.of(part.raw, part.unit),
            _number(part.value, ".2f"),
            f"{part.share:.0%}",
            *(_number(change, ".3f") for change in changes),
            "" if part.better_at is None else tell.of(part.better_at, part.unit),
            part.evidence,
        )
    console.print(table)
    if place.score is not None:
        console.print(f"limiting: {_limiting(place, tell)}", highlight=False)
    console.print(f"combined: {plain(place.judgement.in_words())}", highlight=False)
    for branch in place.judgement.branches:
        of = "" if branch is place.judgement.root else f" of {branch.name}"
        idle = "; the lowest value counts whatever they are" if branch.is_limiting else ""
        told = f"weights{of}: {branch.weights}{idle}"
        console.print(plain(told), highlight=False)
    console.print("\nWhere weights and curves come from:")
    for part in place.parts:
        _show_basis(console, tell, part.layer, part.basis, part.conflict)


def _show_basis(
    console: Console, tell: Quantities, name: str, basis: str, conflict: str | None
) -> None:
    """Show where a curve or a rule comes from, and where sources disagree."""
    named, rests_on = (plain(tell.retold(text)) for text in (name, basis))
    console.print(f"[bold]{named}[/bold]: {rests_on}", highlight=False)
    if conflict is not None:
        console.print(f"  sources conflict: {plain(tell.retold(conflict))}", highlight=False)


def _number(value: float, form: str) -> str:
    """Return a number as it is read; a dash where there is none."""
    return "–" if math.isnan(value) else f"{value:{form}}"


def _limiting(place: Place, tell: Quantities) -> str:
    """Return what holds a score down most, and what would lift it."""
    limit = place.limiting
    if limit is None:
        return "none, every value is at its best"
    if limit.better_at is None:
        return f"[bold]{limit.layer}[/bold]; its curve gives no more"
    best = tell.of(limit.better_at, limit.unit)
    change = f"at {best} the score would gain {limit.lift:.3f}"
    return f"[bold]{limit.layer}[/bold]; {change}"
