// Look-alikes together: all of them over time as a picture, the least and the greatest, the spread.

const ramp = [[28, 42, 84], [38, 96, 134], [58, 150, 139], [133, 193, 122], [232, 220, 140]];

function rampColour(share) {
  const at = Math.min(Math.max(share, 0), 1) * (ramp.length - 1);
  const i = Math.min(Math.floor(at), ramp.length - 2);
  return ramp[i].map((c, k) => Math.round(c + (ramp[i + 1][k] - c) * (at - i)));
}

function rampCss() {
  return "linear-gradient(90deg, " + ramp.map((c) => "rgb(" + c.join(",") + ")").join(", ") + ")";
}

// Ends of the colours: of the usual values where some are far from them, else all but the most
// extreme hundredth at either end.
function colourEnds(rows) {
  const usual = usualRange(rows.flat());
  if (usual && usual[1] > usual[0]) return usual;
  const all = rows.flat().filter((v) => v !== null).sort((a, b) => a - b);
  if (all.length === 0) return [0, 1];
  const low = all[Math.floor(all.length * 0.01)];
  const high = all[Math.floor((all.length - 1) * 0.99)];
  return high > low ? [low, high] : [low - 1, high + 1];
}

// One pixel column shows the middle of all buckets in it.
function paintCells(canvas, rows, grid, ends) {
  const width = canvas.width;
  const context = canvas.getContext("2d");
  const image = context.createImageData(width, rows.length);
  const first = timeView.whole[0];
  for (let y = 0; y < rows.length; ++y) {
    for (let x = 0; x < width; ++x) {
      const t = (share) => timeView.from + (timeView.to - timeView.from) * share;
      const from = Math.floor((t(x / width) - first) / grid.step_s);
      const to = Math.max(from + 1, Math.floor((t((x + 1) / width) - first) / grid.step_s));
      let sum = 0;
      let n = 0;
      for (let i = Math.max(from, 0); i < Math.min(to, grid.count); ++i) {
        if (rows[y][i] !== null) { sum += rows[y][i]; ++n; }
      }
      if (n === 0) continue;
      const [r, g, b] = rampColour((sum / n - ends[0]) / (ends[1] - ends[0]));
      image.data.set([r, g, b, 255], (y * width + x) * 4);
    }
  }
  context.putImageData(image, 0, 0);
}

function cellPicture(group, rows, grid) {
  const height = Math.min(Math.max(rows.length * 11, 90), 480);
  const canvas = make("canvas", {height: rows.length, width: 900, style: "height:" + height + "px"});
  const ends = colourEnds(rows);
  const readout = make("span", {class: "readout"});
  const unit = group.members[0].unit;
  const box = make("div", {class: "plot cells", tabindex: "0", role: "group",
    "aria-label": group.name + ": all over time. Picture. Plus and minus zoom, arrows move, 0 shows all."}, canvas);
  const paint = () => paintCells(canvas, rows, grid, ends);
  box.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (zoomTime(event.key)) event.preventDefault();
  });
  box.addEventListener("mousemove", (event) => {
    const area = canvas.getBoundingClientRect();
    const t = timeView.from + (timeView.to - timeView.from) * (event.clientX - area.left) / area.width;
    const i = Math.min(Math.max(Math.floor((t - timeView.whole[0]) / grid.step_s), 0), grid.count - 1);
    const y = Math.min(Math.max(Math.floor((event.clientY - area.top) / area.height * rows.length), 0), rows.length - 1);
    readout.textContent = moment(t, 0.1) + "  " + group.members[y].name + " " + withUnit(rows[y][i], unit, 5);
  });
  box.addEventListener("mouseleave", () => { readout.textContent = ""; });
  timeView.listeners.push(paint);
  paint();
  const label = (text) => make("span", null, text);
  return make("figure", {class: "plot-figure"},
    make("figcaption", null, make("span", null, group.members[0].name + " at the top, " + group.members.at(-1).name + " at the bottom"), readout),
    make("div", {class: "cell-frame"}, box),
    make("div", {class: "ramp"}, label(withUnit(ends[0], unit)), make("span", {class: "ramp-bar", style: "background:" + rampCss()}), label(withUnit(ends[1], unit)),
      make("span", {class: "quiet"}, "values beyond the ends have the end colours")));
}

// The least and the greatest of all, each keeping its last value over short holes.
function envelope(all, count) {
  const low = new Array(count).fill(undefined);
  const high = new Array(count).fill(undefined);
  for (const one of all) {
    let least = null;
    let greatest = null;
    for (let i = 0; i < count; ++i) {
      if (one.low[i] !== undefined) [least, greatest] = [one.low[i], one.high[i]];
      if (least === null) continue;
      if (low[i] === undefined || least < low[i]) low[i] = least;
      if (high[i] === undefined || greatest > high[i]) high[i] = greatest;
    }
  }
  return {low, high};
}

function spreadOf(rows, count) {
  return Array.from({length: count}, (_, i) => {
    let low = Infinity;
    let high = -Infinity;
    let n = 0;
    for (const row of rows) {
      if (row[i] === null) continue;
      low = Math.min(low, row[i]);
      high = Math.max(high, row[i]);
      ++n;
    }
    return n === rows.length ? high - low : undefined;
  });
}

function cellGroup(group, grid) {
  const all = group.members.map((m) => joinHoles(unpack(m.values, grid.count)));
  const rows = all.map(heldMiddles);
  const unit = group.members[0].unit;
  const spread = spreadOf(rows, grid.count);
  return make("article", {class: "cell-group"}, make("h3", null, group.name + ", " + group.members.length + " of them"),
    cellPicture(group, rows, grid),
    extremePlot({name: group.name + ": minimum and maximum of all", caption: "Minimum and maximum of all", height: 150},
      grid.times, envelope(all, grid.count), unit),
    plot({name: group.name + ": spread", caption: "Spread: the maximum minus the minimum, each at the middle of its step of time",
      height: 130, time: true, data: [grid.times, spread], series: [lineSeries("spread", "plot-line")], yLabel: unit,
      outside: {low: spread, high: spread, unit},
      y: (u, low, high) => [0, (high || 1) * 1.08],
      say: (u, i) => moment(grid.times[i], 0.01) + "  " + withUnit(spread[i], unit, 4)}));
}

function cellsSection(page, grid) {
  const groups = grouped(page.signals.filter((s) => s.values && s.type !== "state")).filter((g) => g.members.length >= 4);
  if (groups.length === 0) return null;
  return section("cells", "Side by side", "Signals of one kind, all over time: one row each.", groups.map((g) => cellGroup(g, grid)));
}
