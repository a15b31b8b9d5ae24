"""The page of a run in a real browser: whole, silent, safe, usable."""

import base64

import numpy as np
import pytest
from pages import ATTACK, LINK, Page
from ruamel.yaml import YAML

from suitability.config import load_run
from suitability.decide import judgement_of, value_of
from suitability.finished import FinishedRun
from suitability.outputs.colours import SCORE_COLOURS
from suitability.outputs.rasters import read_raster

TABS = ("sites", "weights", "layers", "about")


def judged_by(page, run_file, tmp_path):
    """Return the judgement of a run file in which the page's YAML took its place."""
    yaml = YAML(typ="safe")
    settings = yaml.load(run_file) | yaml.load(page.yaml())
    path = run_file.parent / f"{tmp_path.name}.yaml"
    with path.open("w", encoding="utf-8") as file:
        YAML().dump(settings, file)
    try:
        return judgement_of(load_run(path).settings)
    finally:
        path.unlink()


def python_scores(folder, judgement, cells):
    """Return what Python makes of a run's own layers in these cells."""
    layers = {
        leaf.name: read_raster(folder / f"layers/{leaf.name}.tif")[0].ravel()[cells]
        for leaf in judgement.leaves
    }
    return judgement.score(layers)


def nearly_equal(folder, judgement, cells):
    """Return where two values of the ordered group are so near that codes may change their order.

    There the mean jumps, for each value brings its criterion's own weight along.
    """
    warm = {leaf.name: leaf.curve for leaf in judgement.leaves[:3]}
    values = np.sort(
        [
            value_of(read_raster(folder / f"layers/{name}.tif")[0].ravel()[cells], curve)
            for name, curve in warm.items()
        ],
        axis=0,
    )
    is_level = (values[:-1] == 1) | (values[1:] == 0)  # there codes give the very value
    return ((np.diff(values, axis=0) < 3e-4) & ~is_level).any(axis=0)


def shares_of(judgement):
    return {
        leaf.name: share for leaf, share in zip(judgement.leaves, judgement.shares, strict=True)
    }


def test_it_opens_without_a_complaint_and_fetches_nothing(sample_page):
    for name in TABS:
        sample_page.open_tab(name)
    sample_page.weigh([10, 60, 20, 5, 5])
    sample_page.driver.execute_script("document.querySelector('input[value=change]').click()")
    assert sample_page.complaints() == []
    assert sample_page.requests() == []
    # Were it to ask for something, the browser would refuse.
    refused = sample_page.driver.execute_async_script(
        "const done = arguments[0];"
        "fetch('data:text/plain,x').then(() => done('fetched'), (error) => done(error.name))"
    )
    assert refused == "TypeError"


@pytest.mark.parametrize("way", ["weighted mean", "weighted geometric mean", "limiting criterion"])
def test_new_weights_give_pythons_scores_and_order(sample_page, sample_run, tmp_path, way):
    sample_page.weigh([12, 40, 31, 8, 20.5])
    sample_page.combine(0, way)
    cells, scores = sample_page.scores()
    shown = FinishedRun.of(sample_run)
    assert cells.size > 200_000
    run_file = tmp_path / "run.yaml"
    run_file.write_text("inputs: {elevation: a.tif, land_cover: b.tif}\n", encoding="utf-8")
    judgement = judged_by(sample_page, run_file, tmp_path)
    assert judgement.root.combination.by == way
    np.testing.assert_allclose(scores, python_scores(sample_run, judgement, cells), atol=1e-3)
    x_m, y_m = (shown.sites[name].to_numpy() for name in ("x_m", "y_m"))
    at_sites = judgement.score(
        {leaf.name: shown.measures(leaf.name, x_m, y_m) for leaf in judgement.leaves}
    )
    order = sample_page.ask("suitabilityMap.sites.order.map(({ site }) => site.rank)")
    wanted = sorted(range(12), key=lambda at: (-round(float(at_sites[at]), 5), at))
    assert order == [at + 1 for at in wanted]


def test_groups_and_every_shape_give_pythons_scores(hostile_page, hostile_run, tmp_path):
    run_file = hostile_run.parent / "run.yaml"
    saved = judgement_of(load_run(run_file).settings)
    assert shares_of(judged_by(hostile_page, run_file, tmp_path)) == pytest.approx(
        shares_of(saved), abs=1e-6
    )
    cells, scores = hostile_page.scores()
    before = python_scores(hostile_run, saved, cells)
    sure = ~nearly_equal(hostile_run, saved, cells)
    assert sure.mean() > 0.95
    np.testing.assert_allclose(scores[sure], before[sure], atol=1e-3)
    # The whole, then a group, then its parts, then the next group …
    hostile_page.weigh([35, 10, 50, 40, 25, 70, 30, 15, 12])
    for at, way in ((0, "weighted geometric mean"), (0, "weighted mean"), (2, "limiting criterion"),
                    (2, "weighted geometric mean")):  # fmt: skip
        hostile_page.combine(at, way)
        judgement = judged_by(hostile_page, run_file, tmp_path)
        _, scores = hostile_page.scores()
        wanted = python_scores(hostile_run, judgement, cells)
        sure = ~nearly_equal(hostile_run, judgement, cells)
        np.testing.assert_allclose(scores[sure], wanted[sure], atol=1e-3)
        np.testing.assert_allclose(scores, wanted, atol=0.02)
        assert np.abs(wanted - before).max() > 0.05  # else nothing was tried
    assert hostile_page.complaints() == []


