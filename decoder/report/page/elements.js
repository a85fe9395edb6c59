// Making elements. Text only ever goes in as text: whatever a capture calls its channels, no name
// becomes markup.

function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  for (const child of children.flat(Infinity)) {
    if (child === null || child === undefined || child === false) continue;
    element.append(child instanceof Node ? child : String(child));
  }
  return element;
}

function make(tag, attributes, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

function draw(tag, attributes, ...children) {
  return fill(document.createElementNS("http://www.w3.org/2000/svg", tag), attributes, children);
}

// columns: [{title, right, names, of(row)}]; a wide table scrolls in its own frame, also by keyboard.
function table(caption, columns, rows, attributes) {
  const head = make("tr", null, columns.map((c) =>
    make("th", {scope: "col", class: c.right ? "right" : null}, c.title)));
  const naming = Math.max(columns.findIndex((c) => c.names), 0);  // the column that names the row
  const body = rows.map((row) => make("tr", null, columns.map((c, i) =>
    make(i === naming ? "th" : "td", {scope: i === naming ? "row" : null, class: c.right ? "right" : null},
      c.of(row)))));
  return make("div", {class: "scroll", tabindex: "0", role: "region", "aria-label": caption},
    make("table", attributes, make("caption", null, caption), make("thead", null, head),
      make("tbody", null, body)));
}

function badge(word, kind) {
  return make("span", {class: "badge " + kind}, word);
}

function verdictBadge(verdict) {
  if (!verdict) return null;
  return badge(verdict, {strong: "good", weak: "warn", ambiguous: "warn"}[verdict] || "plain");
}

function facts(pairs) {
  return make("dl", {class: "facts"}, pairs.filter((p) => p && p[1] !== null && p[1] !== "")
    .map(([name, value]) => make("div", null, make("dt", null, name), make("dd", null, value))));
}

const sections = [];

// A section of the page and its line in the contents.
function section(id, title, lead, ...children) {
  const element = make("section", {id, "aria-labelledby": id + "-title"},
    make("h2", {id: id + "-title"}, title), lead ? make("p", {class: "lead"}, lead) : null,
    children);
  sections.push({id, title});
  return element;
}
