// Contrast of every text on the page with what is behind it, by the words of WCAG 2.1, 1.4.3 and
// its definitions of contrast ratio and relative luminance (w3.org/TR/WCAG21): 4.5 : 1, and 3 : 1
// for large text (24 px, or 18.66 px and bold). Runs inside the page.
export function contrastFaults() {
  const parse = (text) => {
    const parts = text.match(/[\d.]+/g).map(Number);
    return {r: parts[0], g: parts[1], b: parts[2], a: parts[3] ?? 1};
  };
  const over = (top, under) => ({
    r: top.r * top.a + under.r * (1 - top.a), g: top.g * top.a + under.g * (1 - top.a),
    b: top.b * top.a + under.b * (1 - top.a), a: 1});
  const luminance = ({r, g, b}) => {
    const [x, y, z] = [r, g, b].map((c) => {
      const share = c / 255;
      return share <= 0.03928 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * x + 0.7152 * y + 0.0722 * z;
  };
  const ratio = (a, b) => {
    const [light, dark] = [luminance(a), luminance(b)].sort((x, y) => y - x);
    return (light + 0.05) / (dark + 0.05);
  };
  const ground = (element) => {
    const layers = [];
    for (let at = element; at; at = at.parentElement) {
      const colour = parse(getComputedStyle(at).backgroundColor);
      if (colour.a > 0) layers.push(colour);
      if (colour.a === 1) break;
    }
    return layers.reverse().reduce((under, top) => over(top, under), {r: 255, g: 255, b: 255, a: 1});
  };
  const faults = [];
  let read = 0;
  const judge = (text, ink, behind, size, bold) => {
    ++read;
    const needed = size >= 24 || (bold && size >= 18.66) ? 3 : 4.5;
    const found = ratio(over(ink, behind), behind);
    if (found < needed) faults.push(found.toFixed(2) + " < " + needed + ": " + text.trim().slice(0, 40));
  };
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const element = node.parentElement;
    if (!node.data.trim() || element.closest("script, style, noscript, option, title")) continue;
    if (!element.checkVisibility()) continue;
    const style = getComputedStyle(element);
    const svg = element.closest("svg");
    const size = parseFloat(style.fontSize);
    const bold = Number(style.fontWeight) >= 700;
    if (!svg) {
      judge(node.data, parse(style.color), ground(element), size, bold);
      continue;
    }
    // A mark in a bit's cell stands on the cell's own ground; the rulers on the card.
    const cell = element.parentElement.querySelector(":scope > .ground");
    const card = ground(svg.parentElement);
    const fill = cell && getComputedStyle(cell).fill;
    const behind = fill && fill !== "none"
      ? over({...parse(fill), a: Number(getComputedStyle(cell).opacity)}, card) : card;
    judge(node.data, parse(style.fill), behind, size, bold);
  }
  // What the plots write and draw on their canvas: text 4.5 : 1, lines 3 : 1 (1.4.11).
  const probe = document.createElement("span");
  document.querySelector(".plot").append(probe);
  const token = (name) => {
    probe.style.color = "var(--" + name + ")";
    return parse(getComputedStyle(probe).color);
  };
  const sheet = ground(probe);
  judge("plot-text", token("plot-text"), sheet, 12, false);
  for (const name of ["plot-line", "plot-fit", "plot-point", "line-0", "line-1", "line-2", "line-3", "line-4", "line-5"]) {
    judge(name, token(name), sheet, 24, false);
  }
  probe.remove();
  return {faults, read};
}
