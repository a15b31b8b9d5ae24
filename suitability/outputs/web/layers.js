// What the map shows, and what is drawn over it.

function drawLayers(facts, state, show, drawOver) {
  const choice = (shown, words, more) => make("label", { class: "choice" },
    make("input", { type: "radio", name: "shown", value: shown.id, checked: shown.id === state.shown.id, on: { change: () => show(shown) } }),
    make("span", {}, words, more ? make("span", { class: "quiet" }, ` ${more}`) : null));
  const over = (id, words, sign) => make("label", { class: "choice" },
    make("input", { type: "checkbox", checked: true, on: { change: (event) => drawOver(id, event.target.checked) } }),
    make("span", {}, sign, words));
  const reasons = facts.reasons.filter((reason) => reason.share > 0);
  fill(byId("page-layers"),
    make("fieldset", {}, make("legend", {}, "On the map"),
      choice({ id: "score", kind: "score" }, "Score"),
      choice({ id: "change", kind: "change" }, "Change against the saved run")),
    make("fieldset", {}, make("legend", {}, "One criterion alone"),
      facts.leaves.map((leaf, k) => choice({ id: `leaf-${k}`, kind: "leaf", leaf: k }, sentence(leaf.title)))),
    make("fieldset", {}, make("legend", {}, "Land that is out"),
      reasons.map((reason) => choice({ id: `reason-${reason.bit}`, kind: "reason", bit: reason.bit, words: reason.words }, sentence(reason.words), percentOf(reason.share)))),
    make("fieldset", {}, make("legend", {}, "Drawn over it"),
      over("sites", "Sites", make("span", { class: "line-sign pin-sign" })),
      facts.shapes.map((shape) => over(shape.kind, sentence(shape.words), make("span", { class: `line-sign ${shape.kind}` })))));
}

const percentOf = (part) => (part < 0.005 ? "< 1% of the land" : `${percent(part)} of the land`);

function drawAbout(facts) {
  const { grid, lonlat } = facts;
  const degrees = Math.abs(grid.convergence_deg);
  const turned = degrees < 0.05 ? "True north is up, too." : `True north lies ${degrees.toFixed(1)}° ${grid.convergence_deg > 0 ? "west" : "east"} of it.`;
  const coarse = grid.step > 1
    ? `The map shows means of ${grid.step} by ${grid.step} cells of the run, ${grid.cell} wide together; sites keep the measures of their own cells.`
    : `Cells are ${grid.cell} wide, those of the run.`;
  fill(byId("page-about"),
    facts.warnings.length ? [make("h2", {}, "Of this run"), make("ul", {}, facts.warnings.map((warning) => make("li", {}, sentence(warning))))] : null,
    make("h2", {}, "Before anyone climbs, digs or opens a box"), cautionList(facts),
    make("h2", {}, "How it was judged"), make("p", {}, facts.caption),
    make("ul", {}, facts.leaves.map((leaf) => make("li", {}, make("b", {}, sentence(leaf.title)), `: ${leaf.basis} (${leaf.evidence}).`, leaf.conflict ? ` Sources conflict: ${leaf.conflict}.` : ""))),
    make("h2", {}, "About the map"),
    make("ul", {},
      make("li", {}, `The map has the run's own grid (${grid.crs}), in metres, grid north up. ${turned}`),
      make("li", {}, coarse),
      make("li", {}, `Longitude and latitude under the pointer are worked out by formula, within ${lonlat.error}.`),
      make("li", {}, "New weights order the listed sites anew. Where better land lies elsewhere, only suitability screen can list it."),
      make("li", {}, `Made from ${facts.run}. Nothing is fetched and nothing is sent. Maps are drawn by Leaflet 1.9.4 (BSD 2-Clause licence, below).`)),
    make("details", {}, make("summary", {}, "Licence of Leaflet"), make("pre", {}, byId("licence").textContent)));
}
