"""Every odd form of input is read as what it is, or refused in words."""

from __future__ import annotations

from pathlib import Path

import pytest
from command import succeeded
from hard_inputs import HARD, Hard, become, made
from hard_land import HOME, faults
from paper import texts_on

from suitability.finished import FinishedRun
from suitability.mapping import map_of
from suitability.outputs.figure import composed
from suitability.outputs.figure_parts import own_style


@pytest.mark.parametrize("case", HARD, ids=[case.name for case in HARD])
def test_an_odd_input_is_read_or_refused(case: Hard, tmp_path: Path) -> None:
    what, words = become(case, tmp_path / "land")
    assert what == ("refused" if case.becomes == "refused" else "handled"), words


def test_the_formula_tells_other_land(tmp_path: Path) -> None:
    """What is read is held against something that sees faults."""
    import numpy as np
    from gathered import gathered

    from suitability.config import load_run

    become(HARD[0], tmp_path)
    found = gathered(load_run(tmp_path / "run.yaml"))
    assert faults(HOME, found) == []
    found.rasters.ground[:] = np.roll(found.rasters.ground, 2, axis=0)
    found.rasters.canopy[:] = np.roll(found.rasters.canopy, 8, axis=1)
    assert len(faults(HOME, found)) == 2


def test_doubts_that_change_the_reading_stand_on_screen_in_the_record_and_on_the_map(
    tmp_path: Path,
) -> None:
    """Trees that stand in the elevation as well, told before what matters less."""
    (case,) = (case for case in HARD if case.name == "an elevation that holds the canopy")
    words = "it seems to be the surface of trees, not bare ground"
    run_file = made(case, tmp_path)
    printed = " ".join(succeeded("screen", run_file, "--out", tmp_path / "out").split())
    assert words in printed
    finished = FinishedRun.of(tmp_path / "out")
    assert words in finished.record["warnings"][0]
    with own_style():
        page = composed(map_of(finished))
        shown = " ".join(" ".join(text.split()) for text, *_ in texts_on(page))
    assert words in shown