def test_equal_and_missing_values_are_judged_as_python_does(hostile_page, hostile_run):
    judgement = FinishedRun.of(hostile_run).judgement
    rng = np.random.default_rng(3)
    values = rng.choice([0.0, 0.25, 0.5, 1.0, np.nan], (400, 7), p=[0.1, 0.2, 0.3, 0.38, 0.02])
    values[:, 3:] = np.where(rng.random((400, 4)) < 0.7, 1.0, values[:, 3:])
    given = [[None if np.isnan(value) else value for value in row] for row in values]
    found = hostile_page.ask(
        """(rows) => rows.map((row) => {
          const { scoreOf, weights } = suitabilityMap;
          const score = scoreOf(weights.tree, row.map((value) => value ?? NaN));
          return score === score ? score : null;
        })""",
        given,
    )
    names = [leaf.name for leaf in judgement.leaves]
    wanted = judgement.combine(dict(zip(names, values.T, strict=True)))
    assert 5 < np.isnan(wanted).sum() < 200
    assert np.unique(wanted[~np.isnan(wanted)]).size > 30
    np.testing.assert_allclose(np.array(found, float), wanted, atol=1e-6)


def test_back_to_the_saved_run(sample_page):
    _, saved = sample_page.scores()
    sample_page.weigh([1, 2, 3, 4, 5])
    assert sample_page.ask("document.querySelector('.summary').textContent").startswith("Against")
    assert np.abs(sample_page.scores()[1] - saved).max() > 0.05
    sample_page.ask("document.getElementById('undo').click()")
    sample_page.settle()
    np.testing.assert_array_equal(sample_page.scores()[1], saved)
    assert sample_page.ask("suitabilityMap.sites.order.map(({ site }) => site.rank)") == [
        *range(1, 13)
    ]


def test_the_last_weight_cannot_be_taken_away(sample_page):
    sample_page.weigh([0, 0, 0, 0, 0])
    assert np.isfinite(sample_page.scores()[1]).all()


def test_hostile_texts_stay_texts(hostile_page):
    assert hostile_page.ask("document.querySelector('h1').textContent") == ATTACK
    assert hostile_page.ask("document.title") == ATTACK
    text = ""
    for name in TABS:
        hostile_page.open_tab(name)
        text += hostile_page.ask("document.body.innerText")
    for shown in ("leaf-4", "reason-9"):
        hostile_page.ask("(id) => document.querySelector(`input[value=${id}]`).click()", shown)
        text += hostile_page.ask("document.body.innerText")
    hostile_page.ask("document.querySelector('.site').click()")
    for wanted in (f"bends {ATTACK}", f"warm: {ATTACK}", f"basis {ATTACK}", f"{LINK} <b>"):
        assert wanted in text
    assert hostile_page.ask("window.hacked") is None
    assert hostile_page.ask("document.querySelectorAll('img[src=x], a[href^=java]').length") == 0
    assert hostile_page.complaints() == []
    assert hostile_page.requests() == []


def test_cells_have_the_colours_of_the_figure(sample_page):
    cells, scores = sample_page.scores()
    some = np.linspace(0, cells.size - 1, 400).astype(int)
    lowest = sample_page.ask("suitabilityMap.land.lowest")
    pixels = sample_page.ask(
        """(cells) => {
          const canvas = suitabilityMap.map.canvas;
          const data = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
          return cells.map((cell) => [...data.slice(4 * cell, 4 * cell + 3)]);
        }""",
        cells[some].tolist(),
    )
    palette = np.array([[int(c[k : k + 2], 16) for k in (1, 3, 5)] for c in SCORE_COLOURS])
    away = ((np.array(pixels)[:, None, :] - palette) ** 2).sum(axis=2)
    place = (scores[some] - lowest) / (1 - lowest) * len(palette)
    inside = np.abs(place - np.rint(place)) > 0.02  # at an edge of two classes either is right
    wanted = np.clip(np.floor(place), 0, len(palette) - 1)
    assert inside.sum() > 100
    np.testing.assert_array_equal(away.argmin(axis=1)[inside], wanted[inside])


