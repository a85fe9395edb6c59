// What the search could not tell, what to do next on the bench, and what a check said.

function checkSection(page) {
  const c = page.check;
  if (!c) return null;
  const passed = c.signals.filter((s) => s.pass).length;
  const columns = [
    {title: "Signal", of: (s) => s.signal},
    {title: "Samples", right: true, of: (s) => count(s.samples)},
    {title: "Bias", right: true, of: (s) => s.state || !s.samples ? "–" : withUnit(s.bias, s.unit, 3)},
    {title: "Gain", right: true, of: (s) => s.state || !s.samples ? "–" : figure(s.gain, 5) + (s.gain_error === null ? "" : " ± " + figure(s.gain_error, 2))},
    {title: "RMS", right: true, of: (s) => s.state || !s.samples ? "–" : withUnit(s.rms, s.unit, 3)},
    {title: "Largest", right: true, of: (s) => s.state ? Math.round(s.bias * s.samples) + " wrong" : s.samples ? withUnit(s.largest, s.unit, 3) : "–"},
    {title: "Tolerance", right: true, of: (s) => s.state ? "0 wrong" : withUnit(s.tolerance, s.unit, 3)},
    {title: "Of it", of: (s) => s.state || !s.samples ? "" : share(s.deciding / s.tolerance, s.pass)},
    {title: "Delay", right: true, of: (s) => s.samples ? duration(s.delay_s) : "–"},
    {title: "Verdict", of: (s) => [badge(s.pass ? "pass" : s.tested ? "fail" : "not tested", s.pass ? "good" : s.tested ? "bad" : "warn"),
      s.reason ? " " + s.reason : s.pass && s.unfit ? " without " + plural(s.unfit, "reading that does not fit", "readings that do not fit") : ""]}];
  const left = (words, names) => names.length ? make("p", {class: "quiet"}, words + names.join(", ") + ".") : null;
  return section("check", "The check", passed + " of " + plural(c.signals.length, "signal passes", "signals pass") + " on " + c.capture + ", session " + c.session + ".",
    c.same_session ? make("p", {class: "warning"}, "The map says that it was made from this very session, so passing proves nothing. Check it against another.") : null,
    table("The map against the other session's readings", columns, c.signals),
    left("Not checked, no channel of that name: ", c.signals_unchecked),
    left("Channels without a signal: ", c.channels_unchecked));
}

function share(ratio, pass) {
  const width = Math.min(Math.max(ratio, 0), 1) * 80;
  return draw("svg", {class: "share " + (pass ? "good" : "bad"), viewBox: "0 0 84 10", "aria-hidden": "true"},
    draw("rect", {class: "all", x: 0, y: 2, width: 80, height: 6}), draw("rect", {class: "used", x: 0, y: 2, width, height: 6}));
}

function sanitySection(page) {
  const s = page.sanity;
  if (s.checks.length === 0) return null;
  const failed = s.checks.filter((c) => c.failed > 0).length;
  return section("sanity", "Plausibility checks",
    (failed ? failed + " of " + plural(s.checks.length, "look", "looks") + " at the values found something." : "All " + s.checks.length + " looks at the values found nothing.") + " " + s.disclaimer,
    table("The session's values compared with each other", [
      {title: "Of", of: (c) => c.subject}, {title: "Look", of: (c) => c.kind.replaceAll("-", " ")},
      {title: "Failed", right: true, of: (c) => count(c.failed) + " of " + count(c.looked)},
      {title: "First", right: true, of: (c) => c.failed ? moment(c.first, 0.1) : ""},
      {title: "Last", right: true, of: (c) => c.failed ? moment(c.last, 0.1) : ""},
      {title: "Result", of: (c) => badge(c.failed ? "look at it" : "fine", c.failed ? "warn" : "good")},
      {title: "In words", of: (c) => make("span", {class: "sentence"}, c.text)}], s.checks));
}

function sentence(text) {
  return text[0].toUpperCase() + text.slice(1) + (/[.!?]$/.test(text) ? "" : ".");
}

// Beside whatever sends a person to the bench.
function benchCautions() {
  return make("p", {class: "safety"}, make("strong", null, "A traction pack can kill and burn, also when it is called empty."),
    " Work on it is for licensed or trained people, under the codes of the place, which come before this page. " +
    "Current-limited supplies, the high-voltage path open, a second person, a plan for fire. " +
    "Stay within the limits of every cell, sensor and board.");
}

function findingsSection(page) {
  const f = page.findings;
  if (!page.source.searched) return null;
  const list = (items) => make("ul", {class: "plain-list"}, items.map((item) => make("li", null, item)));
  const parts = [];
  if (f.ambiguous.length) {
    parts.push(make("h3", null, "Not distinguishable yet"), make("p", null, "These moved together, so any of them may be what a field shows:"),
      list(f.ambiguous.map((set) => set.join(", "))));
  }
  if (f.unanswered.length) {
    parts.push(make("h3", null, "Applied, and without a strong answer"), make("ul", {class: "plain-list unanswered"},
      f.unanswered.map((u) => make("li", null, make("strong", null, u.channel), u.reason ? ": " + sentence(u.reason) : "",
        u.nearest ? [" Nearest: ", make("span", {class: "mono"}, u.nearest), "."] : null, u.advice ? " " + sentence(u.advice) : null))));
  }
  if (f.unfit.length) {
    parts.push(make("h3", null, "Readings that do not fit"),
      make("p", null, "They were left out, and nothing was corrected. Look at your notes and at the meter first: a reading that is made to agree with the board proves nothing any more."),
      f.without.length ? list(f.without.map((words) => sentence(words))) : null,
      make("ol", {class: "advice unfit"}, f.unfit.map((u) => make("li", null, u.words, make("pre", {tabindex: "0"}, u.correct)))));
  }
  if (f.not_in_map.length) {
    parts.push(make("h3", null, "Found, and not in the map"),
      list(f.not_in_map.map((p) => [p.name, " at ", make("span", {class: "mono"}, p.place), " ", verdictBadge(p.verdict)])));
  }
  if (f.advice.length) {
    parts.push(make("h3", null, "On the bench next"), benchCautions(), make("ol", {class: "advice"}, f.advice.map((a) => make("li", null, a))));
  }
  return section("next", "What is open", parts.length ? null : "Nothing: every channel has one field that responds to it, and no advice is left.", parts);
}
