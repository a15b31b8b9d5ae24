"""Break a room's code in many small ways, one at a time, and count how many its tests notice.

pip install -e '.[test,proof]'
python tests/benchmarks/mutants.py sun --sample 200
python tests/benchmarks/mutants.py decide                 # all of them: an hour or more

Works on a copy of what git knows; `--folder` keeps it, so that a second run goes on there and
`mutmut show NAME` tells what was changed. Compiled loops are not changed: they are in `kernels/`.
A change that no test reaches counts as unnoticed, one that hangs as noticed.
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

from statsmodels.stats.proportion import proportion_confint

ROOT = Path(__file__).parents[2]

# The quick tests that touch a room.
TESTS = {
    "sun": [
        "tests/unit/sun",
        "tests/property/test_sweep_properties.py",
        "tests/reference/test_shadow_scenes.py",
        "tests/reference/test_spa_worked_example.py",
        "tests/reference/test_sunshine_duration.py",
        "tests/reference/test_convergence.py",
        "tests/reference/test_horn_window.py",
    ],
    "decide": [
        "tests/unit/decide",
        "tests/property/test_combinations.py",
        "tests/property/test_judgement.py",
        "tests/property/test_robustness.py",
        "tests/property/test_sites_by_windows.py",
        "tests/property/test_groups_by_windows.py",
        "tests/reference/test_weighted_mean.py",
        "tests/reference/test_pairwise_comparisons.py",
        "tests/reference/test_ordered_weighted_mean.py",
        "tests/reference/test_dirichlet_weights.py",
        "tests/reference/test_rank_acceptability.py",
        "tests/reference/test_correlation.py",
        "tests/reference/test_value_function_shapes.py",
        "tests/reference/test_independent_sets.py",
        "tests/reference/test_rank_order_centroid.py",
    ],
}
# Ten seconds and more each, and what they see quicker ones see as well.
SLOW = "not (a_far_ridge and (1.0 or 2.0 or 5.0)) and not xarray"
# As mutmut ends: tests failed, or the change broke or hung the process; 0 and 33 (no test) are not.
UNNOTICED, NOT_RUN = {0: "survived", 33: "no test"}, None


def write_copy(folder: Path, room: str) -> None:
    """Copy what git knows, with mutmut's settings for a room."""
    known = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True, encoding="utf-8"
    )
    for name in filter(None, known.stdout.split("\0")):
        source, target = ROOT / name, folder / name
        if source.is_file():
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(source, target)
    settings = {
        "source_paths": ["suitability"],
        "only_mutate": [f"suitability/{room}/*"],
        "also_copy": ["configs", "sample_area", ".ci", "README.md"],
        "pytest_add_cli_args": ["-n", "0", "-x", "-k", SLOW],
        "pytest_add_cli_args_test_selection": TESTS[room],
        "process_isolation": "forkserver",  # forks of a process that ran parallel loops hang
        "timeout_multiplier": 8.0,
        "timeout_constant": 15.0,
    }
    lines = [f"{key} = {json.dumps(value)}" for key, value in settings.items()]
    with (folder / "pyproject.toml").open("a", encoding="utf-8") as project:
        project.write("\n[tool.mutmut]\n" + "\n".join(lines) + "\n")


def mutmut(folder: Path, *names: str) -> int:
    """Run mutmut on the mutants named, on all where none is; return how it ended."""
    command = [str(Path(sys.executable).parent / "mutmut"), "run", "--max-children", "1", *names]
    with (folder / "mutmut.log").open("ab") as log:
        return subprocess.run(command, cwd=folder, stdout=log, stderr=log, check=False).returncode


def endings(folder: Path, room: str) -> dict[str, int | None]:
    """Return by the name of each mutant how its tests ended."""
    found: dict[str, int | None] = {}
    for path in sorted((folder / "mutants" / "suitability" / room).glob("*.meta")):
        found |= json.loads(path.read_text("utf-8"))["exit_code_by_key"]
    return found


def main() -> None:
    """Print how many were noticed, with a 95 % interval where it was a sample, and the others."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("room", choices=list(TESTS))
    parser.add_argument("--sample", type=int, help="how many to draw; else all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--folder", type=Path, help="where to work, and leave it")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = chosen.folder or Path(scratch)
        if not (folder / "mutants").exists():
            write_copy(folder, chosen.room)
            mutmut(folder, "no.such.name")  # makes the mutants, and learns which tests reach which
        names = sorted(endings(folder, chosen.room))
        drawn = names
        if chosen.sample and chosen.sample < len(names):
            drawn = random.Random(chosen.seed).sample(names, chosen.sample)
        ended = mutmut(folder, *(drawn if len(drawn) < len(names) else ()))
        told = {name: endings(folder, chosen.room)[name] for name in drawn}
    run = {name: code for name, code in told.items() if code is not NOT_RUN}
    noticed = [name for name, code in run.items() if code not in UNNOTICED]
    for name in sorted(run.keys() - set(noticed)):
        print(f"{UNNOTICED[run[name]]:9} {name}")
    for module, count in sorted(Counter(name.split(".")[2] for name in run).items()):
        of_it = sum(name.split(".")[2] == module for name in noticed)
        print(f"{module:24} {of_it:4} of {count:4} noticed")
    low, high = proportion_confint(len(noticed), max(len(run), 1), method="wilson")
    what = f"{len(noticed)} of {len(run)} noticed ({len(noticed) / max(len(run), 1):.1%})"
    print(f"{chosen.room}: {what}; {len(names)} in all, 95 % by Wilson {low:.1%} to {high:.1%}")
    if ended or len(run) < len(drawn):
        print(f"mutmut ended with {ended}; {len(drawn) - len(run)} of those drawn were not run")
        sys.exit(1)


if __name__ == "__main__":
    main()
