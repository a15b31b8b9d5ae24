"""Pages and methods of a finished run: what they say is what the run found."""

import copy
import json
import re
from dataclasses import replace

import pypdf
import pytest
import small_land
from command import parts, refused, succeeded
from paper import overlapping, texts_on

from suitability.finished import FinishedRun
from suitability.mapping import Wording, layers_of, map_of
from suitability.methods import methods_of
from suitability.outputs import figure_parts
from suitability.outputs.cautions import short_caution
from suitability.outputs.figure import composed, draw_figure
from suitability.outputs.layers_figure import layer_pages

NUMBER = re.compile(r"(?<![\w.-])\d[\d,]*(?:\.\d+)?")


@pytest.fixture(scope="module")
def run(sample_run):
    return FinishedRun.of(sample_run)


def changed(run, **settings):
    """The run with other settings in its record."""
    record = copy.deepcopy(run.record)
    record["settings"].update(settings)
    return replace(run, record=record)


# --- the map ----------------------------------------------------------------------------------


def test_the_runs_own_map_is_drawn_in_the_same_way(run, tmp_path):
    draw_figure(tmp_path / "figure.png", map_of(run))
    assert (tmp_path / "figure.png").read_bytes() == (run.folder / "figure.png").read_bytes()


def test_a_page_by_command_says_what_was_asked_and_numbers_the_listed_sites(run, tmp_path):
    path = tmp_path / "maps" / "fen.pdf"
    words = ("--title", "Our fen", "--credit", "© Fen friends", "--caution", "Look up first.")
    said = succeeded("figure", run.folder, "--to", path, "--paper", "a4", *words)
    assert said.strip() == str(path)
    (page,) = pypdf.PdfReader(path).pages
    assert float(page.mediabox.width) == pytest.approx(210 / 25.4 * 72, abs=0.01)
    text = page.extract_text()
    for wanted in ("Our fen", "© Fen friends", "Look up first.", "elevation.tif", "True north"):
        assert wanted in text
    assert "A screening result" not in text
    for site in run.record["sites"]:
        assert re.search(rf"^\s*{site['rank']}\s*$", text, re.MULTILINE)


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_no_text_of_the_sample_runs_into_another(run, paper):
    with figure_parts.own_style():
        assert overlapping(texts_on(composed(map_of(run), paper))) == []
        for page in layer_pages(layers_of(run), paper):
            assert overlapping(texts_on(page)) == []


def test_the_map_tells_heights_in_the_runs_units(run):
    assert "4.6 m above" in map_of(run).caption
    assert "15 ft above" in map_of(changed(run, units="us")).caption


def test_the_caution_is_never_left_out(run):
    assert map_of(run, Wording(caution="", has_words=False)).caution == short_caution()


def test_every_layer_is_shown_and_each_month_by_its_name(run):
    content = layers_of(run)
    assert len(content.layers) == len(run.layers)
    titles = [layer.title for layer in content.layers]
    assert len(set(titles)) == len(titles)
    assert "direct sun a day in April" in titles
    shown = dict(zip(run.layers, content.layers, strict=True))
    assert shown["aspect_deg"].is_direction
    assert sum(layer.is_direction for layer in content.layers) == 1


def test_a_picture_of_another_kind_is_refused(run, tmp_path):
    _, where, fix = parts(refused("figure", run.folder, "--to", tmp_path / "map.jpg"))
    assert where.endswith("map.jpg")
    assert ".pdf" in fix


# --- the methods ------------------------------------------------------------------------------


def rounds_to(told, value):
    digits = len(told.partition(".")[2])
    return abs(float(told) - value) <= 0.5 * 10**-digits * 1.0001


def numbers_in(record):
    """All numbers of the record, those within its words too, and shares as percent."""
    found = {float(token.replace(",", "")) for token in NUMBER.findall(json.dumps(record))}
    return found | {100 * value for value in found if value <= 1}


def four_digits(told, value):
    return value > 0 and abs(float(told) / value - 1) < 5e-4


