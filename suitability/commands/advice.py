"""What `suitability explain RUN --site N` says of the box: advice, reasons, sky, cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from suitability.commands.console import open_console, plain

if TYPE_CHECKING:
    from rich.console import Console

    from suitability.finished import FinishedRun
    from suitability.outputs.cautions import SiteCaution


def show_advice(run: FinishedRun, rank: int) -> None:
    """Print what to put up and to heed at a site, and draw its sky into the run's folder."""
    from suitability.sky import draw_site_sky

    console = open_console()
    advice = run.advice(rank)
    if advice is None:
        console.print("what to put up: in sites.csv; of so many sites no reasons are kept")
    else:
        _show_points(console, advice)
        console.print(f"sky: {plain(str(draw_site_sky(run.folder, rank)))}", highlight=False)
    _show_cautions(console, run.cautions(rank))


def _show_points(console: Console, advice: dict[str, Any]) -> None:
    console.print("\n[bold]what to put up[/bold]")
    for warning in advice["warnings"]:
        console.print(f"[bold]warning:[/bold] {plain(warning)}", highlight=False)
    for point in advice["points"]:
        _show_point(console, point)
    if advice["facing"] is not None:
        console.print(f"[bold]by compass[/bold]: {plain(_compass(advice))}", highlight=False)
    for sentence in advice["timing"]["in_words"]:
        console.print(f"[bold]when[/bold]: {plain(sentence)}", highlight=False)
    for ground in _different(advice["timing"]["grounds"]):
        console.print(f"  {plain(_ground(ground))}", highlight=False)


def _show_cautions(console: Console, cautions: tuple[SiteCaution, ...]) -> None:
    """Print in full what applies at this very site, and in a few words what holds everywhere."""
    console.print("\n[bold]what to heed[/bold]")
    for caution in cautions:
        if caution.applies_here:
            told = f"[bold]{plain(caution.reasons)}[/bold] {plain(caution.text)}"
            console.print(f"- {told} Last word: {plain(caution.defer_to)}.", highlight=False)
    console.print("as everywhere, in full in run.json:")
    for caution in cautions:
        if not caution.applies_here:
            told = f"{caution.title}. Last word: {caution.defer_to}"
            console.print(f"- {plain(told)}", highlight=False)


def _show_point(console: Console, point: dict[str, Any]) -> None:
    second = "" if point["second"] is None else f"; else: {point['second']}"
    said = f"[bold]{plain(point['topic'])}[/bold]: {plain(point['choice'] + second)}"
    console.print(said, highlight=False)
    console.print(f"  why: {plain(point['why'])}", highlight=False)
    console.print(f"  {plain(_ground(point['ground']))}", highlight=False)
    if point["ground"]["conflict"] is not None:
        console.print(f"  sources conflict: {plain(point['ground']['conflict'])}", highlight=False)


def _ground(ground: dict[str, Any]) -> str:
    return f"{ground['basis']} ({ground['evidence']})"


def _different(grounds: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [ground for at, ground in enumerate(grounds) if ground not in grounds[:at]]


def _compass(advice: dict[str, Any]) -> str:
    facing = advice["facing"]
    norths = f"{facing['true_deg']:.0f}° true, {facing['grid_deg']:.0f}° grid"
    if facing["magnetic_deg"] is None:
        return f"{norths}; {advice['declination']}"
    needle = f"the needle points {advice['declination']}"
    return f"{facing['magnetic_deg'] % 360:.0f}° magnetic, {norths}; {needle}"
