"""Land by score, reason and parcel, against a second count of the rasters."""

import csv
import shutil

import geopandas as gpd
import numpy as np
import pytest
import rasterio
from command import parts, refused, succeeded
from rasterio.features import geometry_mask
from shapely import box

from suitability.errors import ResultError
from suitability.summary import ELSEWHERE, WHOLE, summarize

ACRES_IN_A_HECTARE = 2.4710538  # NIST SP 811, appendix B.8: 1 acre = 4.046873e3 m² (survey)


@pytest.fixture(scope="module")
def rasters(sample_run):
    with (
        rasterio.open(sample_run / "candidates.tif") as score,
        rasterio.open(sample_run / "excluded.tif") as bits,
    ):
        return score.read(1), bits.read(1), score.transform, score.bounds


@pytest.fixture
def parcels(tmp_path, rasters):
    """Return parcels: two of one name, one without, one that overlaps, one far away."""
    west, south, east, north = rasters[3]
    middle, centre = (west + east) / 2, (south + north) / 2
    shapes = [
        box(west - 50, centre + 0.3, middle, north),
        box(middle + 400, south, east, centre - 300),
        box(middle, centre + 0.3, east - 33.3, north + 70),
        box(middle - 100, south + 10, middle + 100, centre + 100),
        box(west - 9000, south, west - 8000, north),
    ]
    names = ["=Smith", "=Smith", "Straße 3", None, "far"]
    path = tmp_path / "parcels.gpkg"
    frame = gpd.GeoDataFrame({"owner": names}, geometry=shapes, crs="EPSG:32616")
    frame.to_crs(4326).to_file(path)
    return path


def read(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    return {(row["parcel"], row["part"], row["what"]): row for row in rows}


def test_the_whole_land_is_what_the_rasters_hold(sample_run, rasters, tmp_path):
    score, bits, _, _ = rasters
    found = summarize(sample_run, to=tmp_path / "land.csv")
    rows = read(found.path)
    assert {name for name, _, _ in rows} == {WHOLE}
    assert int(rows[WHOLE, "land", "all"]["cells"]) == bits.size
    assert int(rows[WHOLE, "candidates", "all"]["cells"]) == np.isfinite(score).sum()
    for step in range(10):
        low, high = np.float32(step / 10), np.float32((step + 1) / 10)
        inside = (score >= low) & ((score < high) if step < 9 else (score <= high))
        row = rows[WHOLE, "score", f"{step / 10:.1f} to {(step + 1) / 10:.1f}"]
        assert int(row["cells"]) == inside.sum()
        assert float(row["area_ha"]) == pytest.approx(inside.sum() * 4 / 1e4, abs=5e-5)
        acres = float(row["area_ha"]) * ACRES_IN_A_HECTARE
        assert float(row["area_acre"]) == pytest.approx(acres, rel=1e-5, abs=1e-4)
    canopy = rows[WHOLE, "reason", "under canopy taller than the mount"]
    assert int(canopy["cells"]) == (bits & 4 != 0).sum()
    scores = sum(float(row["area_ha"]) for key, row in rows.items() if key[1] == "score")
    assert scores == pytest.approx(float(rows[WHOLE, "candidates", "all"]["area_ha"]), abs=1e-9)


def test_parcels_are_what_masks_of_them_hold(sample_run, rasters, parcels, tmp_path):
    score, bits, transform, _ = rasters
    path = tmp_path / "by_owner.csv"
    printed = succeeded("summary", sample_run, "--by", parcels, "--name", "owner", "--to", path)
    assert "cells lie in more than one parcel" in printed
    rows = read(path)
    assert {name for name, _, _ in rows} == {
        WHOLE, "'=Smith", "Straße 3", "unnamed", ELSEWHERE,
    }  # fmt: skip
    shapes = gpd.read_file(parcels).to_crs("EPSG:32616").geometry
    masks = [
        geometry_mask([shape], out_shape=bits.shape, transform=transform, invert=True)
        for shape in shapes
    ]
    smith, street = masks[0] | masks[1], masks[2]
    unnamed = masks[3] & ~smith & ~street
    for name, mask in (("'=Smith", smith), ("Straße 3", street), ("unnamed", unnamed),
                       (ELSEWHERE, ~(smith | street | unnamed))):  # fmt: skip
        assert int(rows[name, "land", "all"]["cells"]) == mask.sum()
        assert int(rows[name, "candidates", "all"]["cells"]) == (mask & (bits == 0)).sum()
        best = rows[name, "score", "0.9 to 1.0"]
        assert int(best["cells"]) == (mask & (score >= np.float32(0.9))).sum()
    for part, what in (("land", "all"), ("candidates", "all"), ("score", "0.8 to 0.9")):
        each = [int(row["cells"]) for key, row in rows.items() if key[1:] == (part, what)]
        assert sum(each) == 2 * int(rows[WHOLE, part, what]["cells"])


def test_parcels_without_names_are_one(sample_run, parcels, tmp_path):
    found = summarize(sample_run, parcels=parcels, to=tmp_path / "one.csv")
    assert [name for name, _ in found.pieces] == [WHOLE, "all parcels", ELSEWHERE]
    assert found.pieces[1][1].cells + found.pieces[2][1].cells == found.pieces[0][1].cells


def test_mistakes_are_told(sample_run, parcels, tmp_path):
    message = refused("summary", sample_run, "--by", parcels, "--name", "parcel")
    assert parts(message) == (
        "the parcels have no field 'parcel'", str(parcels), "name with --name one of: owner",
    )  # fmt: skip
    assert not (sample_run / "land_summary.csv").exists()
    far = tmp_path / "far.gpkg"
    gpd.GeoDataFrame(geometry=[box(0, 0, 9, 9)], crs="EPSG:32616").to_file(far)
    with pytest.raises(ResultError, match="no parcel"):
        summarize(sample_run, parcels=far, to=tmp_path / "none.csv")
    damaged = tmp_path / "damaged"
    shutil.copytree(sample_run, damaged, ignore=shutil.ignore_patterns(".store", "layers"))
    with rasterio.open(damaged / "excluded.tif") as source:
        profile = {"driver": "GTiff", **{k: source.profile[k] for k in ("width", "height", "crs")}}
        profile |= {"transform": source.transform, "count": 1, "dtype": "uint16"}
    with rasterio.open(damaged / "excluded.tif", "w", **profile) as target:
        target.write(np.zeros((profile["height"], profile["width"]), np.uint16), 1)
    with pytest.raises(ResultError, match="do not fit"):
        summarize(damaged)
