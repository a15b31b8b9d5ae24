// Rasters as they lie in the page: base64, raw deflate; low bytes before high ones, and of each
// row what changes from cell to cell.

async function bytesOf(name) {
  const text = atob(document.getElementById(name).textContent);
  const pressed = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) pressed[i] = text.charCodeAt(i);
  const stream = new Blob([pressed]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

async function codesOf(name, rows, cols) {
  const bytes = await bytesOf(name);
  const codes = new Uint16Array(rows * cols);
  for (let row = 0, i = 0; row < rows; row++) {
    let code = 0;
    for (let col = 0; col < cols; col++, i++) {
      code = (code + bytes[i] + (bytes[codes.length + i] << 8)) & 0xffff;
      codes[i] = code;
    }
  }
  return codes;
}

// Straight lines between rising places, level beyond them.
function interpolated(at, places, values) {
  const last = places.length - 1;
  if (!(at > places[0])) return at === at ? values[0] : NaN;
  if (at >= places[last]) return values[last];
  let low = 0;
  let high = last;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (places[middle] <= at) low = middle;
    else high = middle;
  }
  const width = places[high] - places[low];
  return width > 0 ? values[low] + ((values[high] - values[low]) * (at - places[low])) / width : values[high];
}

function measureOf(code, scale) {
  return code === 0 ? NaN : interpolated(code, scale.codes, scale.measures);
}
