// Plots: made when they come into view, redrawn when theme or width change, zoomed by dragging or
// by keys. Lost stretches of the recording are shaded on every time plot.

const plots = [];
let lostStretches = [];

const watcher = new IntersectionObserver((entries) => {
  for (const entry of entries) if (entry.isIntersecting) entry.target.buildPlot();
}, {rootMargin: "300px"});

const widths = new ResizeObserver((entries) => {
  for (const entry of entries) entry.target.fitPlot();
});

function lineSeries(label, name, options) {
  return {label, stroke: () => colour(name), width: 1.25, points: {show: false}, ...options};
}

// Least and greatest with the stretch between them filled.
function extremeSeries(name) {
  return [lineSeries("least", name), lineSeries("greatest", name)];
}

function extremeBand(name) {
  return [{series: [2, 1], fill: () => colour(name)}];
}

function axes(options) {
  const common = {
    stroke: () => colour("plot-text"), font: "12px " + plotFont, labelFont: "12px " + plotFont,
    grid: {stroke: () => colour("plot-grid"), width: 1},
    ticks: {stroke: () => colour("plot-grid"), width: 1, size: 4}};
  const x = {...common, incrs: options.time ? timeSteps : undefined, size: options.noTimes ? 6 : 28, labelSize: 18, label: options.xLabel,
    values: options.noTimes ? (u, at) => at.map(() => null)
      : options.time ? (u, at, axis, space, step) => at.map((t) => moment(t, step))
      : (u, at) => at.map((v) => figure(v, 6))};
  const y = {...common, size: axisWidth, space: options.noTimes ? 16 : 26, label: options.yLabel, labelSize: 18,
    values: (u, at) => at.map((v) => options.words ? options.words[v] ?? "" : figure(v, 6))};
  if (options.words) {
    y.splits = () => options.words.map((word, i) => i).filter((i) => options.words[i] !== undefined);
    y.values = (u, at) => at.map((v) => String(options.words[v]).slice(0, 9));
  }
  return [x, y];
}

const plotFont = "system-ui, sans-serif";

// Steps between times that a clock has: 1, 2, 5 of what is shorter than ten seconds, then quarters.
const timeSteps = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120,
  300, 600, 900, 1800, 3600, 7200, 14400, 21600, 43200, 86400];

// As wide as its longest figure, and never narrower than on the other plots.
function axisWidth(u, values) {
  return Math.max(62, ...(values || []).map((text) => 14 + 7 * String(text).length));
}

function shadeLost(u) {
  u.ctx.save();
  u.ctx.fillStyle = colour("plot-lost");
  for (const {from, to} of lostStretches) {
    const left = Math.max(u.valToPos(from, "x", true), u.bbox.left);
    const right = Math.min(u.valToPos(to, "x", true), u.bbox.left + u.bbox.width);
    if (right < u.bbox.left || left > u.bbox.left + u.bbox.width) continue;
    u.ctx.fillRect(left, u.bbox.top, Math.max(right - left, 2), u.bbox.height);
  }
  u.ctx.restore();
}

function paddedRange(u, low, high) {
  if (low === null || high === null) return [0, 1];
  const room = (high - low) * 0.06 || Math.abs(high) * 0.01 || 1;
  return [low - room, high + room];
}

