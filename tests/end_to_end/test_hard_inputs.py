"""Every odd form of input is read as what it is, or refused in words."""

from __future__ import annotations

from pathlib import Path

import pytest
from hard_inputs import HARD, Hard, become
from hard_land import HOME, faults


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
