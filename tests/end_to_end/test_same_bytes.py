"""A run's files are the same bytes whatever thread, locale, time zone or seed it is run with."""

import pytest
import small_land
from circumstances import CIRCUMSTANCES, Circumstance, compared, screened


@pytest.fixture(scope="module")
def first(tmp_path_factory):
    """Screen the small land as this machine is; return its run file and the run's folder."""
    top = tmp_path_factory.mktemp("same_bytes")
    run_file = small_land.write_land(top / "land")
    return run_file, screened(run_file, top / "first")


def test_one_process_in_another_world_writes_the_same_bytes(first, tmp_path, monkeypatch):
    run_file, expected = first
    changed: dict[str, str] = {}
    for name in ("one thread", "another hash seed", "a day ahead", "ASCII"):
        changed |= CIRCUMSTANCES[name].variables
    monkeypatch.setitem(CIRCUMSTANCES, "all at once", Circumstance(changed))
    differing = compared(expected, screened(run_file, tmp_path / "other", "all at once"))
    assert len(differing) > 20
    assert [name for name, differs in differing.items() if differs] == []


def test_files_that_differ_are_told(first, tmp_path):
    run_file, expected = first
    text = run_file.read_text("utf-8").replace("count: 5", "count: 4")
    (run_file.parent / "fewer.yaml").write_text(text, "utf-8")
    fewer = screened(run_file.parent / "fewer.yaml", tmp_path / "fewer")
    differing = compared(expected, fewer)
    assert differing["sites.csv"]
    assert differing["run.json"]
    assert not differing["candidates.tif"]
