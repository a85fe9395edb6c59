// Every signal: its place and figures, its values over time, what it said against what was applied.

function scaleText(signal) {
  if (signal.type === "state") {
    return signal.words.map((w) => w.code + " = " + w.word).join(", ");
  }
  if (signal.type === "table") return "by a table";
  return withUnit(signal.scale, signal.unit, 7);
}

function fitted(signal) {
  const p = signal.proposal;
  return p && p.same_place && signal.type !== "state" && signal.type !== "table" ? p : null;
}

function delayText(p) {
  if (!p.delay_s && !p.time_constant_s) return "";
  return duration(p.delay_s) + (p.time_constant_s > 0 ? " + low-pass " + duration(p.time_constant_s) : "");
}

function checkOf(page, signal) {
  return page.check ? page.check.signals.find((c) => c.signal === signal.name) : null;
}

function stepCell(s) {
  if (s.type === "state") return plural(s.words.length, "state", "states");
  if (s.type === "table") return "by a table";
  return stepText(s.scale, fitted(s) && fitted(s).scale_interval, s.unit);
}

function offsetCell(s) {
  if (s.type === "state" || s.type === "table") return "";
  return plusMinus(s.offset, fitted(s) ? reach(fitted(s).offset_interval, s.offset) : 0, s.unit);
}

// The chance that most signals have is said once above; a row says its own where it is larger.
function chanceCell(s, best) {
  return s.proposal && !s.proposal.inferred && s.proposal.chance > best ? percent(s.proposal.chance, 2) : "";
}

function bestChance(page) {
  return Math.min(1, ...page.signals.filter((s) => s.proposal && !s.proposal.inferred).map((s) => s.proposal.chance));
}

function signalTable(page) {
  const best = bestChance(page);
  const own = page.signals.some((s) => chanceCell(s, best) !== "");
  const columns = [
    {title: "Verdict", of: (s) => s.proposal ? verdictBadge(s.proposal.verdict) : badge(s.status, "plain")},
    page.check && {title: "Check", of: (s) => {
      const c = checkOf(page, s);
      return c ? badge(c.pass ? "pass" : c.tested ? "fail" : "not tested", c.pass ? "good" : c.tested ? "bad" : "warn") : "";
    }},
    {title: "Signal", names: true, of: (s) => make("a", {href: "#signal-" + s.index}, s.name)},
    {title: "Place", of: (s) => make("span", {class: "mono"}, s.place.replace(/ on page \S+ = /, " page "))},
    {title: "One step", right: true, of: stepCell},
    {title: "Offset", right: true, of: offsetCell},
    {title: "Delay + low-pass", right: true, of: (s) => delayText(s.proposal || s).replace("low-pass ", "")},
    {title: "Levels", right: true, of: (s) => s.proposal ? (s.proposal.inferred ? "none" : s.proposal.levels) : ""},
    {title: "Untested bits", right: true, of: (s) => s.proposal && s.proposal.untested || ""},
    own && {title: "Chance", right: true, of: (s) => chanceCell(s, best)}].filter(Boolean);
  return table("Signals and their figures; ± covers the 95 % interval", columns, page.signals, {class: "signal-table"});
}

function lineOf(signal, scale, offset) {
  return (applied) => (applied - offset) / scale;
}

// Raw against applied, with the map's line and the fitted one.
function answerPlot(signal) {
  const c = signal.compared;
  const linear = ["unsigned", "signed"].includes(signal.type);
  const raw = linear ? c.shown.map(lineOf(signal, signal.scale, signal.offset)) : c.shown;
  const fit = fitted(signal);
  const line = linear ? c.applied.map(lineOf(signal, signal.scale, signal.offset)) : c.applied;
  const fit_line = fit && linear ? c.applied.map(lineOf(signal, fit.scale, fit.offset)) : null;
  const series = [lineSeries("said", "plot-point", {paths: () => null, points: {show: true, size: 5, width: 1,
    fill: () => colour("plot-point-fill")}}), lineSeries("map", "plot-line")];
  if (fit_line) series.push(lineSeries("fitted", "plot-fit", {dash: [5, 4]}));
  return plot({
    name: signal.name + ": " + (linear ? "raw" : "value") + " against applied",
    caption: linear ? "Raw value against applied" : "Value against applied", height: 230,
    data: [c.applied, raw, line, ...(fit_line ? [fit_line] : [])], series,
    xLabel: "applied, " + signal.unit, yLabel: linear ? "raw" : signal.unit,
    say: (u, i) => withUnit(c.applied[i], signal.unit, 6) + " applied, " + (linear ? "raw " + figure(raw[i], 7) : withUnit(raw[i], signal.unit, 6))});
}

