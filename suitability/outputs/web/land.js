// The land: its cells, what they measure, how they score.

class Land {
  constructor(facts, codes, sums, relief) {
    const { rows, cols, cell_m: cell } = facts.grid;
    Object.assign(this, { facts, rows, cols, cell, codes, sums, relief });
    this.lowest = facts.lowest; // where the first class of the score starts
    this.cells = this.candidates();
    this.placeOf = new Int32Array(rows * cols).fill(-1);
    this.cells.forEach((cell, k) => (this.placeOf[cell] = k));
    this.own = codes.map((layer) => Uint16Array.from(this.cells, (cell) => layer[cell]));
    this.tables = facts.leaves.map(tableOf);
    this.score = new Float32Array(this.cells.length);
    this.saved = new Float32Array(this.cells.length);
  }

  candidates() {
    const free = this.facts.sums.indexOf(0);
    let count = 0;
    for (let i = 0; i < this.sums.length; i++) count += this.sums[i] === free;
    const cells = new Int32Array(count);
    for (let i = 0, k = 0; i < this.sums.length; i++) if (this.sums[i] === free) cells[k++] = i;
    return cells;
  }

  judge(tree, scores = this.score) {
    scoreCells(tree, this.own, this.tables, scores);
  }

  // By how much scores moved since the run: the most, and the share of the land by more than 0.05.
  moved() {
    let most = 0;
    let far = 0;
    let count = 0;
    for (let k = 0; k < this.score.length; k++) {
      const by = Math.abs(this.score[k] - this.saved[k]);
      if (by !== by) continue;
      count++;
      if (by > most) most = by;
      if (by > 0.05) far++;
    }
    return { most, far: count ? far / count : 0 };
  }

  // Where classes of change end, so that most of the land lies within the last.
  changeEnds() {
    const step = Math.ceil(this.score.length / 5000);
    const sizes = [];
    for (let k = 0; k < this.score.length; k += step) {
      const by = Math.abs(this.score[k] - this.saved[k]);
      if (by === by) sizes.push(by);
    }
    sizes.sort((one, other) => one - other);
    const most = sizes[Math.floor(0.98 * sizes.length)] || 0;
    const { change_scales: scales, change_steps: steps } = this.facts.colours;
    const scale = scales.find((each) => each >= most) || scales[scales.length - 1];
    return steps.map((each) => each * scale);
  }

  // The cell at metres from the grid's lower left corner; -1 outside.
  cellAt(x, y) {
    const row = Math.floor((this.facts.grid.height_m - y) / this.cell);
    const col = Math.floor(x / this.cell);
    return row >= 0 && row < this.rows && col >= 0 && col < this.cols ? row * this.cols + col : -1;
  }

  lonLat(x, y) {
    const { powers, lon, lat } = this.facts.lonlat;
    const u = (2 * x) / this.facts.grid.width_m - 1;
    const v = (2 * y) / this.facts.grid.height_m - 1;
    let east = 0;
    let north = 0;
    powers.forEach(([i, j], k) => {
      const term = u ** i * v ** j;
      east += lon[k] * term;
      north += lat[k] * term;
    });
    return { lon: east, lat: north };
  }

  reasonsAt(cell) {
    const bits = this.facts.sums[this.sums[cell]];
    return this.facts.reasons.filter((reason) => Math.floor(bits / 2 ** reason.bit) % 2 === 1);
  }

  measureAt(leaf, cell) {
    return measureOf(this.codes[leaf][cell], this.facts.leaves[leaf].scale);
  }
}
