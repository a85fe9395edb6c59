// Puts the page together from its data.

const page = JSON.parse(document.getElementById("data").textContent);

const grid = {...page.time};
grid.times = Array.from({length: grid.count}, (_, i) => grid.from_s + (i + 0.5) * grid.step_s);
timeView.whole = [grid.from_s, grid.from_s + grid.count * grid.step_s];
[timeView.from, timeView.to] = timeView.whole;
lostStretches = page.bus.lost.list;
page.messages.forEach((m) => { m.anchor = "message-" + m.bus + "-" + m.id; });
page.signals.forEach((s, i) => { s.index = i; });

function readingSection() {
  return section("reading", "How to read this page", null, make("ul", {class: "plain-list"}, [
    "A bit is BYTE.BIT, byte 0 first on the wire, bit 7 the most significant; a field is written from its most to its least significant bit, and that fixes its byte order.",
    "Time plots show for every " + duration(grid.step_s) + " the minimum and the maximum in it, joined by a shade: no value is left out, however short it was. Zooming in shows no steps shorter than that.",
    "Where a few values lie far from all others, a plot over time is fitted to the others: arrows at its edge and the line under it say so, and the button there shows all.",
    "Shaded stretches of time are gaps in the recording.",
    "Drag over a time plot to zoom all of them; double click, or the key 0, shows the whole session. With a plot in focus plus and minus zoom, and the arrows move.",
    "Intervals are 95 % intervals of the fitted line, each for itself; a meter's own error is not in them. Chance is the probability that luck would look as good.",
    "The page holds all its data and asks no network for anything."].map((text) => make("li", null, text))));
}

const mainElement = document.getElementById("page");
mainElement.replaceChildren(...[head(page), foundSection(page), findingsSection(page),
  recordingSection(page), busSection(page), bitsSection(page), stimuliSection(page, grid), signalsSection(page, grid),
  cellsSection(page, grid), checkSection(page), againstSection(page), sanitySection(page), readingSection()].filter(Boolean));
document.getElementById("contents").append(make("ul", null, sections.map((s) => make("li", null, make("a", {href: "#" + s.id}, s.title)))));
timeTools();
showLinked();

// Paper is light and as wide as paper, and every plot is on it.
function toPaper(paper) {
  if (onPaper === paper) return;
  onPaper = paper;
  applyTheme();
  if (paper) buildAllPlots();
  for (const p of plots) p.box.fitPlot();
}
matchMedia("print").addEventListener("change", (event) => toPaper(event.matches));
addEventListener("beforeprint", () => toPaper(true));
addEventListener("afterprint", () => toPaper(false));
