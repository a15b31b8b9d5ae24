// The list of sites, best first, and what is known of one.

class Sites {
  constructor(facts, show) {
    this.facts = facts;
    this.show = show; // told which site is chosen, or none
    this.chosen = null;
    this.values = facts.sites.map((site) => facts.leaves.map((leaf) => {
      const measure = site.measures[leaf.layer];
      return known(measure) ? valueOf(measure, leaf.curve) : NaN;
    }));
    this.isGrouped = facts.sites.some((site) => known(site.group));
  }

  // The sites in the order of their scores by a tree; of equals, as the run has them.
  ordered(tree, isSaved) {
    const found = this.facts.sites.map((site, k) => {
      const score = isSaved ? site.score : scoreOf(tree, this.values[k]);
      return { site, score, values: this.values[k] };
    });
    const rounded = ({ score }) => (known(score) ? Math.round(score * 1e5) : -1);
    if (!isSaved && !this.isGrouped) found.sort((one, other) => rounded(other) - rounded(one) || one.site.rank - other.site.rank);
    return found;
  }

  draw(order, tree, isSaved) {
    this.order = order;
    this.tree = tree;
    this.isSaved = isSaved;
    const page = byId("page-sites");
    if (this.chosen !== null) this.drawOne(page);
    else this.drawList(page);
  }

  drawList(page) {
    if (!this.order.length) {
      fill(page, make("p", {}, "The run found no sites."));
      return;
    }
    const note = this.isSaved
      ? "Best first. Press a site for its advice, its measures and its sky."
      : this.isGrouped
        ? "Scores by the weights you set. Boxes in groups keep the run's order."
        : "In order of the weights you set, among the sites of the saved run. Land that would be listed anew needs suitability screen again.";
    fill(page, make("p", { class: "note" }, note), make("ol", { class: "sites" }, this.order.map((entry, at) => this.row(entry, at))));
  }

  row({ site, score, values }, at) {
    const limit = limitingLeaf(this.tree, values);
    const moved = this.facts.sites.indexOf(site) - at;
    const held = limit === null ? "every value is at its best" : `held down most by ${this.facts.leaves[limit].title}`;
    return make("li", {},
      make("button", { type: "button", class: "site", "data-rank": site.rank, on: { click: () => this.choose(site.rank, true) } },
        make("span", { class: "rank" }, String(at + 1)),
        make("span", { class: "about" }, make("span", { class: "line" },
          make("b", {}, `score ${scoreInWords(score)}`), this.isSaved ? null : make("span", { class: moved ? "moved" : "quiet" }, this.movedInWords(site, moved))),
          make("span", { class: "quiet" }, site.advised ? sentence(site.advised) : held), site.advised ? make("span", { class: "quiet" }, sentence(held)) : null)));
  }

  movedInWords(site, moved) {
    const was = `saved run: ${this.facts.sites.indexOf(site) + 1}`;
    return moved > 0 ? `▲ ${was}` : moved < 0 ? `▼ ${was}` : was;
  }

  choose(rank, move) {
    this.chosen = rank;
    this.drawOne(byId("page-sites"));
    this.show(this.facts.sites.find((site) => site.rank === rank), move);
  }

  back() {
    const rank = this.chosen;
    this.chosen = null;
    this.drawList(byId("page-sites"));
    this.show(null);
    const row = byId("page-sites").querySelector(`[data-rank="${Number(rank)}"]`);
    if (row) row.focus();
  }

  drawOne(page) {
    const at = this.order.findIndex(({ site }) => site.rank === this.chosen);
    const { site, score, values } = this.order[at];
    const heading = make("h2", { tabindex: -1, id: "site-name" }, `Site ${at + 1}`);
    const saved = this.isSaved ? "" : `; in the saved run site ${site.rank} with ${scoreInWords(site.score)}`;
    const facts = [
      ["Score", `${scoreInWords(score)}${saved}`],
      ["Latitude, longitude", placeInWords(site.lat, site.lon)],
      ["MGRS", site.mgrs],
      ...(site.wall ? [["Wall", site.wall]] : []),
      ...(known(site.role) ? [["Role", site.role]] : []),
    ];
    fill(page,
      make("p", {}, make("button", { type: "button", class: "quiet", on: { click: () => this.back() } }, "← All sites")),
      heading,
      make("dl", {}, facts.map(([name, told]) => [make("dt", {}, name), make("dd", {}, told)])),
      this.advice(site),
      make("h3", {}, "What it measures"), this.measures(site, values),
      site.horizon ? make("h3", {}, "Its sky") : null, skyChart(site, this.facts.suns),
      make("h3", {}, "Before anyone climbs, digs or opens a box"),
      make("ul", { class: "cautions" }, site.heed.map(({ reasons, text }) => make("li", {}, reasons ? make("b", {}, `${reasons} `) : null, this.facts.texts[text]))));
  }

  measures(site, values) {
    const shares = new Map(weighedLeaves(this.tree, 1).map(({ leaf, share: own }) => [leaf, own]));
    const limit = limitingLeaf(this.tree, values);
    const rows = this.facts.leaves.map((leaf, k) => make("tr", { class: k === limit ? "limit" : "" },
      make("th", { scope: "row" }, leaf.title), make("td", {}, measureInWords(site.measures[leaf.layer], leaf.unit)),
      make("td", {}, valueInWords(values[k])), make("td", {}, percent(shares.get(k)))));
    const others = site.others.map(({ title, unit, measure }) => `${title} ${measureInWords(measure, unit)}`);
    return make("div", {},
      make("table", {}, make("thead", {}, make("tr", {}, ["criterion", "measure", "value", "weight"].map((name) => make("th", { scope: "col" }, name)))), make("tbody", {}, rows)),
      make("p", { class: "quiet" }, limit === null ? "Every value is at its best." : `Held down most by ${this.facts.leaves[limit].title}.`),
      others.length ? make("details", {}, make("summary", {}, "Other measures"), make("p", {}, `${others.join("; ")}.`)) : null);
  }

  advice(site) {
    if (!site.advice) return make("p", {}, site.advised ? sentence(site.advised) : null);
    const { advice } = site;
    const { timing } = this.facts;
    return make("div", {},
      make("h3", {}, "What to put up"),
      advice.warnings.map((warning) => make("p", { class: "warning" }, warning)),
      make("dl", {}, advice.points.flatMap((point) => [
        make("dt", {}, sentence(point.topic)), make("dd", {}, point.choice, point.second ? make("span", { class: "quiet" }, `, or else: ${point.second}`) : null, reasonsOf(point))]),
        advice.facing ? [make("dt", {}, "By compass"), make("dd", {}, this.compass(advice))] : [],
        timing ? [make("dt", {}, "When"), make("dd", {}, timing.in_words.map((told) => `${told}. `).join(""))] : []));
  }

  compass({ facing, declination }) {
    const degrees = (number) => `${Math.round(((number % 360) + 360) % 360)}°`;
    if (!known(facing.magnetic_deg)) return `${degrees(facing.true_deg)} from true north; ${declination}`;
    return `${degrees(facing.magnetic_deg)} by compass, ${degrees(facing.true_deg)} from true north; the needle points ${declination}`;
  }
}

function reasonsOf(point) {
  const { ground } = point;
  return make("details", {}, make("summary", {}, "Why"), make("p", {}, `${sentence(point.why)}.`),
    make("p", {}, `${ground.basis} (${ground.evidence}).`), ground.conflict ? make("p", {}, `Sources conflict: ${ground.conflict}.`) : null);
}

function cautionList(facts) {
  return make("ul", { class: "cautions" }, facts.cautions.map((caution) => make("li", {}, caution)));
}