// Shown minus applied, with the fitted line as the error that it would take away.
function residualPlot(signal) {
  const c = signal.compared;
  const rest = c.shown.map((v, i) => v - c.applied[i]);
  const fit = fitted(signal);
  const linear = ["unsigned", "signed"].includes(signal.type);
  const fit_line = fit && linear
    ? c.applied.map((v) => (v - fit.offset) / fit.scale * signal.scale + signal.offset - v) : null;
  const series = [lineSeries("error", "plot-point", {paths: () => null, points: {show: true, size: 5, width: 1,
    fill: () => colour("plot-point-fill")}}), lineSeries("none", "plot-line")];
  if (fit_line) series.push(lineSeries("fitted", "plot-fit", {dash: [5, 4]}));
  return plot({
    name: signal.name + ": error against applied", caption: "Error: shown less applied", height: 230,
    data: [c.applied, rest, c.applied.map(() => 0), ...(fit_line ? [fit_line] : [])], series,
    xLabel: "applied, " + signal.unit, yLabel: signal.unit,
    say: (u, i) => withUnit(c.applied[i], signal.unit, 6) + " applied, error " + withUnit(rest[i], signal.unit, 4)});
}

function wordsByCode(signal) {
  if (!signal.words || signal.words.some((w) => w.code > 255)) return null;
  const words = [];
  for (const w of signal.words) words[w.code] = w.word;
  return words;
}

function comparedLine(signal) {
  const c = signal.compared;
  if (!c) return null;
  const kind = c.sampled ? ["reading", "readings"] : ["plateau", "plateaus"];
  let text = count(c.points) + " of " + plural(c.possible, ...kind) + " compared with " + c.channel +
    ", error " + withUnit(c.rms, signal.unit, 3) + " rms.";
  if (!c.all_drawn) text += " Drawn: of every stretch of the applied range the points with the smallest and the largest error.";
  return text;
}

function signalFacts(signal) {
  const p = signal.proposal;
  const fit = fitted(signal);
  return facts([
    ["Place", make("span", {class: "mono"}, signal.place)],
    signal.where ? ["In the pack", signal.where] : null,
    ["Type", signal.width + "-bit " + signal.type],
    [signal.type === "state" ? "States" : "Scale", scaleText(signal) + (fit ? ", fitted " + interval(fit.scale_interval) : "")],
    signal.type !== "state" && signal.type !== "table" ? ["Offset", withUnit(signal.offset, signal.unit) + (fit ? ", fitted " + interval(fit.offset_interval) : "")] : null,
    ["Delay", delayText(p || signal)],
    p ? ["Levels tried", p.inferred ? "none: inferred from its neighbours" : count(p.levels)] : null,
    p ? ["Chance", "at most " + percent(p.chance, 2)] : null,
    p && p.untested ? ["Untested", plural(p.untested, "top bit", "top bits") + " never changed"] : null,
    signal.reserved ? ["No value", count(signal.reserved) + " of " + count(signal.frames) + " frames said so"] : null]);
}

function remarks(signal) {
  const p = signal.proposal;
  const lines = [...signal.notes];
  if (p) {
    if (!p.same_place) lines.push("The search finds it elsewhere: " + p.place + ".");
    if (p.derived) lines.push("Derived: it was not applied, it follows from other channels.");
    if (p.ambiguous_with.length) lines.push("Cannot be distinguished from " + p.ambiguous_with.join(", ") + ".");
    // A drafted map has its own note of it.
    if (p.same_as.length && page.source.map) lines.push("Also in " + p.same_as.join(", ") + ".");
    if (p.note && !lines.includes(p.note)) lines.push(p.note);
  }
  for (const other of signal.others) lines.push("Or at " + other.place + " (" + other.verdict + ")" + (other.note ? ": " + other.note : "") + ".");
  if (signal.frames === 0) lines.push("No frame of this session has a value of it.");
  return lines.length ? make("ul", {class: "remarks"}, lines.map((line) => make("li", null, line))) : null;
}

