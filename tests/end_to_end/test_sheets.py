"""Pages about the sites of a finished run: what they say is what the run's tables say."""

import copy
import csv
import re
from dataclasses import replace

import geopandas as gpd
import pypdf
import pytest
from command import parts, refused, succeeded
from paper import overlapping, texts_on
from shapely import box

from suitability.errors import InputError, ResultError
from suitability.finished import FinishedRun
from suitability.outputs import figure_parts
from suitability.outputs.landowner_sheet import landowner_page
from suitability.outputs.site_sheet import field_page
from suitability.sheets import write_sheets, write_sheets_by_parcel
from suitability.sheets.books import SheetMaker

LETTER, A4 = (612.0, 792.0), (595.28, 841.89)
JARGON = ("criterion", "azimuth", "MGRS", "WGS", "EPSG", "convergence", "declination", "raster",
          "value function", "score", "weight", "m a.s.l.")  # fmt: skip


@pytest.fixture(scope="module")
def run(sample_run):
    return FinishedRun.of(sample_run)


@pytest.fixture(scope="module")
def table(sample_run):
    with (sample_run / "sites.csv").open(encoding="utf-8-sig", newline="") as file:
        return {int(row["rank"]): row for row in csv.DictReader(file)}


@pytest.fixture(scope="module")
def book(run, tmp_path_factory):
    """Return a book of three sites by command, on A4."""
    path = tmp_path_factory.mktemp("sheets") / "some.pdf"
    said = succeeded("sheets", run.folder, "--sites", "1-2,12", "--paper", "a4", "--to", path)
    assert said.splitlines()[-1] == f"{path}: 3 pages"
    return pypdf.PdfReader(path)


@pytest.fixture
def parcels(tmp_path, run):
    """Return parcels: halves that overlap, one that is empty; names as no one should choose."""
    west, south, east, north = run.grid.bounds
    some = run.sites.iloc[:7]
    x, y = some["x_m"].median(), some["y_m"].min()
    shapes = [box(west, y + 1, x, north), box(x - 0.5, y + 1, east, north),
              box(west, south, west + 3, south + 3)]  # fmt: skip
    path = tmp_path / "parcels.gpkg"
    names = ["../../west: half", "漢字", "Nobody's"]
    gpd.GeoDataFrame({"owner": names}, geometry=shapes, crs=run.grid.crs).to_file(path)
    return path


def changed(run, **entries):
    """The run with other entries in its record."""
    return replace(run, record={**copy.deepcopy(run.record), **entries})


def words(page):
    return " ".join(page.extract_text().split())


def test_a_page_tells_what_the_table_of_sites_tells(book, table, run):
    assert len(book.pages) == 3
    for page, rank in zip(book.pages, (1, 2, 12), strict=True):
        row, text = table[rank], words(page)
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            A4, abs=0.1
        )
        assert f"Site {rank} " in text
        assert f"{row['lat_deg']}, {row['lon_deg']}" in text
        assert f"geo:{row['lat_deg']},{row['lon_deg']}" in text
        assert row["mgrs"] in text
        assert f"{float(row['x_m']):.10g} E, {float(row['y_m']):.10g} N ({run.grid.label})" in text
        assert f"True {round(float(row['facing_deg'])) % 360}°" in text
        assert f"Magnetic {round(float(row['facing_magnetic_deg'])) % 360}°" in text
        grid = next(s for s in run.record["boxes"]["sites"] if s["rank"] == rank)["facing"]
        assert f"from grid north {round(grid['grid_deg']) % 360}°" in text
        assert "World Magnetic Model 2025" in text
        for column in ("box", "colour"):
            assert row[column] in text
        for month in ("apr", "may", "jun", "jul", "aug", "sep"):
            assert f"{float(row[f'{month}_sun_h']):.1f}" in text
        for value, weight in ((row["direct_sun_contribution"], "0.35"),
                              (row["slope_contribution"], "0.10")):  # fmt: skip
            assert f"{float(value):.2f} of {weight}" in text
        for wanted in (
            "811",
            "10 ft (3 m)",
            "Never handle bats",
            "31 March",
            "Notes",
            "permission",
        ):
            assert wanted in text


def test_no_text_of_any_page_runs_into_another(run):
    for reader, draw in (("field", field_page), ("landowner", landowner_page)):
        maker = SheetMaker(run, reader, "letter")
        with figure_parts.own_style():
            for rank in (1, 12):
                assert overlapping(texts_on(draw(maker.content(rank), "letter"))) == []


def test_a_landowners_page_is_in_plain_words_with_the_same_facts(run, table, tmp_path):
    path = tmp_path / "owner.pdf"
    write_sheets(run, [4], path=path, reader="landowner")
    assert path.stat().st_size < 110_000  # a hundred of them go by mail
    (page,) = pypdf.PdfReader(path).pages
    assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(LETTER)
    text, row = words(page), table[4]
    for jargon in JARGON:
        assert jargon.lower() not in text.lower()
    assert (
        f"compass in your hand, that is {round(float(row['facing_magnetic_deg'])) % 360}°" in text
    )
    assert f"Its colour outside is {row['colour']}" in text
    for wanted in ("1 April to 31 October", "No one can promise bats", "Never touch a bat", "811",
                   "building office", "state wildlife agency"):  # fmt: skip
        assert wanted in text


