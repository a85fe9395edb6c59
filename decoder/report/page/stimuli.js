// What was applied on the bench, all channels on one time line.

function unionTimes(members, last) {
  const times = new Set([timeView.whole[0], last]);
  for (const m of members) for (const t of m.times) times.add(t);
  return [...times].sort((a, b) => a - b);
}

function heldStrip(group, last, noTimes) {
  const times = unionTimes(group.members, last);
  const lines = group.members.map((m) => heldAt(m, times));
  const first = group.members[0];
  const stepped = uPlot.paths.stepped({align: 1});
  return plot({
    name: "Stimulus " + group.name, caption: stripCaption(group), time: true, noTimes,
    height: (first.words ? 50 : 72) + (noTimes ? 0 : 22), data: [times, ...lines], words: first.words, yLabel: null,
    series: group.members.map((m, i) => lineSeries(m.name, "line-" + i % 6, {paths: stepped})),
    y: first.words ? () => [-0.4, first.words.length - 0.6] : undefined,
    say: (u, idx) => {
      const t = u.posToVal(u.cursor.left, "x");
      const now = lines.map((line) => line[times.findLastIndex((at) => at <= t)] ?? null);
      return moment(t, 0.1) + "  " + nowText(first, now);
    }});
}

function nowText(channel, values) {
  const known = values.filter((v) => v !== null && v !== undefined);
  if (known.length === 0) return "–";
  if (channel.words) return String(channel.words[known[0]]);
  const low = Math.min(...known);
  const high = Math.max(...known);
  return low === high ? withUnit(low, channel.unit, 6) : withUnit(low, channel.unit, 6) + " … " + withUnit(high, channel.unit, 6);
}

function stripCaption(group) {
  const first = group.members[0];
  const many = group.members.length > 1;
  const readings = group.members.reduce((sum, m) => sum + m.readings, 0);
  const unit = first.unit && first.unit !== "state" ? ", " + first.unit : "";
  return make("span", null, make("strong", null, many ? group.members[0].name + " … " + group.members.at(-1).name : group.name),
    make("span", {class: "quiet"}, unit + " · " + (first.held ? "" : "sampled · ") + plural(readings, "reading", "readings")));
}

// One under the other, and the times under the last.
function stimulusStrips(page, grid) {
  const held = grouped(page.stimuli.filter((s) => s.times));
  const sampled = page.stimuli.filter((s) => !s.times);
  const strips = held.map((group, i) =>
    heldStrip(group, timeView.whole[1], sampled.length > 0 || i + 1 < held.length));
  sampled.forEach((s, i) => {
    const noTimes = i + 1 < sampled.length;
    strips.push(extremePlot({name: "Stimulus " + s.name, caption: stripCaption({name: s.name, members: [s]}),
      noTimes, height: noTimes ? 72 : 94}, grid.times, joinHoles(unpack(s.values, grid.count)), s.unit, s.words));
  });
  return strips;
}

function stimuliSection(page, grid) {
  if (page.stimuli.length === 0) {
    return section("stimuli", "The bench", "Nothing was written down on the bench in this session, so there is nothing to compare the bus with. `foundling stimulus` writes it down.");
  }
  return section("stimuli", "The bench", "What was applied, as it was written down. Drag over a plot to zoom all time plots of the page; double click shows everything again.",
    make("div", {class: "strips"}, stimulusStrips(page, grid)));
}
