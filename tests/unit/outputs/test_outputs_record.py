import hashlib
import json
import subprocess
from datetime import date
from enum import Enum
from pathlib import Path

import numpy as np
import pytest
import rasterio

from suitability.errors import InputError
from suitability.outputs.record import file_hash, versions, write_record


class Way(Enum):
    MEAN = "weighted_mean"


def test_values_are_put_in_plain_form_in_the_order_given(tmp_path):
    record = {
        "z": np.float32(0.5),
        "a": np.array([[1, 2], [3, 4]], np.uint16),
        "day": date(2025, 3, 1),
        "path": Path("in") / "dem.tif",
        "way": Way.MEAN,
        "gone": float("nan"),
        "far": np.array([np.inf, 1.0]),
        "yes": np.bool_(True),
        "deep": {"pair": (1, None, "ü")},
    }
    write_record(tmp_path / "run.json", record)
    text = (tmp_path / "run.json").read_text(encoding="utf-8")
    assert "NaN" not in text
    assert "ü" in text
    back = json.loads(text)
    assert list(back) == [*record, "sha256_of_the_rest"]
    del back["sha256_of_the_rest"]
    assert back == {
        "z": 0.5,
        "a": [[1, 2], [3, 4]],
        "day": "2025-03-01",
        "path": "in/dem.tif",
        "way": "weighted_mean",
        "gone": None,
        "far": [None, 1.0],
        "yes": True,
        "deep": {"pair": [1, None, "ü"]},
    }


def test_what_has_no_plain_form_leaves_no_file(tmp_path):
    with pytest.raises(TypeError):
        write_record(tmp_path / "run.json", {"a": object()})
    assert not any(tmp_path.iterdir())


def test_one_file_has_its_own_sum(tmp_path):
    # FIPS 180-4 example, as in NIST's "SHA256.pdf": the message "abc"
    (tmp_path / "a.gpkg").write_bytes(b"abc")
    (tmp_path / "a.gpkg-wal").write_bytes(b"not part of it")
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert file_hash(tmp_path / "a.gpkg") == expected


def test_a_shapefile_is_all_its_files_whatever_their_case(tmp_path):
    for suffix in (".shp", ".SHX", ".dbf", ".prj", ".shp.xml", ".sbn"):
        (tmp_path / f"way[1]{suffix}").write_text(suffix)
    first = file_hash(tmp_path / "way[1].shp")
    (tmp_path / "way[1].shp.xml").write_text("a viewer's note")
    assert file_hash(tmp_path / "way[1].shp") == first
    (tmp_path / "way[1].SHX").write_text("changed")
    assert file_hash(tmp_path / "way[1].shp") != first


def test_the_sum_of_several_files_can_be_had_with_coreutils(tmp_path):
    for suffix in (".dbf", ".prj", ".shp", ".shx"):
        (tmp_path / f"way{suffix}").write_text(suffix)
    listing = subprocess.run(
        ["sha256sum", "way.dbf", "way.prj", "way.shp", "way.shx"],
        cwd=tmp_path, capture_output=True, check=True,
    ).stdout  # fmt: skip
    assert file_hash(tmp_path / "way.shp") == hashlib.sha256(listing).hexdigest()


def test_a_folder_is_all_its_files(tmp_path):
    folder = tmp_path / "data.gdb"
    folder.mkdir()
    (folder / "a1").write_text("one")
    first = file_hash(folder)
    (folder / "a2").write_text("two")
    assert file_hash(folder) != first


def test_a_missing_file_is_told(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        file_hash(tmp_path / "a.tif")


def test_versions_are_those_of_what_runs():
    found = versions()
    assert found["numpy"] == np.__version__
    assert found["gdal"] == rasterio.__gdal_version__
    assert {"python", "suitability", "numba", "rasterio", "pyproj", "proj"} <= set(found)
    assert {"pvlib", "geopandas", "shapely"} <= set(found)
