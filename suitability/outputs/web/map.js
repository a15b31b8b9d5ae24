// The map: the run's own grid in metres, north up, so that no cell is drawn anew elsewhere.

const CanvasOverlay = L.ImageOverlay.extend({
  _initImage() {
    this._image = this._url; // a canvas takes the place of an image
    L.DomUtil.addClass(this._image, "leaflet-image-layer");
    if (this._zoomAnimated) L.DomUtil.addClass(this._image, "leaflet-zoom-animated");
    this._image.onselectstart = L.Util.falseFn;
    this._image.onmousemove = L.Util.falseFn;
  },
});

const LINES = {
  water: (colours) => ({ color: colours.water, weight: 2, fillOpacity: 0.15 }),
  boundary: () => ({ color: "#1a1a1a", weight: 2, dashArray: "8 4 2 4", fill: false }),
  buildings: (colours) => ({ color: colours.building, weight: 1, fillOpacity: 0.9 }),
  keep_outs: () => ({ color: "#1a1a1a", weight: 1.5, dashArray: "2 4", fillOpacity: 0.05 }),
  existing_boxes: () => ({ color: "#1a1a1a", weight: 1.5, radius: 4, fillColor: "#ffffff", fillOpacity: 1 }),
  wires: () => ({ color: "#b3188a", weight: 1.5 }),
};

// Where a disc may stand beside its site, nearest first: none hides another. [pixels]
const DISC = 30;
const BESIDE = [[0, 0]];
for (let far = 10; far <= 70; far += 6) {
  for (let turn = 0; turn < 16; turn += 1) BESIDE.push([far * Math.cos(turn * Math.PI / 8), far * Math.sin(turn * Math.PI / 8)]);
}

class PageMap {
  constructor(facts, canvas) {
    this.facts = facts;
    const { grid } = facts;
    this.map = L.map("map", {
      crs: L.CRS.Simple, attributionControl: false, zoomSnap: 0.25, zoomDelta: 0.5, minZoom: -12, maxZoom: 4,
      preferCanvas: true, wheelPxPerZoomLevel: 120,
    });
    const bounds = [[grid.height_m - grid.rows * grid.cell_m, 0], [grid.height_m, grid.cols * grid.cell_m]];
    this.whole = L.latLngBounds([0, 0], [grid.height_m, grid.width_m]);
    new CanvasOverlay(canvas, bounds, { interactive: false }).addTo(this.map);
    this.canvas = canvas;
    this.shapes = Object.fromEntries(facts.shapes.map((shape) => [shape.kind, this.layerOf(shape).addTo(this.map)]));
    L.control.scale({ maxWidth: 130, position: "bottomright" }).addTo(this.map);
    this.pins = new Map();
    this.order = [];
    this.map.on("zoomend", () => {
      this.smooth();
      this.partDiscs();
    });
    new ResizeObserver(() => this.map.invalidateSize({ pan: false, animate: false })).observe(byId("map"));
  }

  // See the land that can bear boxes, all of it.
  frame(land) {
    if (land.cells.length) {
      let [top, bottom, left, right] = [Infinity, -1, Infinity, -1];
      for (const cell of land.cells) {
        const row = Math.floor(cell / land.cols);
        const col = cell - row * land.cols;
        if (row < top) top = row;
        if (row > bottom) bottom = row;
        if (col < left) left = col;
        if (col > right) right = col;
      }
      const y = (row) => this.facts.grid.height_m - row * land.cell;
      this.home = L.latLngBounds([y(bottom + 1), left * land.cell], [y(top), (right + 1) * land.cell]);
    } else {
      this.home = this.whole;
    }
    this.map.fitBounds(this.home, { padding: [18, 18], animate: false });
    this.map.setMinZoom(Math.min(this.map.getZoom(), this.map.getBoundsZoom(this.whole)) - 1);
    this.map.setMaxBounds(this.whole.pad(0.5));
    this.smooth();
  }

  smooth() {
    // Cells stay squares when they are large; many to a pixel are averaged.
    const pixels = 2 ** this.map.getZoom() * this.facts.grid.cell_m;
    this.canvas.style.imageRendering = pixels >= 1 ? "pixelated" : "auto";
  }

  layerOf(shape) {
    const style = { interactive: false, ...LINES[shape.kind](this.facts.colours) };
    const paired = (numbers) => {
      const pairs = [];
      for (let k = 0; k < numbers.length; k += 2) pairs.push([numbers[k + 1], numbers[k]]);
      return pairs;
    };
    const halo = { ...style, color: "#ffffff", opacity: 0.8, weight: style.weight + 2, dashArray: null, fill: false };
    const lines = shape.lines.map(paired);
    const areas = shape.areas.map((rings) => rings.map(paired));
    return L.layerGroup([
      ...(lines.length ? [L.polyline(lines, halo), L.polyline(lines, style)] : []),
      ...(areas.length ? [L.polygon(areas, halo), L.polygon(areas, style)] : []),
      ...shape.points.map(([x, y]) => L.circleMarker([y, x], style)),
    ]);
  }

  showShapes(kind, on) {
    if (on) this.shapes[kind].addTo(this.map);
    else this.shapes[kind].remove();
  }

  // Put the sites on the map, numbered in the order that is given.
  placeSites(order, choose) {
    order.forEach(({ site }, at) => {
      const number = String(at + 1);
      let pin = this.pins.get(site.rank);
      if (!pin) {
        const face = make("span", {});
        const line = make("i", {});
        const icon = L.divIcon({ className: "pin", html: make("div", {}, line, face), iconSize: [28, 28], iconAnchor: [14, 14] });
        const marker = L.marker([site.y, site.x], { icon, keyboard: true, riseOnHover: true }).addTo(this.map);
        marker.on("click", () => choose(site.rank));
        marker.on("keypress", ({ originalEvent: event }) => {
          if (event.key !== "Enter" && event.key !== " ") return;
          event.preventDefault();
          choose(site.rank);
        });
        pin = { face, line, marker };
        this.pins.set(site.rank, pin);
      }
      pin.face.textContent = number;
      pin.marker.setZIndexOffset(10 * (order.length - at));
      pin.marker.getElement().setAttribute("aria-label", `Site ${number} on the map`);
    });
    this.order = order.map(({ site }) => this.pins.get(site.rank));
    this.partDiscs();
  }

  // Discs that would hide one before them step aside, with a line to their site.
  partDiscs() {
    const taken = [];
    for (const { face, line, marker } of this.order) {
      const at = this.map.latLngToLayerPoint(marker.getLatLng());
      const isFree = ([x, y]) => taken.every((other) => Math.hypot(at.x + x - other.x, at.y + y - other.y) >= DISC);
      const [x, y] = BESIDE.find(isFree) || [0, 0];
      taken.push({ x: at.x + x, y: at.y + y });
      face.style.transform = `translate(${x}px, ${y}px)`;
      line.style.width = `${Math.hypot(x, y)}px`;
      line.style.transform = `rotate(${Math.atan2(y, x)}rad)`;
      line.hidden = x === 0 && y === 0;
    }
  }

  choose(site, move) {
    for (const [rank, { marker }] of this.pins) {
      marker.getElement().classList.toggle("chosen", site !== null && rank === site.rank);
    }
    if (site && move) this.map.panInside([site.y, site.x], { padding: [70, 70], animate: !calm() });
  }

  showSites(on) {
    for (const { marker } of this.pins.values()) marker.getElement().hidden = !on;
  }
}

function calm() {
  return matchMedia("(prefers-reduced-motion: reduce)").matches;
}
