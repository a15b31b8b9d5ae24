// The judgement, as the program makes it: value functions, then a tree of ways to combine.

const MEAN = "weighted mean";
const GEOMETRIC = "weighted geometric mean";
const LIMITING = "limiting criterion";
const ORDERED = "ordered weighted mean";
const CHUNK = 8192; // cells judged together, so that what is between stays in the cache

function valueOf(measure, curve) {
  if (measure !== measure) return NaN;
  const { kind, knots } = curve;
  if (kind === "steps") {
    const at = Math.fround(measure); // measures are kept in single precision
    let value = curve.below;
    for (const [start, then] of knots) if (at >= Math.fround(start)) value = then;
    return value;
  }
  if (kind === "logistic") {
    const steepness = Math.log(9) / (knots[1][0] - knots[0][0]);
    return 1 / (1 + Math.exp(-(measure - knots[0][0]) * steepness));
  }
  return interpolated(measure, knots.map((knot) => knot[0]), knots.map((knot) => knot[1]));
}

// The value of each code of a criterion's raster.
function tableOf(leaf) {
  const { codes, measures } = leaf.scale;
  const table = new Float32Array(Math.round(codes[codes.length - 1]) + 1);
  const places = leaf.curve.knots.map((knot) => knot[0]);
  const values = leaf.curve.knots.map((knot) => knot[1]);
  for (let code = 0; code < table.length; code++) {
    const measure = code === 0 ? NaN : interpolated(code, codes, measures);
    table[code] = leaf.curve.kind === "linear" ? interpolated(measure, places, values) : valueOf(measure, leaf.curve);
  }
  return table;
}

function counted(branch) {
  return branch.parts.filter((part) => part.share > 0);
}

// The weights of a group's parts as shares that add up to 1; down the tree.
function share(branch) {
  const all = branch.parts.reduce((sum, part) => sum + part.weight, 0);
  for (const part of branch.parts) {
    part.share = part.weight / all;
    if (part.parts) share(part);
  }
}

// The score of one place by its criteria's values.
function scoreOf(branch, values) {
  const parts = counted(branch);
  const own = parts.map((part) => (part.parts ? scoreOf(part, values) : values[part.leaf]));
  const shares = parts.map((part) => part.share);
  if (branch.by === LIMITING) return own.some((v) => v !== v) ? NaN : Math.min(1, ...own);
  if (branch.by === GEOMETRIC) return own.reduce((product, v, k) => product * v ** shares[k], 1);
  if (branch.by === ORDERED) return orderedMean(own, shares, branch.order_weights);
  return own.reduce((sum, v, k) => sum + v * shares[k], 0);
}

// Values and shares are put in order, the highest value first; of equals the heavier.
function orderedMean(values, shares, orderWeights) {
  for (let k = 1; k < values.length; k++) {
    const value = values[k];
    const own = shares[k];
    let at = k - 1;
    while (at >= 0 && (values[at] < value || (values[at] === value && shares[at] < own))) {
      values[at + 1] = values[at];
      shares[at + 1] = shares[at];
      at--;
    }
    values[at + 1] = value;
    shares[at + 1] = own;
  }
  let sum = 0;
  let all = 0;
  for (let k = 0; k < values.length; k++) {
    const weight = shares[k] * orderWeights[k];
    sum += weight * values[k];
    all += weight;
  }
  return sum / all;
}

// Scores of many cells: `codes` has an array for each criterion, `tables` the values of its codes.
function scoreCells(tree, codes, tables, scores) {
  const plan = planned(tree, tables);
  for (let start = 0; start < scores.length; start += CHUNK) {
    const count = Math.min(CHUNK, scores.length - start);
    const found = combined(plan, codes, start, count);
    for (let i = 0; i < count; i++) scores[start + i] = found[i];
  }
}

// A branch with what does not change from chunk to chunk.
function planned(branch, tables) {
  const parts = counted(branch);
  return {
    by: branch.by,
    orderWeights: branch.order_weights,
    shares: parts.map((part) => part.share),
    found: new Float64Array(CHUNK),
    parts: parts.map((part) => {
      if (part.parts) return { branch: planned(part, tables) };
      let table = tables[part.leaf];
      if (branch.by === MEAN) table = table.map((value) => value * part.share);
      if (branch.by === GEOMETRIC) table = table.map((value) => Math.log(value) * part.share);
      return { leaf: part.leaf, table, values: branch.by === ORDERED ? new Float64Array(CHUNK) : null };
    }),
  };
}

function combined(plan, codes, start, count) {
  const found = plan.found;
  if (plan.by === ORDERED) return inOrder(plan, codes, start, count);
  found.fill(plan.by === LIMITING ? 1 : 0, 0, count);
  plan.parts.forEach((part, k) => {
    if (part.branch) {
      addBranch(plan.by, found, combined(part.branch, codes, start, count), plan.shares[k], count);
    } else {
      addLeaf(plan.by, found, codes[part.leaf], part.table, start, count);
    }
  });
  if (plan.by === GEOMETRIC) for (let i = 0; i < count; i++) found[i] = Math.exp(found[i]);
  return found;
}

function addLeaf(by, found, codes, table, start, count) {
  if (by !== LIMITING) {
    for (let i = 0; i < count; i++) found[i] += table[codes[start + i]];
    return;
  }
  for (let i = 0; i < count; i++) {
    const value = table[codes[start + i]];
    if (!(value >= found[i]) && found[i] === found[i]) found[i] = value; // the lowest, or missing
  }
}

function addBranch(by, found, values, own, count) {
  for (let i = 0; i < count; i++) {
    const value = values[i];
    if (by === MEAN) found[i] += value * own;
    else if (by === GEOMETRIC) found[i] += Math.log(value) * own;
    else if (!(value >= found[i]) && found[i] === found[i]) found[i] = value;
  }
}

function inOrder(plan, codes, start, count) {
  const columns = plan.parts.map((part) => {
    if (part.branch) return combined(part.branch, codes, start, count);
    const own = codes[part.leaf];
    for (let i = 0; i < count; i++) part.values[i] = part.table[own[start + i]];
    return part.values;
  });
  const many = columns.length;
  const values = new Array(many);
  const shares = new Array(many);
  for (let i = 0; i < count; i++) {
    for (let k = 0; k < many; k++) {
      values[k] = columns[k][i];
      shares[k] = plan.shares[k];
    }
    plan.found[i] = orderedMean(values, shares, plan.orderWeights);
  }
  return plan.found;
}

// The criterion of the lowest value that is not at its best; of equals the heaviest.
function limitingLeaf(tree, values) {
  let limit = null;
  for (const { leaf, share: own } of weighedLeaves(tree, 1)) {
    const value = values[leaf] === values[leaf] ? values[leaf] : -1;
    if (own <= 0 || value >= 0.999) continue;
    if (!limit || value < limit.value || (value === limit.value && own > limit.own)) limit = { leaf, value, own };
  }
  return limit ? limit.leaf : null;
}

function weighedLeaves(branch, above) {
  return branch.parts.flatMap((part) =>
    part.parts ? weighedLeaves(part, above * part.share) : [{ leaf: part.leaf, share: above * part.share }],
  );
}
