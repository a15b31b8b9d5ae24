"""A run that is killed, not gently, loses what it was at and nothing else."""

import os

import pytest
import small_land
from killed_runs import Kills, contents, finish

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills as POSIX systems do")

SIDE = 32  # 2 x 3 tiles


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory):
    """Run on the small land undisturbed; return the run file and what was found."""
    top = tmp_path_factory.mktemp("undisturbed")
    run_file = small_land.write_land(top / "land")
    finish(run_file, top / "out", SIDE)
    return run_file, contents(top / "out")


def test_killed_at_any_moment_it_ends_as_if_it_had_not_been(undisturbed, tmp_path):
    run_file, expected = undisturbed
    kills = Kills(run_file, tmp_path / "out", SIDE, expected, seed=20)
    kills.kill(8)
    finish(run_file, tmp_path / "out", SIDE)
    assert contents(tmp_path / "out") == expected
    # Some came amid the tiles, and what was finished by then was not done again.
    assert any(0 < finished < 6 for finished in kills.finished_before), kills.finished_before
    assert kills.kept > 0
