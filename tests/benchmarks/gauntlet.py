"""Screen land in every odd form, damage files at random, and count what becomes of them.

python tests/benchmarks/gauntlet.py                     # hard inputs, 2,000 cases of each fuzz
python tests/benchmarks/gauntlet.py --only inputs       # the hard inputs alone, each screened
python tests/benchmarks/gauntlet.py --only geotiff record --cases 200 --seed 7
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS), str(TESTS / "property")]

from fuzzed_files import GOOD, KINDS, make, outcomes  # noqa: E402
from hard_inputs import HARD, become, screened  # noqa: E402

INPUTS, RUN_FILES = "inputs", "run files from the schema"


def main() -> None:
    """Print counts of each part; what must not be is told with its case. Ends with 1 if any is."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parts = [INPUTS, RUN_FILES, *KINDS]
    parser.add_argument("--only", nargs="*", choices=parts, default=parts, metavar="PART",
                        help=", ".join(parts))  # fmt: skip
    parser.add_argument("--cases", type=int, default=2000, help="of each kind of damage")
    parser.add_argument("--first", type=int, default=0, help="number of the first case")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        if INPUTS in chosen.only:
            bad += counted(INPUTS, hard_inputs(Path(folder) / "hard"), ("handled", "refused"))
        if RUN_FILES in chosen.only:
            bad += counted(RUN_FILES, run_files(chosen.cases, chosen.seed), ("read", "refused"))
        kinds = [kind for kind in KINDS if kind in chosen.only]
        land = make(Path(folder)) if kinds else None
        for kind in kinds:
            cases = range(chosen.first, chosen.first + chosen.cases)
            bad += counted(kind, damaged(kind, cases, chosen.seed, land), GOOD)
    print(f"{bad} of what must not be")
    sys.exit(1 if bad else 0)


def counted(part: str, told: Iterator[tuple[str, str, str]], good: tuple[str, ...]) -> int:
    """Print a part's counts, and each kind of fault once; return how many faults there are."""
    started, counts, said = time.perf_counter(), Counter[str](), set()
    for what, case, words in told:
        counts[what] += 1
        if what not in good and (what, words[-200:]) not in said:
            said.add((what, words[-200:]))
            print(f"  {part}, {case}: {what}, {words}", flush=True)
    spent = time.perf_counter() - started
    each = ", ".join(f"{count} {name}" for name, count in counts.most_common())
    print(f"{part:26} {spent:5.0f} s  {sum(counts.values())} tried: {each}", flush=True)
    return sum(count for name, count in counts.items() if name not in good)


def hard_inputs(folder: Path) -> Iterator[tuple[str, str, str]]:
    """Yield what became of each hard input: read, held against the formula, and screened."""
    for number, case in enumerate(HARD):
        what, words = become(case, folder / str(number))
        if what in ("handled", "refused"):
            what, words = screened(case, folder / str(number))
        yield what, case.name, words


def run_files(cases: int, seed: int) -> Iterator[tuple[str, str, str]]:
    """Yield what became of run files that the JSON Schema allows, more or less."""
    from hypothesis import HealthCheck, Phase, given, settings
    from hypothesis import seed as seeded
    from test_config_from_schema import SCHEMA, loads_or_is_told, values_of

    found: list[tuple[str, str, str]] = []

    def note(values: dict) -> None:
        try:
            what, words = ("read" if loads_or_is_told(values) else "refused"), ""
        except Exception as exc:
            what, words = type(exc).__name__, str(exc)[:300]
        found.append((what, f"case {len(found)}", words))

    draw = settings(
        max_examples=cases, deadline=None, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    seeded(seed)(draw(given(values_of(SCHEMA))(note)))()
    yield from found


def damaged(kind: str, cases: range, seed: int, land: Path) -> Iterator[tuple[str, str, str]]:
    """Yield what became of each damaged file."""
    for each in outcomes(kind, cases, seed, land):
        case = f"case {each['case']} ({each['by']} of {each['of']})"
        yield each["is"], case, each.get("told", "")


if __name__ == "__main__":
    main()
