"""`suitability explain`: why a place has its score, or why it is out."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from suitability.commands.console import open_console, plain

if TYPE_CHECKING:
    from rich.console import Console

    from suitability.explain import Place


def show_place(place: Place) -> None:
    """Print why a place has its score, or why it is out."""
    from rich.table import Table

    from suitability.config.units import shown_unit

    console = open_console()
    console.print(f"latitude {place.lat:.6f}, longitude {place.lon:.6f}", highlight=False)
    if place.on_wall is not None:
        told = f"{place.on_wall} (true); direct sun is that on its face"
        console.print(plain(told), highlight=False)
    if place.score is None:
        console.print("[bold]no candidate:[/bold]", "; ".join(r.words for r in place.reasons))
        for reason in place.reasons:
            if (rule := place.rules.get(reason.key)) is not None:
                setting = "always" if rule.is_always else f"{rule.key} {rule.shown}"
                named = f"{reason.words} ({setting}; {rule.evidence})"
                _show_basis(console, named, rule.basis, rule.conflict)
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
        unit = shown_unit(part.unit)
        table.add_row(
            part.layer,
            _number(part.raw, f".2f {unit}"),
            _number(part.value, ".2f"),
            f"{part.share:.0%}",
            *(_number(change, ".3f") for change in changes),
            "" if part.better_at is None else f"{part.better_at:.4g} {unit}".rstrip(),
            part.evidence,
        )
    console.print(table)
    if place.score is not None:
        console.print(f"limiting: {_limiting(place)}", highlight=False)
    console.print(f"combined: {plain(place.judgement.in_words())}", highlight=False)
    for branch in place.judgement.branches:
        of = "" if branch is place.judgement.root else f" of {branch.name}"
        idle = "; the lowest value counts whatever they are" if branch.is_limiting else ""
        told = f"weights{of}: {branch.weights}{idle}"
        console.print(plain(told), highlight=False)
    console.print("\nWhere weights and curves come from:")
    for part in place.parts:
        _show_basis(console, part.layer, part.basis, part.conflict)


def _show_basis(console: Console, name: str, basis: str, conflict: str | None) -> None:
    """Show where a curve or a rule comes from, and where sources disagree."""
    console.print(f"[bold]{plain(name)}[/bold]: {plain(basis)}", highlight=False)
    if conflict is not None:
        console.print(f"  sources conflict: {plain(conflict)}", highlight=False)


def _number(value: float, form: str) -> str:
    """Return a measure as it is read; a dash where there is none."""
    digits, _, unit = form.partition(" ")
    return "–" if math.isnan(value) else f"{value:{digits}} {unit}".rstrip()


def _limiting(place: Place) -> str:
    """Return what holds a score down most, and what would lift it."""
    limit = place.limiting
    if limit is None:
        return "none, every value is at its best"
    if limit.better_at is None:
        return f"[bold]{limit.layer}[/bold]; its curve gives no more"
    from suitability.config.units import shown_unit

    best = f"{limit.better_at:.4g} {shown_unit(limit.unit)}".rstrip()
    change = f"at {best} the score would gain {limit.lift:.3f}"
    return f"[bold]{limit.layer}[/bold]; {change}"
