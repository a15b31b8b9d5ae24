// The criteria with the weights of the page, as a run file has them.

function quoted(text) {
  // JSON's strings are YAML's, but for what YAML takes for the end of a line or does not print.
  return JSON.stringify(text).replace(
    /[\u007f-\u009f\u2028\u2029\ufeff\ufffe\uffff]/g,
    (letter) => `\\u${letter.charCodeAt(0).toString(16).padStart(4, "0")}`,
  );
}

function inline(value) {
  if (typeof value === "string") return quoted(value);
  if (typeof value === "number") return /e/.test(String(value)) ? value.toFixed(12) : String(value);
  if (Array.isArray(value)) return `[${value.map(inline).join(", ")}]`;
  if (value && typeof value === "object") {
    return `{${Object.entries(value).map(([key, own]) => `${quoted(key)}: ${inline(own)}`).join(", ")}}`;
  }
  return String(value);
}

const weightInNumbers = (weight) => Number((weight / 100).toPrecision(6));

function combination(branch) {
  if (branch.by !== ORDERED) return branch.by;
  return inline({ by: ORDERED, order_weights: branch.order_weights });
}

// `stated` is the list of criteria as the run had it, `branch` the same with the page's weights.
function entriesInYaml(stated, branch, saved, indent) {
  return stated.flatMap((entry, k) => {
    const part = branch.parts[k];
    const changed = Math.abs(part.share - saved.parts[k].share) > 1e-6;
    const own = { weight: weightInNumbers(part.weight) };
    const lines = entry.group ? [`group: ${quoted(entry.group)}`] : [`layer: ${entry.layer}`];
    lines.push(`weight: ${inline(own.weight)}`);
    if (entry.group) {
      lines.push(`combine: ${combination(part)}`, "criteria:");
    } else {
      const note = changed ? "; weight changed on the map" : "";
      lines.push(`value: ${inline(entry.value)}`, `evidence: ${entry.evidence}`, `basis: ${quoted(entry.basis + note)}`);
      if (entry.conflict) lines.push(`conflict: ${quoted(entry.conflict)}`);
    }
    const told = lines.map((line, at) => `${indent}${at ? "  " : "- "}${line}`);
    const inner = entry.group ? entriesInYaml(entry.criteria, part, saved.parts[k], `${indent}    `) : [];
    return [...told, ...inner];
  });
}

function judgementInYaml(facts, tree, saved) {
  return [
    "# In the run file, put these lines in the place of combine, weighing and criteria.",
    `# From the map of ${quoted(facts.title)}, ${quoted(facts.run)}.`,
    `combine: ${combination(tree)}`,
    "weighing: null",
    "criteria:",
    ...entriesInYaml(facts.stated.criteria, tree, saved, "  "),
    "",
  ].join("\n");
}
