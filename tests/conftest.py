"""What the tests share: small files written on the spot, and data that ships in packages."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import filelock
import geopandas
import numpy as np
import pyproj
import pytest
import rasterio
from affine import Affine
from command import succeeded

SAMPLE_CONFIG = Path(__file__).parents[1] / "configs" / "sample_area.yaml"
UTM = "EPSG:32616"  # UTM zone 16 north: Indiana, Wisconsin


@pytest.fixture
def write_raster(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that writes an array as a GeoTIFF, north-up from (west, north)."""

    def write(
        values: Any,
        name: str = "raster.tif",
        *,
        crs: Any = UTM,
        west: float = 500_000.0,
        north: float = 4_500_000.0,
        cell: float = 10.0,
        transform: Affine | None = None,
        nodata: float | None = None,
        mask: Any = None,
        unit: str | None = None,
        scale: float = 1.0,
        offset: float = 0.0,
    ) -> Path:
        array = np.asarray(values)
        path = tmp_path / name
        turn = transform or Affine(cell, 0.0, west, 0.0, -cell, north)
        with (
            rasterio.Env(GDAL_TIFF_INTERNAL_MASK=True),
            rasterio.open(
                path,
                "w",
                driver="GTiff",
                height=array.shape[0],
                width=array.shape[1],
                count=1,
                dtype=array.dtype,
                crs=crs,
                transform=turn,
                nodata=nodata,
            ) as dataset,
        ):
            dataset.write(array, 1)
            if unit is not None:
                dataset.units = [unit]
            if (scale, offset) != (1.0, 0.0):
                dataset.scales, dataset.offsets = [scale], [offset]
            if mask is not None:
                dataset.write_mask(np.asarray(mask, dtype=np.uint8) * 255)
        return path

    return write


@pytest.fixture
def write_vector(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that writes geometries and columns as a layer of a GeoPackage."""

    def write(
        geometries: list[Any],
        name: str = "features.gpkg",
        /,
        *,
        crs: Any = UTM,
        layer: str | None = None,
        **columns: list[Any],
    ) -> Path:
        path = tmp_path / name
        frame = geopandas.GeoDataFrame(columns, geometry=geometries, crs=crs and pyproj.CRS(crs))
        frame.to_file(path, **({"layer": layer} if layer else {}))
        return path

    return write


@pytest.fixture(scope="session")
def sample_run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a finished run of the sample area, for reading only.

    All test processes share it: the first that asks screens.
    """
    base = tmp_path_factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    folder = shared / "sample_run"
    with filelock.FileLock(shared / "sample_run.lock"):
        if not (folder / "run.json").exists():
            succeeded("screen", SAMPLE_CONFIG, "--out", folder)
    return folder


@pytest.fixture(scope="session")
def registry_package() -> Callable[..., Path]:
    """Return a function that gives the folder of an unpacked package, fetched once."""

    faults: dict[str, str] = {}  # one try a session

    def unpacked(name: str, version: str, *, sdist: bool = False) -> Path:
        wanted = f"{name}-{version}"
        folder = _cache() / wanted
        if not folder.is_dir() and wanted not in faults:
            _cache().mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryDirectory(dir=_cache()) as scratch:
                content = Path(scratch) / "content"
                content.mkdir()
                fault = (_fetch_sdist if sdist else _fetch_wheel)(f"{name}=={version}", content)
                if fault:
                    faults[wanted] = fault
                else:
                    content.rename(folder)
        if wanted in faults:
            _do_without(f"{name} {version} cannot be fetched: {faults[wanted]}")
        return folder

    return unpacked


@pytest.fixture(scope="session")
def system_program() -> Callable[[str], str]:
    """Return a function that gives the path of a program that no Python package brings."""

    def found(name: str) -> str:
        path = shutil.which(name)
        if path is None:
            _do_without(f"{name} is not installed; .ci/run says how")
        return str(path)

    return found


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """Yield the address of a PostgreSQL server with PostGIS, with {} for the database's name."""
    from postgres import postgres_server, server_programs

    programs, reason = server_programs()
    if programs is None:
        _do_without(reason)
    with postgres_server(programs) as address:
        yield address


@pytest.fixture(params=["geopackage", "postgis"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Return where to begin a register: a file, then a place of its own in the server."""
    if request.param == "geopackage":
        return str(tmp_path / "register.gpkg")
    from postgres import new_schema

    return new_schema(request.getfixturevalue("postgres"))


@pytest.fixture(scope="session")
def richdem() -> Any:
    """Return the RichDEM library, where it is installed."""
    try:
        import richdem as library
    except Exception as fault:  # an import error, or whatever a wrong numpy makes of it
        reason = f"RichDEM cannot be used here: {fault}"
        if os.environ.get("SUITABILITY_RICHDEM") == "1":
            pytest.fail(reason)
        pytest.skip(reason)
    return library


def _cache() -> Path:
    stated = os.environ.get("SUITABILITY_TEST_CACHE")
    caches = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return Path(stated) if stated else caches / "suitability-tests"


def _fetch_wheel(requirement: str, folder: Path) -> str:
    # Into a folder of its own: some wheels drop `demos` or `tests` beside their package.
    return _pip("install", "--no-deps", "--no-compile", "--target", str(folder), requirement)


def _fetch_sdist(requirement: str, folder: Path) -> str:
    # Its own source alone: what pip builds it with to learn its name may come as wheels.
    name = requirement.partition("==")[0]
    fault = _pip("download", "--no-deps", "--no-binary", name, "--dest", str(folder), requirement)
    for archive in folder.glob("*.tar.gz"):
        with tarfile.open(archive) as packed:
            packed.extractall(folder, filter="data")
        archive.unlink()
    return fault


def _pip(*arguments: str) -> str:
    """Run pip, and return why it failed, or nothing."""
    command = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check", *arguments]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=900, check=False)
    lines = ended.stderr.strip().splitlines() or [f"pip ended with {ended.returncode}"]
    return lines[-1] if ended.returncode else ""


def _do_without(reason: str) -> None:
    if os.environ.get("SUITABILITY_NO_SKIP") == "1":
        pytest.fail(reason)
    pytest.skip(reason)