def test_every_number_of_the_methods_is_the_records(run):
    text = methods_of(run).partition("## References")[0].replace(short_caution(), "")
    text = re.sub(r"(?:19|20)\d\d(?=[,;)]| an|\. )", "", text)  # years of works
    text = text.replace("WMO-No. 8", "").replace("between 0 and 1:", "")
    text = re.sub(r"\b(\d+) (April|September)", _as_in_the_run_file, text)
    known = numbers_in(run.record)
    for token in NUMBER.findall(text):
        told = token.replace(",", "").rstrip(".")
        assert any(rounds_to(told, value) or four_digits(told, value) for value in known), token


def _as_in_the_run_file(day):
    return {"April": "04", "September": "09"}[day[2]]


def test_only_works_that_the_run_rests_on_are_cited(run):
    text = methods_of(run)
    for work in ("Reda", "Ineichen", "Kasten", "Holmgren", "Horn", "WMO-No. 8"):
        assert work in text
    for work in ("Saaty", "Strahler", "Yager", "Barron", "Huangfu"):
        assert work not in text
    plain = methods_of(changed(run, sun={**run.settings["sun"], "rule": "altitude"}))
    for work in ("Ineichen", "Kasten", "WMO-No. 8"):
        assert work not in plain
    assert "over 3° high" in plain
    derived = changed(run, inputs={**run.settings["inputs"], "streams": None})
    for work in ("Callaghan", "Jenson", "Strahler"):
        assert work in methods_of(derived)


def test_where_weights_come_from_is_told_with_its_work(run):
    record = copy.deepcopy(run.record)
    record["weights"][0] |= {"come": "from comparisons in pairs", "consistency": {"ratio": 0.0321}}
    text = methods_of(replace(run, record=record))
    assert "Saaty 1980" in text
    assert "consistency ratio 0.032" in text
    record["weights"][0] |= {"come": "from a ranking (rank-order centroid)", "consistency": None}
    assert "Barron & Barrett 1996" in methods_of(replace(run, record=record))


def test_every_work_cited_is_listed_and_every_one_listed_is_cited(run):
    text, _, works = methods_of(run).partition("## References")
    listed = [line for line in works.splitlines() if line.startswith("- ")]
    names = [re.match(r"- (\w+)", line)[1] for line in listed]
    assert names == sorted(names)
    for line, name in zip(listed, names, strict=True):
        assert name in text or "WMO-No. 8" in line


def test_methods_are_printed_or_written(run, tmp_path):
    printed = succeeded("methods", run.folder)
    assert printed == methods_of(run)
    (tmp_path / "a file").touch()
    message = refused("methods", run.folder, "--to", tmp_path / "a file" / "methods.md")
    assert "cannot be written" in message


# --- letters that the pages' font lacks -----------------------------------------------------------


def test_words_of_ones_own_that_a_page_cannot_show_are_refused(run, tmp_path):
    path = tmp_path / "map.pdf"
    for option in ("--title", "--caption", "--caution", "--credit"):
        what, where, fix = parts(refused("figure", run.folder, "--to", path, option, "先看 first"))
        assert where == option
        assert "□□ first" in what
        assert "Latin" in fix
    assert not path.exists()


def test_a_title_that_pages_cannot_show_is_told_and_kept_where_it_can_be(tmp_path):
    title = "蝙蝠 farm"
    text = small_land.RUN.replace("title: Small land", f"title: {title}")
    assert title in text
    out = tmp_path / "out"
    succeeded("screen", small_land.write_land(tmp_path / "land", text), "--out", out)
    record = json.loads((out / "run.json").read_text("utf-8"))
    assert record["title"] == title
    assert (
        f"the pages' font lacks letters of {title}: □ stands in their place" in record["warnings"]
    )
    assert title in (out / "map.html").read_text("utf-8")
    # Commands complain of no missing letters: `succeeded` wants nothing on standard error.
    succeeded("curves", tmp_path / "land" / "run.yaml", "--out", out)
    succeeded("figure", out, "--to", tmp_path / "map.pdf")
    succeeded("sheets", out, "--to", tmp_path / "sheets.pdf")
    for name in ("map.pdf", "sheets.pdf"):
        assert "□□ farm" in pypdf.PdfReader(tmp_path / name).pages[0].extract_text()
