// The weights and ways to combine, to be moved, and what that changes.

const WAYS = [MEAN, GEOMETRIC, LIMITING];

// The tree of the run with weights that can be moved, in parts of 100.
function movable(branch) {
  return {
    ...branch,
    parts: branch.parts.map((part) => ({ ...(part.parts ? movable(part) : part), weight: Number((part.share * 100).toPrecision(6)) })),
  };
}

class Weights {
  constructor(facts, changed) {
    this.facts = facts;
    this.changed = changed;
    this.saved = movable(facts.tree);
    share(this.saved);
    this.reset();
  }

  reset() {
    this.tree = movable(this.facts.tree);
    share(this.tree);
    this.isSaved = true;
  }

  touch() {
    share(this.tree);
    this.isSaved = alike(this.tree, this.saved);
    this.changed();
    this.tell();
  }

  draw() {
    this.told = [];
    const page = byId("page-weights");
    this.summary = make("p", { class: "summary" });
    this.yaml = make("textarea", { readonly: true, rows: 8, spellcheck: "false", "aria-label": "The weights as YAML" });
    fill(page,
      make("p", { class: "note" }, "Move a weight: the map and the order of the sites follow. Weights count in proportion; what the curves and exclusions say stays as the run has it."),
      this.fieldset(this.tree, this.saved),
      this.summary,
      make("p", { class: "buttons" },
        make("button", { type: "button", id: "undo", on: { click: () => this.undo() } }, "Back to the saved run"),
        make("button", { type: "button", id: "copy", class: "main", on: { click: () => this.copy() } }, "Copy these weights as YAML")),
      make("details", {}, make("summary", {}, "The YAML"), make("p", { class: "quiet" }, "In the run file, put it in the place of combine, weighing and criteria, then run suitability screen."), this.yaml));
    this.tell();
  }

  undo() {
    this.reset();
    this.draw();
    this.touch();
    byId("undo").focus();
  }

  fieldset(branch, saved) {
    const isTop = branch.name === this.facts.tree.name;
    const ways = [...WAYS, ...(saved.by === ORDERED ? [ORDERED] : [])];
    const select = make("select", { "aria-label": `How ${isTop ? "the criteria" : branch.name} combine` },
      ways.map((way) => make("option", { value: way, selected: way === branch.by }, way)));
    select.addEventListener("change", () => this.combine(branch, saved, select.value));
    return make("fieldset", {},
      make("legend", {}, isTop ? "Criteria" : branch.name),
      make("label", { class: "way" }, "Combined by ", select),
      branch.parts.map((part, k) => this.part(branch, part, saved.parts[k])));
  }

  combine(branch, saved, way) {
    branch.by = way;
    // Order weights are for as many criteria as counted in the run.
    if (way === ORDERED) branch.parts.forEach((part, k) => (part.weight = saved.parts[k].weight));
    this.draw();
    this.touch();
  }

  part(branch, part, saved) {
    const leaf = part.parts ? null : this.facts.leaves[part.leaf];
    const title = leaf ? leaf.title : part.name;
    const isFixed = branch.by === ORDERED && saved.share === 0;
    const least = branch.by === ORDERED && saved.share > 0 ? 1 : 0;
    const options = { min: least, max: 100, step: 1, disabled: isFixed, value: Number(part.weight.toPrecision(4)) };
    const slider = make("input", { type: "range", ...options, "aria-label": `Weight of ${title}` });
    const number = make("input", { type: "number", ...options, step: "any", "aria-label": `Weight of ${title}, as a number` });
    const told = make("output", {});
    const set = (given, from) => {
      let weight = Math.min(1e6, Math.max(least, Number(given) || 0));
      weight = Number(weight.toPrecision(6));
      const others = branch.parts.reduce((sum, each) => sum + (each === part ? 0 : each.weight), 0);
      if (others + weight <= 0) weight = 1; // something has to count
      part.weight = weight;
      if (from !== slider || Number(slider.value) !== weight) slider.value = weight;
      if (from !== number) number.value = weight;
      this.touch();
    };
    slider.addEventListener("input", () => set(slider.value, slider));
    number.addEventListener("input", () => number.value !== "" && set(number.value, number));
    number.addEventListener("change", () => (number.value = Number(part.weight.toPrecision(4))));
    this.told.push(() => {
      told.textContent = branch.by === LIMITING && part.share > 0 ? "counts" : percent(part.share);
      told.classList.toggle("moved", Math.abs(part.share - saved.share) > 0.0005);
      told.title = `saved run: ${percent(saved.share)}`;
    });
    return make("div", { class: "part" },
      make("div", { class: "name" }, make("span", {}, sentence(title)), told),
      make("div", { class: "move" }, slider, number),
      leaf ? make("details", {}, make("summary", {}, `Where it comes from (${leaf.evidence})`), make("p", {}, leaf.basis), leaf.conflict ? make("p", {}, `Sources conflict: ${leaf.conflict}`) : null) : null,
      part.parts ? this.fieldset(part, saved) : null);
  }

  tell() {
    for (const tell of this.told) tell();
    this.yaml.value = judgementInYaml(this.facts, this.tree, this.saved);
    byId("undo").disabled = this.isSaved;
  }

  say(text) {
    this.summary.textContent = text;
  }

  async copy() {
    let done = false;
    try {
      await navigator.clipboard.writeText(this.yaml.value);
      done = true;
    } catch {
      this.yaml.closest("details").open = true;
      this.yaml.focus();
      this.yaml.select();
      done = document.execCommand("copy");
    }
    byId("copy").textContent = done ? "Copied" : "Selected below: copy it from there";
    speak(byId("copy").textContent);
    setTimeout(() => (byId("copy").textContent = "Copy these weights as YAML"), 2500);
  }
}

function alike(branch, saved) {
  return branch.by === saved.by && branch.parts.every((part, k) => {
    const own = saved.parts[k];
    return Math.abs(part.share - own.share) < 1e-9 && (!part.parts || alike(part, own));
  });
}
