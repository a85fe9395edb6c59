// The head of the page, and the bus: who sends how often, how busy it is, what is missing.

function tile(value, name, kind) {
  return make("div", {class: "tile" + (kind ? " " + kind : "")}, make("strong", null, value),
    make("span", null, name));
}

function safetyNote() {
  return make("aside", {class: "safety", "aria-label": "Safety"},
    make("strong", null, "Unverified, and never a protection function."),
    " The values on this page were decoded by inference from one bench session. Until they are checked " +
    "on a second session they are guesses with error bars; after that they are a display. They are no " +
    "substitute for the pack's own protection, fuses and contactors.");
}

// A word of a command line; quoted where a shell would take it for more than a word.
function shellWord(text) {
  return /^[\w.,:@%+=/-]+$/.test(text) ? text : "'" + text.replaceAll("'", "'\\''") + "'";
}

// What a page without proposals lacks, and what makes them.
function notSearchedNote(page) {
  const s = page.source;
  if (s.searched || !s.readings) return null;
  const capture = shellWord(s.capture);
  const session = s.session === 1 ? "" : " --session " + s.session;
  const map = s.map ? " --map " + shellWord(s.map) : "";
  return make("aside", {class: "notice", "aria-label": "Not searched"},
    make("p", null, make("strong", null, "No signals were searched for."),
      s.map ? " The signals below are the map's; which fields respond to the readings, with intervals, chances and advice, is not on this page."
        : " Which fields respond to the readings is not on this page: it has no signals, no intervals, no chances and no advice.",
      " On an hour's recording the search takes minutes, so it is made for itself and drawn from its file:"),
    make("pre", {tabindex: "0"}, "foundling correlate " + capture + session + " --json > proposals.json\n" +
      "foundling report " + capture + session + map + " --proposals proposals.json report.html"));
}

function otherSessionNote(page) {
  const words = page.source.proposals_of;
  return words ? make("p", {class: "warning"}, words[0].toUpperCase() + words.slice(1) + ".") : null;
}

// Names as a person would say them: runs of numbered ones as "cell_01 … cell_28".
function shortNames(signals) {
  return grouped(signals).map((g) => g.members.length > 1
    ? g.members[0].name + " … " + g.members.at(-1).name : g.members[0].name);
}

function listed(names, most) {
  return names.slice(0, most).join(", ") + (names.length > most ? " and " + count(names.length - most) + " more" : "");
}

function foundWords(page) {
  const searched = page.source.searched;
  if (!searched) return page.signals.length ? "The map has " + plural(page.signals.length, "signal", "signals") + "; none were searched for." : "Nothing was searched for yet.";
  const strong = page.signals.filter((s) => s.proposal && s.proposal.verdict === "strong");
  const unsure = page.signals.filter((s) => s.proposal && s.proposal.verdict !== "strong");
  if (page.signals.length === 0) return "No field was found that responds to what was applied.";
  return (strong.length ? strong.length + " of " + plural(page.signals.length, "signal is", "signals are") + " strong: " + listed(shortNames(strong), 9) + "."
    : "None of the " + plural(page.signals.length, "signal is", "signals are") + " strong.") +
    (unsure.length ? " Not sure: " + listed(shortNames(unsure), 5) + "." : "");
}

function sureWords(page) {
  const best = bestChance(page);
  const luck = page.source.searched && best < 1 ? " The chance that a strong signal is luck is at most " + percent(best, 2) + "." : "";
  if (!page.check) return "Not checked on a second session yet: until then every value is a guess with error bars." + luck;
  const all = page.check.signals;
  const failed = all.filter((c) => !c.pass && c.tested);
  const untested = all.filter((c) => !c.tested);
  return all.filter((c) => c.pass).length + " of " + plural(all.length, "signal passes", "signals pass") + " on another session." +
    (failed.length ? " Failed: " + listed(failed.map((c) => c.signal), 5) + "." : "") +
    (untested.length ? " Not tested: " + listed(untested.map((c) => c.signal), 5) + "." : "") + luck;
}

function nextWords(page) {
  const f = page.findings;
  if (!page.source.searched) return "Search the recording for signals, as said below.";
  const steps = f.advice.slice(0, 2);
  if (f.unanswered.length) steps.unshift("No strong answer for " + listed(f.unanswered.map((u) => u.channel), 5) + ": see what is open.");
  if (!page.check) steps.push("Record a second session in another order and check the map against it.");
  return steps.length ? steps : "Nothing is open.";
}

function answer(page) {
  const next = nextWords(page);
  return make("section", {class: "answer", "aria-label": "The answer"},
    make("h2", null, "What was found"), make("p", null, foundWords(page)),
    make("h2", null, "How sure"), make("p", null, sureWords(page)),
    make("h2", null, "What to do next"),
    Array.isArray(next) ? make("ul", {class: "plain-list"}, next.map((text) => make("li", null, text)),
      make("li", null, make("a", {href: "#next"}, "All that is open"), ", with the cautions for the bench.")) : make("p", null, next));
}

function tilesOf(page) {
  const s = page.source;
  const lost = page.bus.lost;
  const bits = page.messages.flatMap((m) => m.pictures);
  const moving = bits.reduce((sum, p) => sum + p.moving, 0);
  const open = bits.reduce((sum, p) => sum + p.unexplained, 0);
  return make("div", {class: "tiles"},
    tile(count(s.frames), "frames of " + plural(s.messages, "message", "messages")),
    tile(duration(s.duration_s), "recorded"),
    tile(lost.stretches ? count(lost.frames) : "none", lost.stretches
      ? "frames known lost, in " + plural(lost.stretches, "gap", "gaps") : "lost, as far as is known",
      lost.stretches ? "warn" : ""),
    tile(moving ? percent((moving - open) / moving) : "–", "of the moving bits are explained"));
}

