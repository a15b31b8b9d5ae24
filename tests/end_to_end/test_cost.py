"""What a run will take is told before it, and whether coarser cells would do."""

from __future__ import annotations

from pathlib import Path

import command
import numpy as np
import pytest
import small_land

from suitability.ahead import look_ahead
from suitability.config import load_run
from suitability.cost import coarser_would_do, estimate, in_words
from suitability.plan import tile_bytes


def plan_of(run_file: Path, folder: Path, memory: float = 4e9):
    run = load_run(run_file)
    return look_ahead(run, folder, memory=memory, workers=1, alone=True).plan


def test_the_estimate_counts_the_run_and_leaves_nothing_behind(tmp_path: Path) -> None:
    run_file = small_land.write_land(tmp_path / "land")
    plan = plan_of(run_file, tmp_path / "out")
    cost = estimate(plan)
    assert cost.cells == small_land.ROWS * small_land.COLS
    assert cost.positions == len(plan.sun) > 0
    assert cost.tiles == 1
    assert 0 < cost.seconds < 600
    assert cost.memory >= tile_bytes(plan.grid, plan.side, plan.near_cells, 0)
    # At least what the parts of the layers take, four bytes a cell.
    assert cost.disk >= 4 * cost.cells * 10
    assert cost.disk_free > 0
    assert not (tmp_path / "out").exists()


def test_more_positions_of_the_sun_and_more_cells_cost_more(tmp_path: Path) -> None:
    few = small_land.write_land(tmp_path / "few")
    text = small_land.RUN.replace("step: 60 min, every_days: 30", "step: 1 min, every_days: 1")
    fine = text + "grid: {cell: 0.5 m}\n"
    many = small_land.write_land(tmp_path / "many", fine)
    costs = [estimate(plan_of(run_file, tmp_path / "out")) for run_file in (few, many)]
    assert costs[1].cells == 100 * costs[0].cells
    assert costs[1].positions > 100 * costs[0].positions
    assert costs[1].seconds > costs[0].seconds
    assert costs[1].disk == pytest.approx(100 * costs[0].disk)


def test_the_words_name_cells_time_memory_and_disk(tmp_path: Path) -> None:
    run_file = small_land.write_land(tmp_path / "land")
    told = "\n".join(in_words(estimate(plan_of(run_file, tmp_path / "out"))))
    for word in ("million cells", "sun positions", "1 tile", "time about", "memory", "disk"):
        assert word in told


def test_cells_finer_than_every_input_are_told(tmp_path: Path) -> None:
    fine = small_land.write_land(tmp_path / "fine", small_land.RUN + "grid: {cell: 1 m}\n")
    plan = plan_of(fine, tmp_path / "out")
    hint = coarser_would_do(plan.run, plan.grid)
    assert hint is not None
    assert "grid.cell 5 m" in hint
    assert "4%" in hint


def test_a_fine_canopy_is_worth_fine_cells(tmp_path: Path) -> None:
    text = small_land.RUN.replace("inputs:", "inputs:\n  canopy_height: canopy.tif")
    run_file = small_land.write_land(tmp_path / "land", text + "grid: {cell: 1 m}\n")
    canopy = np.zeros((small_land.ROWS * 5, small_land.COLS * 5), np.float32)
    corner = small_land.corner(cell=1.0)
    small_land.write_raster(tmp_path / "land" / "canopy.tif", canopy, transform=corner)
    plan = plan_of(run_file, tmp_path / "out")
    assert coarser_would_do(plan.run, plan.grid) is None


def test_the_command_shows_the_cost(tmp_path: Path) -> None:
    run_file = small_land.write_land(tmp_path / "land")
    told = command.succeeded("check", run_file, "--cost", cwd=tmp_path)
    assert "time about" in told
    assert not (tmp_path / "runs").exists()