// options: {name, height, data, series, bands, time, xLabel, yLabel, words, y, outside, say(u, idx)}
// Answers a figure element; `say` gives the text of its read-out at a point. outside: {low, high,
// unit} of a plot that is fitted to its usual values (outside.js).
function plot(options) {
  const readout = make("span", {class: "readout"});
  const box = make("div", {class: "plot", tabindex: "0", role: "group", style: "height:" + options.height + "px",
    "aria-label": options.name + ". Plot. Plus and minus zoom, arrows move, 0 shows all."});
  const element = make("figure", {class: "plot-figure"},
    make("figcaption", null, make("span", null, options.caption || options.name), readout), box);
  let u = null;
  const refit = () => { if (u) u.setScale("x", {min: u.scales.x.min, max: u.scales.x.max}); };
  const outside = options.outside ? outsideView(options.outside, options.outside.unit, refit) : null;
  if (outside) element.append(outside.note);
  const range = options.y || paddedRange;
  const x = options.data[0];
  const whole = options.time ? timeView.whole : padded(x);
  const view = () => options.time ? [timeView.from, timeView.to] : u ? [u.scales.x.min, u.scales.x.max] : whole;

  box.buildPlot = () => {
    if (u) return;
    const [from, to] = view();
    u = new uPlot({
      width: Math.max(widthFor(box), 120), height: options.height, pxAlign: 1,
      legend: {show: false}, padding: [8, 18, 0, 0],
      scales: {
        x: {time: false, min: from, max: to, range: (_, low, high) => [low ?? whole[0], high ?? whole[1]]},
        y: {range: (plotted, low, high) => range(plotted, ...(outside ? outside.clipped(low, high) : [low, high]))}},
      axes: axes(options), series: [{}, ...options.series], bands: options.bands,
      cursor: {
        y: false, points: {size: 6}, drag: {x: true, y: false, uni: 8},
        bind: {dblclick: () => () => { reset(); return null; }},
        sync: options.time ? {key: "time", setSeries: false,
          filters: {pub: (type) => type === "mousemove" || type === "mouseleave"}} : undefined},
      hooks: {
        drawClear: options.time ? [shadeLost] : [],
        draw: outside ? [outside.mark] : [],
        setScale: [(u, key) => {
          if (key === "y") box.dataset.values = [u.scales.y.min, u.scales.y.max];
          if (key === "x" && options.time) setTimeView(u.scales.x.min, u.scales.x.max);
        }],
        setCursor: [(plotted) => {
          const idx = plotted.cursor.idx;
          readout.textContent = idx === null || idx === undefined ? "" : options.say(plotted, idx);
        }]}
    }, options.data, box);
    box.dataset.drawn = "yes";
  };
  const reset = () => setView(...whole);
  const setView = (from, to) => {
    if (options.time) setTimeView(from, to);
    else if (u) u.setScale("x", {min: from, max: to});
  };
  const follow = () => {
    if (u) u.setScale("x", {min: timeView.from, max: timeView.to});
  };
  if (options.time) timeView.listeners.push(follow);
  box.fitPlot = () => {
    const width = widthFor(box);
    if (u && width > 0 && u.width !== width) u.setSize({width, height: options.height});
  };
  box.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const next = keyedView(event.key, ...view(), ...whole);
    if (!next) return;
    event.preventDefault();
    setView(...next);
  });
  plots.push({box, redraw: () => u && u.redraw(false, true)});
  watcher.observe(box);
  widths.observe(box);
  return element;
}

// On paper the page is still as wide as the window when plots are drawn; they are drawn as wide as
// they will be, so that nothing is squeezed.
const paperWidth = 703;  // px of the 186 mm between the margins of page.css

function widthFor(box) {
  const page = document.getElementById("page").clientWidth;
  return Math.round(box.clientWidth * (onPaper && page > paperWidth ? paperWidth / page : 1));
}

function padded(values) {
  const low = Math.min(...values);
  const high = Math.max(...values);
  const room = (high - low) * 0.04 || Math.abs(high) * 0.01 || 1;
  return [low - room, high + room];
}

// A signal's or sampled channel's extremes over time.
function extremePlot(options, times, series, unit, words) {
  const {low, high} = series;
  return plot({
    ...options, time: true, words, data: [times, low, high], series: extremeSeries("plot-line"),
    bands: extremeBand("plot-band"), yLabel: words ? null : unit, outside: words ? undefined : {low, high, unit},
    y: words ? () => [-0.3, words.length - 0.7] : undefined,
    say: (u, idx) => {
      const text = (v) => words ? String(words[v] ?? v) : withUnit(v, unit, 6);
      let at = idx;  // between two values the one before still holds
      while (at > 0 && low[at] === undefined) --at;
      if (low[at] === null || low[at] === undefined) return moment(times[idx], 0.01);
      const range = low[at] === high[at] ? text(low[at]) : text(low[at]) + " … " + text(high[at]);
      return moment(times[idx], 0.01) + "  " + range;
    }});
}

themeListeners.push(() => { for (const p of plots) p.redraw(); });

function buildAllPlots() {
  for (const p of plots) p.box.buildPlot();
}
