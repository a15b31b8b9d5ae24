"""The numbers of a ranking's robustness as files: all of them as JSON, the places as a table."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from suitability.decide.robustness_land import BEST_SHARE
from suitability.outputs.atomic import write_text
from suitability.outputs.record import write_record
from suitability.outputs.robustness_files import FILES
from suitability.robustness.findings import Findings
from suitability.robustness.land import STABLE_SHARE


def write_table(path: Path, found: Findings) -> None:
    """Write a line for each place: where it is and how it ranks."""
    write_text(path, table_of(found).to_csv(index=False, lineterminator="\n"))


def write_numbers(path: Path, found: Findings) -> None:
    """Write everything but the table's places that are not listed."""
    write_record(path, record_of(found))


def table_of(found: Findings) -> pd.DataFrame:
    """Return the places, the listed sites first, with their ranks over the draws."""
    run, accepted = found.run, found.acceptability
    x, y = run.grid.xy(found.rows, found.cols)
    lon, lat = run.grid.lonlat(x, y)
    places = np.arange(found.rows.size)
    usual = [found.usual_ranks(place) for place in range(found.rows.size)]
    table: dict[str, Any] = {
        "place": places + 1,
        "listed": places < found.listed,
        "lon_deg": np.round(lon, 6),
        "lat_deg": np.round(lat, 6),
        "x_m": x,
        "y_m": y,
        "score": np.round(found.scores, 6),
        "none_better_share": accepted.none_better,
        "in_list_share": found.in_list,
        "equal_places": found.equals,
        "usual_rank_from": [low for low, _ in usual],
        "usual_rank_to": [high for _, high in usual],
        "confidence_share": found.confidence,
    }
    for k, name in enumerate(run.weighing.names):
        table[f"central_weight_{name}"] = np.round(accepted.central_weights[:, k], 6)
    for rank in range(found.listed):
        table[f"rank_{rank + 1}_share"] = accepted.ranks[:, rank]
    return pd.DataFrame(table)


def record_of(found: Findings) -> dict[str, Any]:
    """Return all numbers in plain form; what does not exist is null."""
    run, asked, stability = found.run, found.asked, found.stability
    return {
        "title": run.title,
        "weights_in_words": found.weights_in_words,
        "asked": {
            "concentration": asked.spread.concentration,
            "draws": asked.draws,
            "map_draws": asked.map_draws,
            "places": asked.places,
            "value_error": asked.value_error,
            "correlated_from": asked.correlated_from,
            "seed": asked.seed,
        },
        "weights": [
            {"name": name, "share": share, "typical_from": low, "typical_to": high}
            for name, share, (low, high) in zip(
                run.weighing.names, run.weighing.weights, found.typical, strict=True
            )
        ],
        "places": {"ranked": found.rows.size, "listed": found.listed},
        "sites": [_place(found, site) for site in range(found.listed)],
        "would_come_in": [_place(found, place) for place in found.rising[:10]],
        "swings": [_swing(found, at) for at in found.swings],
        "correlation": {
            "cells": found.sample.values.shape[0],
            "candidate_cells": found.sample.candidates,
            "criteria": list(run.weighing.layers),
            "spearman": found.spearman,
            "pearson": found.pearson,
        },
        "stability": {
            "best_share": BEST_SHARE,
            "stable_from_share": STABLE_SHARE,
            "draws": asked.map_draws,
            "candidate_cells": found.sample.candidates,
            "cells_for_the_limit": found.sample.values.shape[0],
            "stable_share": stability.stable,
            "always_in_share": stability.always_in,
            "always_out_share": stability.always_out,
            "mean_in_share": stability.mean_in,
        },
        "warnings": found.warnings,
        "files": FILES,
    }


def _place(found: Findings, place: int) -> dict[str, Any]:
    central = found.acceptability.central_weights[place]
    return {
        "place": place + 1,
        "none_better_share": found.acceptability.none_better[place],
        "in_list_share": found.in_list[place],
        "equal_places": found.equals[place],
        "usual_ranks": found.usual_ranks(place),
        "central_weights": None
        if math.isnan(central[0])
        else dict(zip(found.run.weighing.names, central, strict=True)),
        "confidence_share": found.confidence[place],
    }


def _swing(found: Findings, at: int) -> dict[str, Any]:
    swing = found.swings[at]
    return {
        "name": found.run.weighing.names[at],
        "share": swing.share,
        "best_stays": swing.best_stays,
        "list_stays": swing.list_stays,
        "kept_when_halved": swing.kept_at(swing.share / 2),
        "kept_when_doubled": swing.kept_at(min(1.0, swing.share * 2)),
    }
