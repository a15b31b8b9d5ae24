// Beneath the map: what its colours mean, and what lies under the pointer.

function bar(colours, labels) {
  return make(
    "div", { class: "bar" },
    make("div", { class: "swatches" }, colours.map((colour) => swatch(colour))),
    make("div", { class: "labels" }, labels.map((label) => make("span", {}, label))),
  );
}

function swatch(colour, extra = "") {
  const element = make("span", { class: `swatch ${extra}` });
  element.style.backgroundColor = colour;
  return element;
}

const STARTS = [0, 0.5, 0.8, 0.9]; // of the first class of the score

// The key of what is shown; `begin` is told where the classes of the score shall start.
function drawKey(facts, shown, { lowest, theme, begin }) {
  const { colours } = facts;
  const grey = [swatch(theme === "dark" ? "#8d8d8d" : "#dadada", "alone"), shown.kind === "leaf" ? "beyond the boundary" : "no candidate"];
  const words = { score: "Score, 0 to 1: higher suits better", change: "Change against the saved run" };
  const parts = [];
  if (shown.kind === "score") {
    const ends = [0, 1, 2, 3, 4, 5].map((k) => (lowest + ((1 - lowest) * k) / 5).toFixed(2));
    if (lowest > 0) ends[0] = `≤ ${ends[0]}`;
    const select = make("select", { "aria-label": "Colours begin at" }, STARTS.map((start) => make("option", { value: start, selected: start === lowest }, start.toFixed(2))));
    select.addEventListener("change", () => begin(Number(select.value)));
    parts.push(make("h2", {}, words.score), bar(colours.score, ends));
    grey.push(make("label", { class: "begin" }, "colours begin at ", select));
  } else if (shown.kind === "change") {
    const text = (end, sign) => `${sign}${Number(end.toPrecision(3))}`;
    const ends = [...[...shown.ends].reverse().map((end) => text(end, "−")), ...shown.ends.map((end) => text(end, "+"))];
    parts.push(make("h2", {}, words.change), bar(colours.change, ends));
    parts[1].classList.add("between");
  } else if (shown.kind === "leaf") {
    const title = sentence(facts.leaves[shown.leaf].title);
    parts.push(make("h2", {}, `${title}: value, 0 no use to 1 best`), bar(colours.score, ["0", "0.2", "0.4", "0.6", "0.8", "1"]));
  } else {
    parts.push(make("h2", {}, "Land that is out"), make("p", {}, swatch(OUT, "alone"), shown.words));
    grey[1] = "other land";
  }
  parts.push(make("p", {}, grey));
  fill(byId("key"), parts);
}

function readOut(facts, land, at) {
  const target = byId("readout");
  if (!at || at.cell < 0) {
    fill(target, make("p", { class: "hint" }, matchMedia("(hover: hover)").matches
      ? "Point at the land to read its values, or press a site."
      : "Tap the land to read its values, or tap a site."));
    return;
  }
  const { cell } = at;
  const reasons = land.reasonsAt(cell);
  const place = land.placeOf[cell];
  const { lon, lat } = land.lonLat(at.x, at.y);
  const head = [];
  if (place >= 0) {
    head.push(make("strong", {}, `Score ${scoreInWords(land.score[place])}`));
    if (Math.abs(land.score[place] - land.saved[place]) >= 0.0005) head.push(` (saved run ${scoreInWords(land.saved[place])})`);
  } else {
    head.push(make("strong", {}, "No candidate: "), reasons.map((reason) => reason.words).join("; "));
  }
  const measures = facts.leaves.map((leaf, k) => {
    const measure = land.measureAt(k, cell);
    if (!known(measure)) return null;
    return make("li", {}, `${leaf.title} `, make("b", {}, measureInWords(measure, leaf.unit)), ` → ${valueInWords(land.tables[k][land.codes[k][cell]])}`);
  });
  fill(target, make("p", {}, head), make("ul", { class: "measures" }, measures),
    make("p", { class: "place" }, `${placeInWords(lat, lon)}${at.middle ? " (middle of the map)" : ""}`));
}
