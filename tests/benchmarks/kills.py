"""Kill a run at many random moments, start it again, and compare what it ends with.

python tests/benchmarks/kills.py --kills 20
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import small_land
from killed_runs import Kills, contents, finish


def main() -> None:
    """Print when runs were killed, and whether the last one found what an undisturbed one does."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--side", type=int, default=32, help="cells along a tile")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        top = Path(folder)
        run_file = small_land.write_land(top / "land")
        finish(run_file, top / "whole", chosen.side)
        expected = contents(top / "whole")
        started = time.perf_counter()
        kills = Kills(run_file, top / "out", chosen.side, expected, chosen.seed)
        kills.kill(chosen.kills)
        finish(run_file, top / "out", chosen.side)
        same = contents(top / "out") == expected
        tiles = expected["run.json"]["tiles"]
        print(f"{chosen.kills} kills in {time.perf_counter() - started:.0f} s")
        print(f"tiles of {tiles} finished at each kill: {kills.finished_before}")
        print(f"{kills.kept} times a finished tile was found again, none was measured twice")
        print("the same bytes as undisturbed" if same else "OTHER BYTES than undisturbed")
    sys.exit(0 if same else 1)


if __name__ == "__main__":
    main()
