// A site's horizon, and the ways of the sun over it.

const SVG = "http://www.w3.org/2000/svg";
const SKY = { left: 34, top: 8, width: 320, height: 150, foot: 22 };
const POINTS = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"];

function drawn(tag, attributes, ...children) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  element.append(...children);
  return element;
}

function skyChart(site, suns) {
  if (!site.horizon) return null;
  const middle = site.lat >= 0 ? 180 : 0;
  const x = (azimuth) => SKY.left + ((((azimuth - middle + 180) % 360) + 360) % 360 / 360) * SKY.width;
  const y = (altitude) => SKY.top + (1 - Math.max(0, altitude) / 90) * SKY.height;
  const days = suns[site.sun] || [];
  const told = `Horizon of site ${site.rank} and the sun on ${days.map((day) => day.day).join(", ")}`;
  const chart = drawn("svg", {
    viewBox: `0 0 ${SKY.left + SKY.width + 8} ${SKY.top + SKY.height + SKY.foot}`, role: "img", class: "sky", "aria-label": told,
  });
  for (let altitude = 0; altitude <= 90; altitude += 30) {
    chart.append(
      drawn("line", { x1: SKY.left, x2: SKY.left + SKY.width, y1: y(altitude), y2: y(altitude), class: "rule" }),
      drawn("text", { x: SKY.left - 4, y: y(altitude) + 4, "text-anchor": "end" }, `${altitude}°`),
    );
  }
  for (let k = 0; k <= 8; k++) {
    const at = SKY.left + (k / 8) * SKY.width;
    const name = POINTS[(k + (middle === 180 ? 0 : 4)) % 8];
    chart.append(
      drawn("line", { x1: at, x2: at, y1: SKY.top, y2: SKY.top + SKY.height, class: "rule" }),
      drawn("text", { x: at, y: SKY.top + SKY.height + 15, "text-anchor": "middle" }, name),
    );
  }
  days.forEach((day, k) => chart.append(drawn("path", { d: sunWay(day, x, y), class: `sun sun-${k}` })));
  const outline = [...Array(361).keys()].map((k) => {
    const azimuth = middle - 180 + k;
    const at = SKY.left + (k / 360) * SKY.width;
    return `${at.toFixed(1)},${y(site.horizon[((azimuth % 360) + 360) % 360] / 10).toFixed(1)}`;
  });
  const foot = SKY.top + SKY.height;
  chart.append(drawn("path", { d: `M${SKY.left},${foot}L${outline.join("L")}L${SKY.left + SKY.width},${foot}Z`, class: "horizon" }));
  const facing = site.advice && site.advice.facing;
  if (facing) {
    chart.append(drawn("line", { x1: x(facing.true_deg), x2: x(facing.true_deg), y1: SKY.top, y2: foot, class: "facing" }));
  }
  return make(
    "figure", {}, chart,
    make("figcaption", {},
      make("span", { class: "sign horizon-sign" }), "land, trees and buildings ",
      ...days.flatMap((day, k) => [make("span", { class: `sign sun-sign-${k}` }), `sun on ${day.day} `]),
      ...(facing ? [make("span", { class: "sign facing-sign" }), "the box looks here"] : [])),
  );
}

function sunWay(day, x, y) {
  const points = day.azimuth.map((azimuth, k) => [x(azimuth), y(day.altitude[k])]).sort((one, other) => one[0] - other[0]);
  return points.map(([at, up], k) => `${k ? "L" : "M"}${at.toFixed(1)},${up.toFixed(1)}`).join("");
}
