"""Paths as Windows has them: what a path is, what it counts from, and what files may be called."""

from __future__ import annotations

import json
import ntpath
import sys
from pathlib import Path, PureWindowsPath
from types import SimpleNamespace

import pytest

from suitability.config import paths


@pytest.mark.parametrize(
    "text",
    [r"C:\data\dem.tif", "C:/data/dem.tif", "d:dem.tif", r"\\server\share\dem.tif", r"..\dem.tif",
     r"C:\Users\Jürgen Müller\größe.tif", "dem.tif"],
)  # fmt: skip
def test_a_drive_is_no_driver(text: str) -> None:
    assert paths.is_local(text)


@pytest.mark.parametrize(
    "text", ["GPKG:dem.gpkg:heights", "NETCDF:a.nc:z", "/vsizip/a.zip/dem.tif", "https://x.org/a"]
)
def test_a_driver_is_no_drive(text: str) -> None:
    assert not paths.is_local(text)


class AsOnWindows(PureWindowsPath):
    """A path of Windows; no folder of home is looked up."""

    def expanduser(self) -> AsOnWindows:
        return self


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ("dem.tif", r"C:\runs\north\dem.tif"),
        ("../water/streams.gpkg", r"C:\runs\water\streams.gpkg"),
        (r"..\water\streams.gpkg", r"C:\runs\water\streams.gpkg"),
        (r"D:\data\dem.tif", r"D:\data\dem.tif"),
        (r"\\server\share\dem.tif", r"\\server\share\dem.tif"),
        ("GPKG:dem.gpkg:heights", "GPKG:dem.gpkg:heights"),
    ],
)
def test_paths_count_from_the_run_file(
    monkeypatch: pytest.MonkeyPatch, text: str, seen: str
) -> None:
    # That system's own rules, from the standard library, in place of this one's.
    monkeypatch.setattr(paths, "os", SimpleNamespace(path=ntpath))
    monkeypatch.setattr(paths, "Path", AsOnWindows)
    assert paths.from_folder(text, AsOnWindows(r"C:\runs\north")) == seen


def is_reserved(path: PureWindowsPath) -> bool:
    """Ask the standard library, which from Python 3.13 on tells it elsewhere."""
    return ntpath.isreserved(path) if sys.version_info >= (3, 13) else path.is_reserved()


@pytest.mark.parametrize(("name", "expected"), [("nul.csv", True), ("null.csv", False)])
def test_windows_keeps_some_names_to_itself(name: str, expected: bool) -> None:
    assert is_reserved(PureWindowsPath(name)) == expected


def test_results_have_names_that_windows_takes(sample_run: Path) -> None:
    """No reserved name or sign, none that differs by capitals alone, none too long."""
    names = json.loads((sample_run / "run.json").read_text("utf-8"))["files"]
    assert len({name.lower() for name in names}) == len(names)
    for name in names:
        path = PureWindowsPath(name)
        assert not path.is_absolute()
        assert not is_reserved(path)
        assert not set('<>:"|?*\\') & set(name)
        assert all(part == part.rstrip(". ") for part in path.parts)
        assert len(name) < 60
