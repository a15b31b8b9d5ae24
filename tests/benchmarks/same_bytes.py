"""Screen one piece of land in many circumstances, and count the files that come out the same.

python tests/benchmarks/same_bytes.py
python tests/benchmarks/same_bytes.py --land sample     # the sample area: ten times as long

Of `run.json` all is compared but when it was written, how long it took and where; of a run in
tiles, not the number of tiles either. Ends with 1 where anything differs.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import small_land
from circumstances import CIRCUMSTANCES, compared, has_locale, screened

SAMPLE = Path(__file__).parents[2] / "configs" / "sample_area.yaml"


def main() -> None:
    """Print a line for each circumstance: files compared, files that are the same, which not."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--land", choices=["small", "sample"], default="small")
    parser.add_argument("--only", nargs="*", choices=list(CIRCUMSTANCES), help="some of them")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        top = Path(folder)
        small = chosen.land == "small"
        run_file = small_land.write_land(top / "land") if small else SAMPLE
        first = screened(run_file, top / "first")
        counted = same = 0
        for name in chosen.only or CIRCUMSTANCES:
            if not has_locale(name):
                print(f"{name:24} not looked at: this machine lacks the locale")
                continue
            if CIRCUMSTANCES[name].side and not small:
                continue  # the bytes of one tile are promised where each tile sees all the land
            other = screened(run_file, top / "other" / name.replace(" ", "_"), name)
            differing = compared(first, other)
            files = len(differing)
            alike = [file for file, differs in differing.items() if not differs]
            counted, same = counted + files, same + len(alike)
            unlike = sorted(set(differing) - set(alike))
            print(f"{name:24} {len(alike):3} of {files} the same  {' '.join(unlike)}", flush=True)
    print(f"{'together':24} {same:3} of {counted} the same")
    sys.exit(0 if same == counted else 1)


if __name__ == "__main__":
    main()
