// Puts the page together.

async function begin() {
  const facts = JSON.parse(byId("facts").textContent);
  const { rows, cols } = facts.grid;
  const theme = new Theme(() => repaint());
  byId("subtitle").textContent = facts.subtitle;
  byId("caution").textContent = facts.caution;
  const [sums, relief, ...codes] = await Promise.all([
    codesOf("reasons", rows, cols), bytesOf("relief"), ...facts.leaves.map((_, k) => codesOf(`layer-${k}`, rows, cols)),
  ]);
  const land = new Land(facts, codes, sums, relief);
  const canvas = document.createElement("canvas");
  const painter = new Painter(land, canvas);
  const weights = new Weights(facts, () => later());
  land.judge(weights.tree);
  land.saved.set(land.score);
  const state = { shown: { id: "score", kind: "score" } };
  const map = new PageMap(facts, canvas);
  const sites = new Sites(facts, (site, move) => showSite(site, move));

  function repaint() {
    const look = document.documentElement.classList.contains("printing") ? "light" : theme.name;
    const shown = state.shown.kind === "change" ? { ...state.shown, ends: land.changeEnds() } : state.shown;
    painter.show(shown, look);
    drawKey(facts, shown, { lowest: land.lowest, theme: look, begin });
  }

  function begin(lowest) {
    land.lowest = lowest;
    repaint();
    byId("key").querySelector("select").focus();
  }

  function rejudge() {
    const began = performance.now();
    land.judge(weights.tree);
    const order = sites.ordered(weights.tree, weights.isSaved);
    repaint();
    map.placeSites(order, (rank) => chooseOnMap(rank));
    sites.draw(order, weights.tree, weights.isSaved);
    weights.say(changeInWords(land, order, facts, weights.isSaved));
    readAgain();
    state.rejudged_ms = performance.now() - began;
  }

  let waiting = null;
  function later() {
    waiting ||= new Promise((done) => requestAnimationFrame(() => {
      waiting = null;
      rejudge();
      done();
    }));
    return waiting;
  }

  let under = null;
  function read(at) {
    under = at;
    readAgain();
  }
  function readAgain() {
    readOut(facts, land, under);
  }
  function readAt(latlng, middle = false) {
    read({ cell: land.cellAt(latlng.lng, latlng.lat), x: latlng.lng, y: latlng.lat, middle });
  }

  function chooseOnMap(rank) {
    openTab("sites");
    sites.choose(rank, false);
    byId("site-name").focus({ preventScroll: false });
  }

  function showSite(site, move) {
    map.choose(site, move);
    if (!site) return;
    if (move) byId("site-name").focus();
    readAt({ lng: site.x, lat: site.y });
  }

  map.map.on("mousemove click", (event) => readAt(event.latlng));
  map.map.on("move", () => byId("map").matches(":focus-visible") && readAt(map.map.getCenter(), true));
  byId("map").addEventListener("focus", () => byId("map").matches(":focus-visible") && readAt(map.map.getCenter(), true));
  drawLayers(facts, state, (shown) => {
    state.shown = shown;
    repaint();
  }, (id, on) => (id === "sites" ? map.showSites(on) : map.showShapes(id, on)));
  drawAbout(facts);
  weights.draw();
  setUpTabs();
  map.frame(land);
  rejudge();
  printReady(map, facts, sites, repaint);
  byId("busy").remove();
  window.suitabilityMap = { facts, land, weights, sites, map, state, scoreOf, settled: () => waiting || Promise.resolve() };
  state.ready_ms = performance.now(); // since the page was asked for
  document.documentElement.dataset.ready = "yes";
}

function changeInWords(land, order, facts, isSaved) {
  if (isSaved) return "These are the weights of the saved run.";
  const { most, far } = land.moved();
  const moved = order.filter(({ site }, at) => facts.sites[at] !== site).length;
  const first = order.length ? ` First is now site ${order[0].site.rank} of the saved run.` : "";
  return `Against the saved run the score moved by up to ${most.toFixed(2)}, by more than 0.05 on ${percent(far)} of the candidate land; ${moved} of ${order.length} sites change places.${moved ? first : ""}`;
}

class Theme {
  constructor(changed) {
    const dark = matchMedia("(prefers-color-scheme: dark)");
    this.set(dark.matches ? "dark" : "light");
    dark.addEventListener("change", () => {
      this.set(dark.matches ? "dark" : "light");
      changed();
    });
    byId("theme").addEventListener("click", () => {
      this.set(this.name === "dark" ? "light" : "dark");
      changed();
    });
  }

  set(name) {
    this.name = name;
    document.documentElement.dataset.theme = name;
    byId("theme").textContent = name === "dark" ? "Light colours" : "Dark colours";
  }
}

const TABS = ["sites", "weights", "layers", "about"];

function openTab(name, focus = false) {
  for (const each of TABS) {
    const tab = byId(`tab-${each}`);
    tab.setAttribute("aria-selected", String(each === name));
    tab.tabIndex = each === name ? 0 : -1;
    byId(`page-${each}`).hidden = each !== name;
    if (each === name && focus) tab.focus();
  }
}

function setUpTabs() {
  for (const name of TABS) byId(`tab-${name}`).addEventListener("click", () => openTab(name));
  byId("tabs").addEventListener("keydown", (event) => {
    const at = TABS.findIndex((name) => byId(`tab-${name}`) === document.activeElement);
    const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: TABS.length - 1 }[event.key];
    if (at < 0 || to === undefined) return;
    event.preventDefault();
    openTab(TABS[(to + TABS.length) % TABS.length], true);
  });
}

// On paper: the map as it stands, its key, all sites in a table, what to heed.
function printReady(map, facts, sites, repaint) {
  const root = document.documentElement;
  addEventListener("beforeprint", () => {
    fill(byId("printed"), printedSites(sites), make("h2", {}, "Before anyone climbs, digs or opens a box"), cautionList(facts));
    root.classList.add("printing");
    repaint();
    map.map.invalidateSize({ animate: false, pan: false });
    map.map.fitBounds(map.home, { animate: false, padding: [6, 6] });
  });
  addEventListener("afterprint", () => {
    root.classList.remove("printing");
    repaint();
    map.map.invalidateSize({ animate: false });
  });
}

function printedSites(sites) {
  const head = ["site", "score", "latitude, longitude", "MGRS", "what to put up"];
  return make("table", {},
    make("thead", {}, make("tr", {}, head.map((name) => make("th", { scope: "col" }, name)))),
    make("tbody", {}, sites.order.map(({ site, score }, at) => make("tr", {},
      [String(at + 1), scoreInWords(score), placeInWords(site.lat, site.lon), site.mgrs, sentence(site.advised || "")].map((told) => make("td", {}, told))))));
}

begin().catch((error) => {
  const old = typeof DecompressionStream === "undefined";
  byId("fault").textContent = old
    ? "This browser is too old to unpack the map. One of 2023 or later can."
    : `The map cannot be shown: ${error.message}`;
  byId("fault").hidden = false;
  if (!old) throw error;
});
