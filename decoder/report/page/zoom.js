// One stretch of time for all time plots: drag over a plot, the keyboard, or the buttons.

const timeView = {from: 0, to: 1, whole: [0, 1], listeners: []};

function setTimeView(from, to) {
  const [first, last] = timeView.whole;
  const shortest = (last - first) / 100000;
  let width = Math.min(Math.max(to - from, shortest), last - first);
  let start = Math.min(Math.max(from, first), last - width);
  if (start === timeView.from && start + width === timeView.to) return;
  timeView.from = start;
  timeView.to = start + width;
  for (const listener of timeView.listeners) listener();
}

// What a key does to a stretch [from, to] of [first, last]; null if nothing.
function keyedView(key, from, to, first, last) {
  const width = to - from;
  const middle = (from + to) / 2;
  switch (key) {
    case "ArrowLeft": return [Math.max(first, from - width / 8), Math.max(first, from - width / 8) + width];
    case "ArrowRight": return [Math.min(last - width, from + width / 8), Math.min(last - width, from + width / 8) + width];
    case "+": case "=": return [middle - width / 4, middle + width / 4];
    case "-": case "_": return [Math.max(first, middle - width), Math.min(last, middle + width)];
    case "0": case "Home": case "Escape": return [first, last];
    default: return null;
  }
}

function zoomTime(key) {
  const view = keyedView(key, timeView.from, timeView.to, ...timeView.whole);
  if (view) setTimeView(...view);
  return view !== null;
}

function timeTools() {
  const bar = document.getElementById("time-tools");
  const stretch = make("span", {class: "stretch", role: "status"});
  const button = (text, label, key) => make("button",
    {type: "button", "aria-label": label, title: label, onclick: () => zoomTime(key)}, text);
  fill(bar, null, [
    make("span", {class: "tools-name"}, "Time"), button("‹", "Earlier", "ArrowLeft"),
    button("+", "Zoom in", "+"), button(minus, "Zoom out", "-"), button("›", "Later", "ArrowRight"),
    button("All", "Show the whole session", "0"), stretch]);
  const say = () => {
    const step = (timeView.to - timeView.from) / 200;
    stretch.textContent = moment(timeView.from, step) + " – " + moment(timeView.to, step);
    bar.classList.toggle("zoomed",
      timeView.from > timeView.whole[0] || timeView.to < timeView.whole[1]);
  };
  timeView.listeners.push(say);
  say();
}
