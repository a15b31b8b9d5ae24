"""Cut and damage files of every kind at random, and count what becomes of reading them.

python tests/benchmarks/fuzz_files.py --cases 2000
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from fuzzed_files import GOOD, KINDS, make, outcomes


def main() -> None:
    """Print counts for each kind of file; what must not be is told with its case."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=2000, help="of each kind")
    parser.add_argument("--first", type=int, default=0, help="number of the first case")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kinds", nargs="*", choices=[*KINDS], default=[*KINDS])
    chosen = parser.parse_args()
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        land = make(Path(folder))
        for kind in chosen.kinds:
            started, counts, told = time.perf_counter(), Counter[str](), set()
            cases = range(chosen.first, chosen.first + chosen.cases)
            for outcome in outcomes(kind, cases, chosen.seed, land):
                counts[outcome["is"]] += 1
                what = outcome["is"], outcome.get("told", "")[-200:]
                if outcome["is"] not in GOOD and what not in told:
                    told.add(what)
                    print(f"  {kind}, case {outcome['case']} ({outcome['by']} of "
                          f"{outcome['of']}): {': '.join(what)}", flush=True)  # fmt: skip
            spent = time.perf_counter() - started
            counted = ", ".join(f"{count} {name}" for name, count in counts.most_common())
            print(f"{kind:12} {spent:5.0f} s  {counted}", flush=True)
            bad += sum(count for name, count in counts.items() if name not in GOOD)
    print(f"{bad} of what must not be")
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
