// The picture of a message's bits: whose each bit is, and how often it moves.

const cellSize = 27;
const edge = 30;  // room for the byte numbers, and above for the bit numbers

// A bar as high as the share of frames in which the bit flips, on a scale of powers of ten: full
// for every frame, a fifth less for each tenth of that; the rarest flip still shows.
function barHeight(flips, frames) {
  if (flips === 0) return 0;
  return Math.max(0.1, (Math.log10(flips / Math.max(frames - 1, 1)) + 5) / 5);
}

function ownersOf(message, picture) {
  return message.owners.filter((o) => o.page === undefined || picture.page === undefined || o.page === picture.page);
}

function hueOf(owner, index) {
  return owner.kind === "signal" ? "hue-" + index % 8 : "hue-" + owner.kind;
}

function bitTitle(bit, picture, owner) {
  const place = (bit >> 3) + "." + (bit & 7);
  const flips = picture.flips[bit];
  const moves = flips === 0 ? "never moved" : "flips in " + count(flips) + " of " + count(picture.frames) + " frames";
  return place + ": " + moves + ", 1 in " + percent(picture.ones[bit] / Math.max(picture.frames, 1)) +
    (owner ? "; " + owner.name : flips ? "; nobody's yet" : "");
}

function bitCell(bit, picture, owner, mark, hue) {
  const left = edge + (7 - (bit & 7)) * cellSize;
  const top = 18 + (bit >> 3) * cellSize;
  const flips = picture.flips[bit];
  const height = barHeight(flips, picture.frames) * (cellSize - 4);
  const kind = owner ? hue + (flips ? "" : " still") : flips ? "unexplained" : "nobody";
  return draw("g", {class: "bit " + kind}, draw("title", null, bitTitle(bit, picture, owner)),
    draw("rect", {class: "ground", x: left, y: top, width: cellSize - 1, height: cellSize - 1}),
    draw("rect", {class: "bar", x: left + cellSize - 7, y: top + cellSize - 2 - height, width: 5, height}),
    mark ? draw("text", {class: "mark", x: left + 3, y: top + 13}, mark) : null,
    !owner && flips ? draw("text", {class: "mark", x: left + 5, y: top + 17}, "?") : null);
}

function bitSketch(message, picture, owners) {
  const rows = picture.flips.length / 8;
  const cells = [];
  for (let bit = 0; bit < 8; ++bit) {
    cells.push(draw("text", {class: "ruler", x: edge + (7 - bit) * cellSize + cellSize / 2, y: 12,
      "text-anchor": "middle"}, String(bit)));
  }
  for (let byte = 0; byte < rows; ++byte) {
    cells.push(draw("text", {class: "ruler", x: edge - 7, y: 18 + byte * cellSize + 18, "text-anchor": "end"}, String(byte)));
    for (let b = 7; b >= 0; --b) {
      const bit = byte * 8 + b;
      const at = owners.findIndex((o) => o.bits.includes(bit));
      const owner = owners[at];
      cells.push(bitCell(bit, picture, owner, owner && owner.bits[0] === bit ? String(at + 1) : "",
        owner && hueOf(owner, at)));
    }
  }
  const width = edge + 8 * cellSize;
  const height = 18 + rows * cellSize;
  const words = picture.moving + " bits move, " + picture.unexplained + " of them are nobody's yet";
  return draw("svg", {class: "bits", viewBox: "0 0 " + width + " " + height, width, height, role: "img",
    "aria-label": "Bits of " + message.id + ": " + words}, cells);
}

function ownerList(owners, picture) {
  const fits = owners.map((owner, i) => ({owner, i}));
  return make("ol", {class: "owners"}, fits.map(({owner, i}) => {
    const name = owner.signal === undefined ? owner.name
      : make("a", {href: "#signal-" + owner.signal}, owner.name);
    const moved = owner.bits.filter((bit) => picture.flips[bit] > 0).length;
    return make("li", null, make("span", {class: "swatch " + hueOf(owner, i)}, String(i + 1)),
      make("span", {class: "owner"}, name, " ", make("span", {class: "mono quiet"}, owner.span),
        moved < owner.bits.length && owner.kind !== "selector" ? make("span", {class: "quiet"},
          " " + (owner.bits.length - moved) + " of " + owner.bits.length + " never moved") : null));
  }), picture.unexplained ? make("li", null, make("span", {class: "swatch unexplained"}, "?"),
    make("span", {class: "owner"}, plural(picture.unexplained, "moving bit is", "moving bits are") + " nobody's yet")) : null);
}

function pictureCard(message, picture) {
  const owners = ownersOf(message, picture);
  const title = picture.page === undefined ? null
    : make("h4", null, "Page " + picture.page, make("span", {class: "quiet"}, " " + count(picture.frames) + " frames"));
  return make("div", {class: "picture"}, title,
    make("div", {class: "picture-body"}, bitSketch(message, picture, owners), ownerList(owners, picture)));
}

function movingLine(message) {
  const words = explained(message);
  return words === "none move" ? "no bit moves" : words + " moving bits explained";
}

function messageCard(message, several) {
  const notes = [];
  if (message.selector) notes.push("selector " + message.selector);
  if (message.too_many_pages) notes.push("the selector has too many values to be pictured page by page");
  if (message.pages_left_out) notes.push(plural(message.pages_left_out, "page is", "pages are") + " not pictured");
  if (message.transport) notes.push("segmented transport (ISO 15765-2): diagnostics, not signals");
  const line = [plural(message.frames, "frame", "frames"),
    message.frames > 1 ? (message.on_events ? "on events" : "every " + duration(message.period_s)) : null,
    movingLine(message), ...notes].filter(Boolean).join(" · ");
  return make("article", {class: "message", id: message.anchor},
    make("h3", null, make("span", {class: "mono"}, message.id), several ? " on bus " + message.bus : ""),
    make("p", {class: "quiet"}, line),
    make("div", {class: "pictures" + (message.pictures.length > 1 ? " many" : "")},
      message.pictures.map((picture) => pictureCard(message, picture))));
}

function bitKey() {
  const swatch = (kind, text, words) => make("li", null, make("span", {class: "swatch " + kind}, text), words);
  return make("ul", {class: "key"},
    swatch("hue-0", "1", "a signal; the number stands on its most significant bit"),
    swatch("hue-counter", "", "counter"), swatch("hue-checksum", "", "checksum"),
    swatch("hue-selector", "", "page selector"), swatch("unexplained", "?", "moves, and nobody knows why yet"),
    swatch("nobody", "", "never moved"),
    make("li", null, "The bar in a cell is how often the bit flips, in powers of ten: full in every frame, a fifth less for each tenth of that."));
}

function bitsSection(page) {
  const several = page.bus.buses.length > 1;
  return section("bits", "The bits", "Every message from its first byte down, each byte from its most significant bit. What is still unexplained stands out.",
    bitKey(), page.messages.map((message) => messageCard(message, several)));
}