def test_places_lie_where_they_are(sample_page, sample_run):
    run = FinishedRun.of(sample_run)
    west, south, east, north = run.grid.bounds
    # The picture's corners on the screen are those of the grid.
    offset = sample_page.ask(
        """(width, height) => {
          const { map, canvas } = suitabilityMap.map;
          const stage = document.getElementById('map').getBoundingClientRect();
          const box = canvas.getBoundingClientRect();
          const top = map.latLngToContainerPoint([height, 0]);
          const foot = map.latLngToContainerPoint([0, width]);
          return [box.left - stage.left - top.x, box.top - stage.top - top.y,
                  box.right - stage.left - foot.x, box.bottom - stage.top - foot.y];
        }""",
        east - west,
        north - south,
    )
    assert np.abs(offset).max() < 1
    x, y = np.meshgrid(np.linspace(west, east, 9), np.linspace(south, north, 9))
    told = sample_page.ask(
        "(places) => places.map(([x, y]) => Object.values(suitabilityMap.land.lonLat(x, y)))",
        np.stack([x.ravel() - west, y.ravel() - south], axis=1).tolist(),
    )
    lon, lat = np.array(told).T
    found = np.array([run.grid.from_lonlat(*place) for place in zip(lon, lat, strict=True)])
    np.testing.assert_allclose(found, np.stack([x.ravel(), y.ravel()], axis=1), atol=0.15)


def test_under_the_pointer_are_the_measures(sample_page, sample_run):
    run = FinishedRun.of(sample_run)
    site = run.sites.iloc[4]
    measures = {
        leaf.name: run.measures(leaf.name, site[["x_m"]].to_numpy(), site[["y_m"]].to_numpy())[0]
        for leaf in run.judgement.leaves
    }
    west, south, _, _ = run.grid.bounds
    told = sample_page.ask(
        """(x, y) => {
          const { land, facts, map } = suitabilityMap;
          map.map.fire('click', { latlng: { lat: y, lng: x } });
          const cell = land.cellAt(x, y);
          return [facts.leaves.map((_, k) => land.measureAt(k, cell)),
                  document.getElementById('readout').textContent];
        }""",
        site["x_m"] - west,
        site["y_m"] - south,
    )
    np.testing.assert_allclose(told[0], list(measures.values()), atol=0.2)
    assert f"Score {site['score']:.3f}" in told[1]
    assert f"{measures['direct_sun_h']:.1f}\xa0h" in told[1]


def test_it_fits_a_phone(browser, sample_run):
    page = Page(browser, sample_run).opened(width=360, height=640)
    for name in TABS:
        page.open_tab(name)
        assert page.ask("document.documentElement.scrollWidth") <= 360, name
    page.open_tab("sites")
    page.ask("document.querySelectorAll('.site')[3].click()")
    assert page.ask("document.documentElement.scrollWidth") <= 360
    assert page.ask("document.getElementById('site-name').textContent") == "Site 4"
    # WCAG 2.2, 2.5.8 (AA): what is to be pressed measures 24 by 24 pixels at least.
    small = page.ask(
        """[...document.querySelectorAll('button, .pin, select, input[type=range], [role=tab]')]
        .filter((each) => each.offsetParent !== null)
        .map((each) => [each.getBoundingClientRect(), each.textContent])
        .filter(([box]) => box.width < 24 || box.height < 24).map(([, name]) => name)"""
    )
    assert small == []


@pytest.mark.parametrize(("width", "height"), [(360, 640), (1280, 800)])
def test_no_sites_number_hides_another(browser, sample_run, width, height):
    page = Page(browser, sample_run).opened(width=width, height=height)
    # Out as far as the map goes, where sites lie closest on the screen, then in again.
    still = "{ animate: false }"
    for way in ("", f"map.setZoom(map.getMinZoom(), {still});", f"map.zoomIn(2, {still});"):
        faces = page.ask(
            """(() => { const { map } = suitabilityMap.map; WAY
            return [...document.querySelectorAll('.pin')].map((pin) => {
              const box = pin.querySelector('span').getBoundingClientRect();
              const line = pin.querySelector('i');
              const own = pin.getBoundingClientRect();
              const off = [box.x - own.x, box.y - own.y];
              return [box.x, box.y, Math.hypot(...off), line.hidden ? 0 : line.offsetWidth];
            }); })()""".replace("WAY", way)
        )
        assert len(faces) > 10
        x, y, off, line = np.array(faces).T
        apart = np.hypot(x[:, None] - x, y[:, None] - y)
        assert apart[~np.eye(len(x), dtype=bool)].min() >= 28  # as wide as a number's disc
        np.testing.assert_allclose(off, line, atol=1)  # a line leads from each to its site


