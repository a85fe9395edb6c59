// A message as one ribbon of its bits in the order of the wire, from the first byte's most
// significant bit on: brackets under it say whose they are, bars in it how often each moves. It
// breaks only between bytes, so that it fits a phone as well as a wide screen.

const cellWidth = 12;
const cellHeight = 26;
const ribbonTop = 15;   // room for the byte numbers
const bracketTop = ribbonTop + cellHeight + 3;
const ribbonHeight = bracketTop + 20;
const letterWidth = 6.2;  // of the 11 px in which names are written, on the average

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
    (owner ? "; " + owner.name : flips ? "; unexplained" : "");
}

function bitCell(bit, picture, owner, hue) {
  const left = (7 - (bit & 7)) * cellWidth;
  const flips = picture.flips[bit];
  const height = barHeight(flips, picture.frames) * (cellHeight - 4);
  const kind = owner ? hue + (flips ? "" : " still") : flips ? "unexplained" : "nobody";
  const first = owner && owner.bits[0] === bit;
  return draw("g", {class: "bit " + kind}, draw("title", null, bitTitle(bit, picture, owner)),
    draw("rect", {class: "ground", x: left + 0.5, y: ribbonTop, width: cellWidth - 1, height: cellHeight}),
    draw("rect", {class: "bar", x: left + 4, y: ribbonTop + cellHeight - 2 - height, width: cellWidth - 8, height}),
    first ? draw("path", {class: "first", d: "M" + (left + 1) + " " + ribbonTop + "h7l-7 7z"}) : null,
    !owner && flips ? draw("text", {class: "mark", x: left + cellWidth / 2, y: ribbonTop + 11, "text-anchor": "middle"}, "?") : null);
}

// Runs of bits of one owner within a byte, from its most significant bit on.
function runsOf(byte, owners) {
  const runs = [];
  for (let b = 7; b >= 0; --b) {
    const at = owners.findIndex((o) => o.bits.includes(byte * 8 + b));
    const last = runs.at(-1);
    if (last && last.at === at) last.low = b;
    else runs.push({at, high: b, low: b});
  }
  return runs.filter((run) => run.at >= 0);
}

// The byte in which a field has most of its bits: there its name stands.
function nameByte(owner) {
  const bits = new Map();
  for (const bit of owner.bits) bits.set(bit >> 3, (bits.get(bit >> 3) || 0) + 1);
  return [...bits].sort((a, b) => b[1] - a[1] || a[0] - b[0])[0][0];
}

function bracket(byte, run, owner) {
  const left = (7 - run.high) * cellWidth + 1.5;
  const width = (run.high - run.low + 1) * cellWidth - 3;
  const has = (bit) => owner.bits.includes(bit);
  const from = run.high === 7 && has(byte * 8 - 8) ? left - 1.5 : left;  // goes on in the byte before
  const to = run.low === 0 && has(byte * 8 + 15) ? left + width + 1.5 : left + width;
  const path = (from === left ? "M" + left + " " + bracketTop + "v4" : "M" + from + " " + (bracketTop + 4)) +
    "H" + to + (to === left + width ? "v-4" : "");
  const number = String(run.at + 1);
  const full = number + " " + owner.name;
  const fits = byte === nameByte(owner) && full.length * letterWidth < width + 2;
  return draw("g", null, draw("path", {class: "bracket", d: path}),
    draw("text", {class: "name", x: left + width / 2, y: bracketTop + 16, "text-anchor": "middle"}, fits ? full : number));
}

function bytePiece(byte, picture, owners) {
  const pieces = [draw("text", {class: "ruler", x: 1, y: 11}, "byte " + byte)];
  for (let b = 7; b >= 0; --b) {
    const bit = byte * 8 + b;
    const at = owners.findIndex((o) => o.bits.includes(bit));
    pieces.push(bitCell(bit, picture, owners[at], owners[at] && hueOf(owners[at], at)));
  }
  for (const run of runsOf(byte, owners)) pieces.push(bracket(byte, run, owners[run.at]));
  const width = 8 * cellWidth;
  return draw("svg", {class: "bits", viewBox: "0 0 " + width + " " + ribbonHeight, width, height: ribbonHeight, "aria-hidden": "true"}, pieces);
}

function ribbon(message, picture, owners) {
  const words = picture.moving + " bits move, " + picture.unexplained + " of them unexplained";
  const bytes = Array.from({length: picture.flips.length / 8}, (_, byte) => bytePiece(byte, picture, owners));
  return make("div", {class: "ribbon", role: "img", "aria-label": "Bits of " + message.id + ": " + words}, bytes);
}

// What is not known of a field's bits, counted as the table of signals counts it.
function untestedWords(owner, picture) {
  const p = owner.signal === undefined ? null : page.signals[owner.signal].proposal;
  const untested = p && p.same_place ? p.untested : owner.bits.filter((bit) => picture.flips[bit] === 0).length;
  if (!untested || owner.kind === "selector") return "";
  return " " + untested + " of " + owner.bits.length + (p && p.same_place ? " untested" : " never moved");
}

function ownerList(owners, picture) {
  const fits = owners.map((owner, i) => ({owner, i}));
  return make("ol", {class: "owners"}, fits.map(({owner, i}) => {
    const name = owner.signal === undefined ? owner.name
      : make("a", {href: "#signal-" + owner.signal}, owner.name);
    const untested = untestedWords(owner, picture);
    return make("li", null, make("span", {class: "swatch " + hueOf(owner, i)}, String(i + 1)),
      make("span", {class: "owner"}, name, " ", make("span", {class: "mono quiet"}, owner.span),
        untested ? make("span", {class: "quiet"}, untested) : null));
  }), picture.unexplained ? make("li", null, make("span", {class: "swatch unexplained"}, "?"),
    make("span", {class: "owner"}, plural(picture.unexplained, "moving bit is", "moving bits are") + " unexplained")) : null);
}

function pictureCard(message, picture) {
  const owners = ownersOf(message, picture);
  const title = picture.page === undefined ? null
    : make("h4", null, "Page " + picture.page, make("span", {class: "quiet"}, " " + count(picture.frames) + " frames"));
  return make("div", {class: "picture"}, title,
    make("div", {class: "picture-body"}, ribbon(message, picture, owners), ownerList(owners, picture)));
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
    swatch("hue-0", "1", "a signal: the corner marks its most significant bit, the bracket all of them"),
    swatch("hue-counter", "", "counter"), swatch("hue-checksum", "", "checksum"),
    swatch("hue-selector", "", "page selector"), swatch("unexplained", "?", "moves, unexplained"),
    swatch("nobody", "", "never moved"),
    make("li", null, "The bar in a bit is how often it flips, in powers of ten: full in every frame, a fifth less for each tenth of that."));
}

function bitsSection(page) {
  const several = page.bus.buses.length > 1;
  return section("bits", "The bits", "Every message in the order of the wire: from its first byte on, each byte from its most significant bit. What is unexplained stands out. A message with pages is multiplexed: one ribbon a page.",
    bitKey(), page.messages.map((message) => messageCard(message, several)));
}
