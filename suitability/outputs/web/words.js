// Elements and words. What comes from data is only ever set as text.

function make(tag, options = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(options)) {
    if (value === null || value === undefined || value === false) continue;
    if (name === "on") for (const [event, act] of Object.entries(value)) element.addEventListener(event, act);
    else if (name === "class") element.className = value;
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children.flat(Infinity)) {
    if (child !== null && child !== undefined) element.append(child); // a string becomes text
  }
  return element;
}

function byId(id) {
  return document.getElementById(id);
}

function fill(element, ...children) {
  element.replaceChildren(...children.flat(Infinity).filter((child) => child !== null && child !== undefined));
}

const known = (value) => value !== null && value !== undefined && value === value;
// A sentence begins with a capital, unless it begins with the name of a layer.
const sentence = (text) => (/^\w*_/.test(text) ? text : text.charAt(0).toUpperCase() + text.slice(1));
const grouped = (number, digits) =>
  number.toLocaleString("en-US", { minimumFractionDigits: digits, maximumFractionDigits: digits });

function measureInWords(measure, unit) {
  if (!known(measure)) return "–";
  const shown = measure * unit.factor + unit.offset;
  const digits = unit.unit === "%" || Math.abs(shown) >= 20 ? 0 : Math.abs(shown) >= 1 || shown === 0 ? 1 : 2;
  const number = grouped(shown, shown === 0 ? 0 : digits);
  return unit.unit ? `${number}${"%°".includes(unit.unit) ? "" : "\u00a0"}${unit.unit}` : number;
}

const valueInWords = (value) => (known(value) ? value.toFixed(2) : "–");
const scoreInWords = (score) => (known(score) ? score.toFixed(3) : "–");
const percent = (shared) => `${Math.round(shared * 100)}%`;

function placeInWords(lat, lon) {
  return `${Math.abs(lat).toFixed(6)}° ${lat < 0 ? "S" : "N"}, ${Math.abs(lon).toFixed(6)}° ${lon < 0 ? "W" : "E"}`;
}

function speak(text) {
  byId("spoken").textContent = text;
}