CONTRAST = """(() => {
  const numbers = (text) => {
    const found = text.match(/[\\d.]+/g).map(Number);
    return found.length > 3 ? found : [...found, 1];
  };
  const light = ([r, g, b]) => [r, g, b].map((c) => c / 255)
    .map((c) => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
    .reduce((sum, c, k) => sum + c * [0.2126, 0.7152, 0.0722][k], 0);
  const ground = (element) => {
    for (let each = element; each; each = each.parentElement) {
      const colour = numbers(getComputedStyle(each).backgroundColor);
      if (colour[3] > 0) return colour;
    }
    return [255, 255, 255, 1];
  };
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const element = node.parentElement;
    if (!node.textContent.trim() || element.closest('script, noscript, svg, [disabled]')) continue;
    if (!element.checkVisibility() || !element.getClientRects().length) continue;
    const [one, other] = [light(numbers(getComputedStyle(element).color)), light(ground(element))];
    const ratio = (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
    found.push([ratio, node.textContent.trim().slice(0, 40)]);
  }
  return found;
})()"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_text_has_the_contrast_of_wcag_aa(browser, sample_run, scheme):
    """WCAG 2.1, 1.4.3: 4.5 to 1, with its own definition of relative luminance."""
    page = Page(browser, sample_run).opened(scheme=scheme)
    assert page.ask("document.documentElement.dataset.theme") == scheme
    page.weigh([10, 60, 20, 5, 5])
    seen = 0
    for name in TABS:
        page.open_tab(name)
        if name == "sites":
            page.ask("document.querySelector('.site').click()")
        page.ask("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        found = page.ask(CONTRAST)
        seen += len(found)
        assert [(ratio, text) for ratio, text in found if ratio < 4.5] == []
    assert seen > 200
    page.ask("document.getElementById('theme').click()")
    assert page.ask("document.documentElement.dataset.theme") != scheme


def test_it_works_by_keyboard(sample_page):
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys

    def press(*keys):
        ActionChains(sample_page.driver).send_keys(*keys).perform()

    reached, outlined = [], []
    for _ in range(24):
        press(Keys.TAB)
        reached.append(
            sample_page.ask(
                "document.activeElement.id || document.activeElement.getAttribute('aria-label')"
                " || document.activeElement.className"
            )
        )
        outlined.append(
            sample_page.ask(
                "[document.activeElement, document.activeElement.querySelector('span')].some("
                "(each) => each && parseFloat(getComputedStyle(each).outlineWidth) >= 2"
                " && getComputedStyle(each).outlineStyle !== 'none')"
            )
        )
    for wanted in ("theme", "map", "Site 1 on the map", "Site 12 on the map", "Zoom in",
                   "Colours begin at", "tab-sites", "site"):  # fmt: skip
        assert wanted in reached, reached
    assert all(outlined), list(zip(reached, outlined, strict=True))
    sample_page.ask("document.querySelector('.pin').focus()")
    press(Keys.ENTER)
    assert sample_page.ask("document.activeElement.id") == "site-name"
    sample_page.ask("document.getElementById('tab-sites').focus()")
    press(Keys.ARROW_RIGHT)
    assert sample_page.ask("document.activeElement.id") == "tab-weights"
    before = sample_page.scores()[1]
    press(Keys.TAB, Keys.TAB, *[Keys.ARROW_LEFT] * 5)
    sample_page.settle()
    assert sample_page.ask("document.activeElement.type") == "range"
    assert np.abs(sample_page.scores()[1] - before).max() > 0.001
    sample_page.ask("document.getElementById('title').focus()")
    sample_page.ask("document.getElementById('map').focus({ focusVisible: true })")
    press(Keys.ARROW_UP)
    assert "middle of the map" in sample_page.ask("document.getElementById('readout').textContent")


def test_it_prints_map_and_sites_in_light_colours(browser, sample_run):
    page = Page(browser, sample_run).opened(scheme="dark")
    page.ask(
        "addEventListener('beforeprint', () => { window.printed = ["
        "getComputedStyle(document.body).backgroundColor,"
        "document.querySelectorAll('#printed tbody tr').length,"
        "suitabilityMap.map.canvas.getContext('2d').getImageData(0, 0, 1, 1).data[0]]; })"
    )
    on_screen = page.ask(
        "suitabilityMap.map.canvas.getContext('2d').getImageData(0, 0, 1, 1).data[0]"
    )
    printed = page.command("Page.printToPDF", preferCSSPageSize=True, printBackground=True)
    pdf = base64.b64decode(printed["data"])
    assert b"/Subtype /Image" in pdf
    _, rows, on_paper = page.ask("window.printed")
    assert rows == 12
    assert on_paper > on_screen
    assert page.ask("document.documentElement.classList.contains('printing')") is False
