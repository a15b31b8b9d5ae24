"""A small sample of damaged files; `tests/benchmarks/gauntlet.py` does thousands by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from fuzzed_files import GOOD, KINDS, make, outcomes, tried

CASES = range(12)


@pytest.fixture(scope="module")
def land(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make(tmp_path_factory.mktemp("fuzzed"))


@pytest.mark.parametrize("kind", KINDS)
def test_a_damaged_file_is_read_right_or_refused_in_words(land: Path, kind: str) -> None:
    found = list(tried(kind, CASES, 2, land))
    assert [each["case"] for each in found] == [*CASES]
    assert [each for each in found if each["is"] not in GOOD] == []
    assert any(each["is"] == "refused" for each in found)


def test_a_worker_tells_what_this_process_would(land: Path) -> None:
    apart = list(outcomes("curve table", range(3), 2, land))
    here = list(tried("curve table", range(3), 2, land))
    assert [each["is"] for each in apart] == [each["is"] for each in here]
