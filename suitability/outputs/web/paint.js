// Pictures of the land.

const OUT = "#b3188a"; // land that a reason rules out
const RELIEF = { light: [1, 0], dark: [0.62, 0.02] }; // what relief is multiplied by, and added to it

// Paints what is asked for onto a canvas of the land's cells.
class Painter {
  constructor(land, canvas) {
    this.land = land;
    canvas.width = land.cols;
    canvas.height = land.rows;
    this.context = canvas.getContext("2d");
    this.image = this.context.createImageData(land.cols, land.rows);
    this.pixels = new Uint32Array(this.image.data.buffer);
    this.what = null;
    this.theme = null;
  }

  show(what, theme) {
    const { land } = this;
    if (what.kind !== "score" || this.what !== "score" || this.theme !== theme) this.paintRelief(theme);
    this.what = what.kind;
    this.theme = theme;
    if (what.kind === "score") this.paintClasses(land.cells, land.score, this.scoreClass());
    if (what.kind === "change") this.paintChange(what.ends);
    if (what.kind === "leaf") this.paintLeaf(what.leaf);
    if (what.kind === "reason") this.paintReason(what.bit);
    this.context.putImageData(this.image, 0, 0);
  }

  paintRelief(theme) {
    const { relief_darkest: darkest, relief_shades: shades } = this.land.facts.colours;
    const [times, plus] = RELIEF[theme];
    const greys = Array.from({ length: shades }, (_, shade) => {
      const light = Math.round(255 * (plus + times * (darkest + ((1 - darkest) * shade) / (shades - 1))));
      return pixelOf([light, light, light]);
    });
    const { relief } = this.land;
    for (let i = 0; i < relief.length; i++) this.pixels[i] = greys[relief[i]];
  }

  scoreClass() {
    const colours = this.land.facts.colours.score;
    return { colours, first: this.land.lowest, width: (1 - this.land.lowest) / colours.length };
  }

  // Relief moves a colour by less than half a class, so that it can be read off the key.
  paintClasses(cells, values, { colours, first, width }) {
    const { relief, facts } = this.land;
    const shades = facts.colours.relief_shades;
    const many = colours.length;
    const table = new Uint32Array(shades * many);
    for (let shade = 0; shade < shades; shade++) {
      const light = 0.96 + (0.04 * shade) / (shades - 1);
      colours.forEach((colour, k) => {
        table[shade * many + k] = pixelOf(rgbOf(colour).map((part) => Math.round(part * light)));
      });
    }
    const steps = 1 / width;
    for (let k = 0; k < cells.length; k++) {
      const value = values[k];
      if (value !== value) continue;
      let at = Math.floor((value - first) * steps + 1e-6);
      at = at < 0 ? 0 : at >= many ? many - 1 : at;
      this.pixels[cells[k]] = table[relief[cells[k]] * many + at];
    }
  }

  paintChange(ends) {
    const { cells, score, saved, facts } = this.land;
    const palette = facts.colours.change.map((colour) => pixelOf(rgbOf(colour)));
    for (let k = 0; k < cells.length; k++) {
      const by = score[k] - saved[k];
      if (by === by) this.pixels[cells[k]] = palette[changeClass(by, ends)];
    }
  }

  paintLeaf(leaf) {
    const { codes, tables, facts } = this.land;
    const cells = Int32Array.from(codes[leaf].keys());
    const values = Float32Array.from(codes[leaf], (code) => tables[leaf][code]); // NaN: not painted
    const colours = facts.colours.score;
    this.paintClasses(cells, values, { colours, first: 0, width: 1 / colours.length });
  }

  paintReason(bit) {
    const holds = this.land.facts.sums.map((bits) => Math.floor(bits / 2 ** bit) % 2 === 1);
    const { sums } = this.land;
    const colour = pixelOf(rgbOf(OUT));
    for (let i = 0; i < sums.length; i++) if (holds[sums[i]]) this.pixels[i] = colour;
  }
}

function rgbOf(colour) {
  return [1, 3, 5].map((at) => parseInt(colour.slice(at, at + 2), 16));
}

function pixelOf([red, green, blue]) {
  return ((255 << 24) | (blue << 16) | (green << 8) | red) >>> 0;
}

// Classes of a change: three of falls, one about 0, three of rises; `ends` lie on either side.
function changeClass(by, ends) {
  const size = Math.abs(by);
  const far = size < ends[0] ? 0 : size < ends[1] ? 1 : size < ends[2] ? 2 : 3;
  return by < 0 ? 3 - far : 3 + far;
}
