"""Whether enough lines and branches were run: `coverage json -o FILE`, then this with FILE.

python .ci/covered.py coverage.json
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

LEAST = {"lines": 0.92, "branches": 0.85}


def shares(totals: dict[str, float]) -> dict[str, float]:
    """Return the shares of lines and of branches that ran, of what coverage.py counted."""
    return {
        "lines": totals["covered_lines"] / totals["num_statements"],
        "branches": totals["covered_branches"] / totals["num_branches"],
    }


def main() -> int:
    """Print both shares and the rooms that fall short; return 1 where the whole does."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("file", type=Path)
    found = json.loads(parser.parse_args().file.read_text("utf-8"))
    rooms: dict[str, dict[str, float]] = {}
    for path, entry in found["files"].items():
        parts = Path(path).parts
        room = rooms.setdefault(parts[parts.index("suitability") + 1], {})
        for key, count in entry["summary"].items():
            if isinstance(count, int):
                room[key] = room.get(key, 0) + count
    for name, totals in sorted(rooms.items()):
        if totals["num_statements"] and totals["num_branches"]:
            each = shares(totals)
            if any(each[key] < LEAST[key] for key in LEAST):
                print(f"{name:24} lines {each['lines']:6.1%}, branches {each['branches']:6.1%}")
    whole = shares(found["totals"])
    for key, least in LEAST.items():
        print(f"{key}: {whole[key]:.1%} ran, at least {least:.0%} must")
    return int(any(whole[key] < least for key, least in LEAST.items()))


if __name__ == "__main__":
    sys.exit(main())