function head(page) {
  return make("header", {class: "head"},
    make("div", {class: "head-line"}, make("p", {class: "kind"}, "What a board says on its CAN bus"), themeSwitch()),
    make("h1", null, page.title), answer(page), safetyNote(), notSearchedNote(page), otherSessionNote(page));
}

function recordingSection(page) {
  const s = page.source;
  return section("recording", "The recording", null, tilesOf(page),
    facts([["Capture", s.capture + ", session " + s.session], ["Begun", s.started], ["Pack", s.pack],
      ["Board", s.board], ["Interface", s.interface],
      ["Bit rate", s.bit_rate ? figure(s.bit_rate / 1000, 6) + thin + "kbit/s" : "not known"],
      ["Readings", s.readings ? count(s.readings) + " of " + plural(s.channels, "channel", "channels") : "none"],
      ["Signal map", s.map || (s.searched ? "drafted for this page from the proposals" : "none")],
      ["Note", s.note], ["State", s.ended ? "" : "no end: still being recorded, or cut off"]]));
}

function busPlots(page) {
  const bus = page.bus;
  const times = Array.from({length: bus.count}, (_, i) => bus.from_s + (i + 0.5) * bus.step_s);
  return bus.buses.map((b) => {
    const name = page.bus.buses.length > 1 ? "Bus " + b.bus : "The bus";
    const known = b.most.length > 0;
    const data = known ? [times, b.least.map((v) => v * 100), b.most.map((v) => v * 100)]
      : [times, b.frames_a_second];
    return plot({
      name: name + (known ? ": load over time" : ": frames a second over time"),
      caption: known ? name + ": load, between no stuff bits and as many as there can be"
        : name + ": frames a second",
      height: 150, time: true, data, yLabel: known ? "% of the time" : "frames/s",
      series: known ? extremeSeries("plot-line") : [lineSeries("frames", "plot-line")],
      bands: known ? extremeBand("plot-band") : undefined,
      y: (u, low, high) => [0, (high || 1) * 1.08],
      say: (u, i) => moment(times[i], bus.step_s) + "  " + figure(b.frames_a_second[i], 4) + " frames/s" +
        (known ? ", load " + percent(b.least[i]) + " … " + percent(b.most[i]) : "")});
  });
}

// A message's frames over the session, as a line as high as a word.
function pulse(counts) {
  const most = Math.max(...counts, 1);
  const points = counts.map((n, i) => (i * 96 / Math.max(counts.length - 1, 1)).toFixed(1) + "," +
    (17 - 16 * n / most).toFixed(1));
  return draw("svg", {class: "pulse", viewBox: "0 0 96 18", "aria-hidden": "true"},
    draw("polyline", {points: points.join(" ")}));
}

function messageTable(page) {
  const several = page.bus.buses.length > 1;
  const columns = [
    {title: "Identifier", of: (m) => make("a", {href: "#" + m.anchor, class: "mono"}, m.id)},
    several && {title: "Bus", right: true, of: (m) => m.bus},
    {title: "Frames", right: true, of: (m) => count(m.frames)},
    {title: "Period", right: true, of: (m) => m.frames > 1 ? duration(m.period_s) : "–"},
    {title: "Jitter", right: true, of: (m) => m.frames > 1 ? duration(m.jitter_s) : "–"},
    {title: "Bytes", right: true, of: (m) => (m.length_varies ? "≤ " : "") + m.length},
    {title: "Sent", of: (m) => m.frames < 2 ? "once" : m.on_events ? "on events" : "periodic"},
    {title: "Over the session", of: (m) => pulse(m.pulse)},
    {title: "Signals", right: true, of: (m) => m.owners.filter((o) => o.kind === "signal").length || "–"},
    {title: "Moving bits explained", right: true, of: (m) => explained(m)}].filter(Boolean);
  return table("Messages on the bus", columns, page.messages);
}

function explained(message) {
  const moving = message.pictures.reduce((sum, p) => sum + p.moving, 0);
  const open = message.pictures.reduce((sum, p) => sum + p.unexplained, 0);
  return moving ? moving - open + " of " + moving : "none move";
}

function losses(page) {
  const {lost, incidents} = page.bus;
  const parts = [];
  if (lost.stretches > 0) {
    parts.push(make("h3", null, "What is missing"), table("Gaps in the recording", [
      {title: "From", of: (g) => moment(g.from, 0.001)}, {title: "To", of: (g) => moment(g.to, 0.001)},
      {title: "Bus", right: true, of: (g) => g.bus},
      {title: "Frames lost", right: true, of: (g) => g.frames ? count(g.frames) : "not counted"},
      {title: "Why", of: (g) => g.why}], lost.list));
    if (lost.list.length < lost.stretches) {
      parts.push(make("p", null, "The first " + lost.list.length + " of " + count(lost.stretches) + " are listed."));
    }
  }
  if (incidents.total > 0) {
    parts.push(make("h3", null, "What the bus reported"),
      make("p", null, incidents.counts.map((c) => c.kind + ": " + count(c.count)).join(", ")),
      make("details", null, make("summary", null, "The first " + incidents.list.length + " one by one"),
        table("Errors and changes of state", [
          {title: "At", of: (e) => moment(e.at, 0.001)}, {title: "Bus", right: true, of: (e) => e.bus},
          {title: "Kind", of: (e) => e.kind}, {title: "Detail", of: (e) => e.detail}], incidents.list)));
  }
  return parts;
}

function busSection(page) {
  const quiet = page.bus.lost.stretches === 0 && page.bus.incidents.total === 0;
  return section("bus", "The bus", quiet ? "Nothing is known to be lost, and no error was recorded." : null,
    busPlots(page), messageTable(page), losses(page));
}