function signalBody(signal, grid) {
  const words = wordsByCode(signal);
  const parts = [signalFacts(signal), remarks(signal)];
  if (signal.values) {
    parts.push(extremePlot({name: signal.name + " over time", caption: "Over time", height: words ? 110 : 170},
      grid.times, joinHoles(unpack(signal.values, grid.count)), signal.unit, words));
  }
  if (signal.compared && signal.compared.points > 0) {
    parts.push(make("div", {class: "pair"}, answerPlot(signal), residualPlot(signal)),
      make("p", {class: "quiet"}, comparedLine(signal)));
  }
  return parts;
}

function signalTitle(page, signal) {
  const c = checkOf(page, signal);
  return [make("span", null, signal.name), " ", signal.proposal ? verdictBadge(signal.proposal.verdict) : badge(signal.status, "plain"),
    c ? [" ", badge(c.pass ? "check passed" : "check failed", c.pass ? "good" : "bad")] : null];
}

function signalCard(page, signal, grid) {
  return make("article", {class: "signal", id: "signal-" + signal.index}, make("h3", null, signalTitle(page, signal)), signalBody(signal, grid));
}

// Look-alikes share a card, and show one member at a time.
function seriesCard(page, group, grid) {
  const title = make("h3", null);
  const body = make("div");
  const chooser = make("select", {"aria-label": "Signal of " + group.name});
  for (const [i, m] of group.members.entries()) chooser.append(make("option", {value: i}, m.name));
  const show = (at) => {
    const i = (at + group.members.length) % group.members.length;
    chooser.value = String(i);
    title.replaceChildren(...signalTitle(page, group.members[i]).flat().filter(Boolean));
    body.replaceChildren(...signalBody(group.members[i], grid).filter(Boolean));
  };
  chooser.addEventListener("change", () => show(Number(chooser.value)));
  const step = (by, text, label) => make("button", {type: "button", "aria-label": label, onclick: () => show(Number(chooser.value) + by)}, text);
  const article = make("article", {class: "signal"}, make("div", {class: "chooser"},
    make("span", {class: "quiet"}, group.name + ", " + group.members.length + " signals"),
    step(-1, "‹", "Signal before"), chooser, step(1, "›", "Next signal")), title, body);
  for (const [i, m] of group.members.entries()) {
    article.prepend(make("span", {id: "signal-" + m.index, class: "anchor"}));
    showers.set("signal-" + m.index, () => show(i));
  }
  show(0);
  return article;
}

const showers = new Map();  // anchors of signals that share a card

function showLinked() {
  const show = showers.get(decodeURIComponent(location.hash.slice(1)));
  if (show) show();
}
addEventListener("hashchange", showLinked);

function signalsSection(page, grid) {
  if (page.signals.length === 0) {
    return section("signals", "The signals", page.source.searched ? "Nothing that was applied has a field that responds to it: see what to do next."
      : "No map was given, and no signals were searched for.");
  }
  return section("signals", "Each signal",
    "Points are what the board said after settling; the solid line is the map's scale and offset, the dashed one was fitted. In the error plots the dashed line is what the fitted line would put right.",
    make("div", {class: "signals"}, grouped(page.signals).map((group) =>
      group.members.length > 1 ? seriesCard(page, group, grid) : signalCard(page, group.members[0], grid))));
}

function foundSection(page) {
  if (page.signals.length === 0) return null;
  const best = bestChance(page);
  const own = page.signals.some((s) => chanceCell(s, best) !== "");
  return section("found", "The signals", page.source.searched && best < 1
    ? "The chance that a signal is luck is at most " + percent(best, 2) + ", the best that this test can show" +
      (own ? ", except where a row has its own." : ".") : null, signalTable(page));
}