def test_a_landowners_sentences_are_short(run):
    content = SheetMaker(run, "landowner", "letter").content(4)
    texts = [text for _, told in content.parts for text in told]
    for sentence in re.split(r"(?<=[.!?:]) ", " ".join((*texts, *content.first))):
        assert len(sentence.split()) <= 20, sentence


def test_units_follow_the_run(run):
    settings = {**run.record["settings"], "units": "us"}
    us = changed(run, settings=settings)
    field = SheetMaker(us, "field", "letter").content(1)
    assert dict(field.put_up)["Height"] == "15 ft above the ground"
    feet = run.sites["water_distance_exact_m"].iloc[0] / 0.3048
    assert dict(field.distances)["Water"] == f"{feet:.0f} ft"
    plain = SheetMaker(us, "landowner", "letter").content(1)
    told = " ".join(text for _, texts in plain.parts for text in texts)
    assert f"about {round(feet, -1):.0f} ft away" in told  # two digits, as 100 to 999 ft are told
    assert not re.search(r"\d m\b", told)


def test_a_site_of_which_the_run_keeps_nothing_has_a_page_that_says_so(run):
    boxes = {**run.record["boxes"], "sites": []}
    many = changed(run, boxes=boxes, site_cautions=[])
    many = replace(many, folder=run.folder)
    content = SheetMaker(many, "field", "letter").content(3)
    whole = SheetMaker(run, "field", "letter").content(3)
    assert any("keeps no reasons" in text for text in content.missing)
    assert not any("keeps no reasons" in text for text in whole.missing)
    assert (content.bearings, content.why) == (whole.bearings, ())
    assert dict(content.put_up)["Box"] == dict(whole.put_up)["Box"]
    with figure_parts.own_style():
        assert overlapping(texts_on(field_page(content, "letter"))) == []


def test_a_site_without_a_box_says_why(run):
    none = copy.deepcopy(run.record["boxes"])
    none["sites"][0] |= {"box": None, "colour": None, "facing": None, "warnings": ["too hot"]}
    without = changed(run, boxes=none)
    maker = SheetMaker(without, "field", "letter")
    maker.rows([1])[0].update(facing_deg=None, facing_magnetic_deg=None, box=None, colour=None)
    content = maker.content(1)
    assert dict(content.put_up)["Box"] == "none is recommended: too hot"
    assert content.bearings == ()
    with figure_parts.own_style():
        assert overlapping(texts_on(field_page(content, "letter"))) == []


def test_each_parcel_has_its_sites_and_strange_names_stay_in_the_folder(run, parcels, tmp_path):
    target = tmp_path / "out"
    ranks = list(range(1, 8))
    written = write_sheets_by_parcel(
        run, ranks, parcels, "owner", folder=target, reader="landowner"
    )
    shapes = gpd.read_file(parcels)
    those = run.sites[run.sites["rank"].isin(ranks)]
    joined = gpd.sjoin(those[["rank", "geometry"]], shapes, predicate="intersects")
    firsts = joined.sort_values("index_right").drop_duplicates("rank")
    wanted = {name: sorted(its["rank"]) for name, its in firsts.groupby("owner")}
    held = [list(book.ranks) for book in written.books]
    assert held == [wanted[name] for name in shapes["owner"] if name in wanted]
    assert {path.name for path in target.iterdir()} == {"west_half.pdf", "漢字.pdf"}
    assert not (tmp_path / "west: half.pdf").exists()
    for book in written.books:
        assert len(pypdf.PdfReader(book.path).pages) == len(book.ranks)
    notes = "; ".join(written.notes)
    outside = sorted(set(ranks) - set(joined["rank"]))
    assert outside
    assert f"site {', '.join(map(str, outside))}" in notes
    assert "without a site, and so without a file: Nobody's" in notes
    assert "lacks letters of 漢字" in notes
    for rank, its in joined.groupby("rank"):
        assert (f"site {rank} lies in" in notes) == (len(its) > 1)


@pytest.mark.parametrize(
    ("by", "what", "fix"),
    [
        (("{}",), "does not say which field", "parcels.gpkg:name"),
        (("{}:colour",), "no field 'colour'", "owner"),
        (("nowhere.gpkg:owner",), "nowhere.gpkg", ""),
    ],
)
def test_parcels_that_cannot_be_used_are_refused(run, parcels, by, what, fix):
    message = refused("sheets", run.folder, "--by", *(text.format(parcels) for text in by))
    assert what in message
    assert fix in parts(message)[2]


def test_what_cannot_be_written_is_refused_before_the_work(run, tmp_path):
    with pytest.raises(InputError, match="written as PDF"):
        write_sheets(run, [1], path=tmp_path / "pages.png")
    with pytest.raises(ResultError, match="no site"):
        write_sheets(run, [], path=tmp_path / "pages.pdf")
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputError, match="cannot be written"):
        write_sheets(run, [1], path=tmp_path / "file" / "pages.pdf")
    assert not (tmp_path / "pages.pdf").exists()
