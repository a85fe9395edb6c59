// A few values far outside the others (what a board says before it knows better, a code that no map
// has named yet) must not press the others into a line: plots are fitted to the usual values, mark
// where others lie, say so in words, and show them all when asked.

// The range of the usual values, or null where all are: where the middle nine tenths take more than
// an eighth of the whole range, where they do not move at all, or where there are too few to tell.
function usualRange(values) {
  const sorted = values.filter(Number.isFinite).sort((a, b) => a - b);
  if (sorted.length < 20) return null;
  const at = (share) => sorted[Math.round(share * (sorted.length - 1))];
  const [low, high] = [at(0.05), at(0.95)];
  const width = high - low;
  if (!(width > 0) || sorted.at(-1) - sorted[0] <= 8 * width) return null;
  const near = sorted.filter((v) => v >= low - 2 * width && v <= high + 2 * width);
  return [near[0], near.at(-1)];
}

// series: {low, high}, one entry a place on the x axis. Null, or what a plot needs to leave values
// out of view: its range, its marks, and the line under it that says so, with the switch.
function outsideView({low, high}, unit, redraw) {
  const usual = usualRange([...low, ...high]);
  if (!usual) return null;
  let all = false;
  const below = low.map((v) => Number.isFinite(v) && v < usual[0]);
  const above = high.map((v) => Number.isFinite(v) && v > usual[1]);
  const out = low.map((_, i) => below[i] || above[i]);
  const ends = [low, high].flat().filter(Number.isFinite);
  const least = ends.reduce((a, b) => Math.min(a, b));
  const greatest = ends.reduce((a, b) => Math.max(a, b));
  const reach = [least < usual[0] ? "down to " + withUnit(least, unit) : "",
    greatest > usual[1] ? "up to " + withUnit(greatest, unit) : ""].filter(Boolean).join(" and ");
  const words = make("span");
  const button = make("button", {type: "button"});
  const say = () => {
    words.textContent = plural(out.filter(Boolean).length, "step of time has", "steps of time have") + " values far from the others, " + reach +
      (all ? ". " : ": out of view, marked at the edge. ");
    button.textContent = all ? "Fit the usual values" : "Show all values";
  };
  button.addEventListener("click", () => { all = !all; say(); redraw(); });
  say();
  return {
    note: make("p", {class: "outside"}, words, button),
    // What is in view along x has `from`..`to`; where none of it is usual all of it is shown.
    clipped: (from, to) => {
      if (all || from === null || to === null) return [from, to];
      const inside = [Math.max(from, usual[0]), Math.min(to, usual[1])];
      return inside[0] <= inside[1] ? inside : [from, to];
    },
    mark: (u) => {
      markEdge(u, below.map((out, i) => out && low[i] < u.scales.y.min), u.bbox.top + u.bbox.height, -1);
      markEdge(u, above.map((out, i) => out && high[i] > u.scales.y.max), u.bbox.top, 1);
    }};
}

// A small arrow at the edge for each stretch of flagged places; `inward` is the way into the plot.
function markEdge(u, flags, edge, inward) {
  const {left, width} = u.bbox;
  const size = 5 * devicePixelRatio;
  u.ctx.save();
  u.ctx.fillStyle = colour("plot-point");
  let last = -Infinity;
  flags.forEach((flag, i) => {
    const x = flag ? u.valToPos(u.data[0][i], "x", true) : NaN;
    if (!(x >= left && x <= left + width) || x - last < size) return;
    last = x;
    u.ctx.beginPath();
    u.ctx.moveTo(x, edge);
    u.ctx.lineTo(x - size, edge + inward * size * 1.6);
    u.ctx.lineTo(x + size, edge + inward * size * 1.6);
    u.ctx.fill();
  });
  u.ctx.restore();
}
