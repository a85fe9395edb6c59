// Numbers as a person reads them: few digits, with their unit.

const minus = "\u2212";
const thin = "\u202f";

// So many significant digits, no trailing zeros.
function figure(value, digits = 4) {
  if (value === null || value === undefined || Number.isNaN(value)) return "–";
  if (value === 0) return "0";
  const size = Math.abs(value);
  let text;
  if (size >= 1e7 || size < 1e-5) {
    text = value.toExponential(digits - 1).replace(/\.?0+e/, "e").replace("e+", "e");
  } else {
    text = value.toPrecision(digits);
    if (text.includes("e")) text = String(Number(text));
    if (text.includes(".")) text = text.replace(/\.?0+$/, "");
  }
  return text.replace("-", minus).replace("e-", "e" + minus);
}

// 243,832
function count(value) {
  return String(value).replace(/\B(?=(\d{3})+$)/g, ",");
}

function plural(n, one, many) {
  return count(n) + " " + (n === 1 ? one : many);
}

function withUnit(value, unit, digits = 4) {
  const text = figure(value, digits);
  return unit && unit !== "state" && text !== "–" ? text + thin + unit : text;
}

// "20 ms", "1.5 s", "12 min 4 s"
function duration(seconds) {
  if (seconds === null || seconds === undefined) return "–";
  const size = Math.abs(seconds);
  if (size >= 3600) {
    return Math.floor(size / 3600) + thin + "h " + Math.floor((size % 3600) / 60) + thin + "min";
  }
  if (size >= 120) return Math.floor(size / 60) + thin + "min " + Math.floor(size % 60) + thin + "s";
  if (size >= 1 || size === 0) return figure(seconds, 3) + " s";
  if (size >= 1e-3) return figure(seconds * 1e3, 3) + " ms";
  return figure(seconds * 1e6, 3) + " µs";
}

// A moment of the session: 1:02:03, 2:03, with so many decimals as `step` needs.
function moment(seconds, step = 1) {
  const places = step >= 1 ? 0 : Math.min(3, Math.ceil(-Math.log10(step)));
  const sign = seconds < 0 ? minus : "";
  const whole = Math.abs(seconds);
  const rounded = Number(whole.toFixed(places));
  const h = Math.floor(rounded / 3600);
  const m = Math.floor((rounded % 3600) / 60);
  const s = (rounded - h * 3600 - m * 60).toFixed(places).padStart(places ? places + 3 : 2, "0");
  return sign + (h ? h + ":" + String(m).padStart(2, "0") : m) + ":" + s;
}

function percent(share, digits = 3) {
  return figure(share * 100, digits) + thin + "%";
}

// Both ends with enough digits to see the interval's width.
function interval([low, high]) {
  const size = Math.max(Math.abs(low), Math.abs(high));
  const width = high - low;
  const digits = width > 0 && size > 0
    ? Math.min(10, Math.max(3, Math.ceil(Math.log10(size / width)) + 2)) : 6;
  return figure(low, digits) + " … " + figure(high, digits);
}

// With the prefix that leaves one to three digits before the point, where the unit takes one, and
// zeros at the end as far as the digits go: "1.000 mV".
const prefixes = [["G", 1e9], ["M", 1e6], ["k", 1e3], ["", 1], ["m", 1e-3], ["µ", 1e-6]];
const withPrefix = new Set(["V", "A", "Ω", "ohm", "W", "Hz", "Ah", "Wh", "C", "J", "s", "m"]);

function prefixFor(size, unit) {
  if (!withPrefix.has(unit) || !(size > 0)) return ["", 1];
  return prefixes.find(([, factor]) => size >= factor * 0.9999995) || prefixes.at(-1);
}

function unitText(number, letter, unit) {
  const text = number.replace("-", minus);
  return unit && unit !== "state" ? text + thin + letter + unit : text;
}

function engineering(value, unit, digits) {
  const [letter, factor] = prefixFor(Math.abs(value), unit);
  const scaled = value / factor;
  if (scaled === 0 || Math.abs(scaled) >= 1e9 || Math.abs(scaled) < 1e-8) return unitText(figure(scaled, digits), letter, unit);
  const places = digits - 1 - Math.floor(Math.log10(Math.abs(scaled)));
  return unitText(scaled.toFixed(Math.min(Math.max(places, 0), 12)), letter, unit);
}

// "−40.00 ± 0.43 °C": the uncertainty with two digits, the value as fine.
function plusMinus(value, around, unit) {
  const [letter, factor] = prefixFor(Math.abs(value || around), unit);
  if (!(around > 0)) return unitText(figure(value / factor, 7), letter, unit);
  const places = Math.min(Math.max(1 - Math.floor(Math.log10(around / factor)), 0), 12);
  const number = value === 0 ? "0" : (value / factor).toFixed(places);
  return unitText(number + " ± " + (around / factor).toFixed(places), letter, unit);
}

// How far an interval reaches from the value that is shown.
function reach([low, high], shown) {
  return Math.max(Math.abs(low - shown), Math.abs(high - shown));
}

// "1.000 mV ± 0.02 %"
function stepText(scale, interval, unit) {
  const around = interval ? reach(interval, scale) : 0;
  if (!(around > 0) || !scale) return engineering(scale, unit, 4);
  let digits = Math.min(Math.max(Math.ceil(Math.log10(Math.abs(scale) / around)), 3), 9);
  while (digits < 9 && Math.abs(Number(scale.toPrecision(digits)) - scale) > 0.05 * around) ++digits;
  return engineering(scale, unit, digits) + " ± " + percent(around / Math.abs(scale), 2);
}
