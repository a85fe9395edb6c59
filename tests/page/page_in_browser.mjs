// The finished page in a real browser: nothing wrong on the console, nothing asked of a network,
// plots drawn and zoomed, hostile names shown as text, contrast, keyboard, paper.
//   node page_in_browser.mjs NPM_FOLDER CHROMIUM WRITE_SAMPLE_PAGE FOUNDLING CAPTURES_DEMO
import assert from "node:assert/strict";
import {execFileSync} from "node:child_process";
import fs from "node:fs";
import {createRequire} from "node:module";
import os from "node:os";
import path from "node:path";
import {pathToFileURL} from "node:url";

import {contrastFaults} from "./contrast.mjs";

const [npmFolder, chromium, writeSample, foundling, demo] = process.argv.slice(2);
if (!fs.existsSync(chromium)) {
  console.log("skipped: there is no chromium; tools/install-packages.sh installs it");
  process.exit(77);
}
const {chromium: driver} = createRequire(path.join(npmFolder, "index.js"))("playwright-core");

const scriptName = "<script>window.hacked=1</script>";
const closingName = "</script><img src=x onerror=window.hacked=2>";
const quotingName = "\"quoted\" & 'so' \\u2028 on";  // the line separator in it is written out

const folder = fs.mkdtempSync(path.join(os.tmpdir(), "foundling-page-"));
const samplePage = path.join(folder, "sample.html");
const demoPage = path.join(folder, "demo.html");
execFileSync(writeSample, [samplePage]);
execFileSync(foundling, ["report", "--map", path.join(demo, "tractor.signals"),
  path.join(demo, "tractor-1.capture"), demoPage], {stdio: ["ignore", "ignore", "ignore"]});

const browser = await driver.launch({executablePath: chromium, args: ["--no-sandbox"]});
const faults = [];

async function open(file, options) {
  const context = await browser.newContext({viewport: {width: 1280, height: 900}, ...options});
  const page = await context.newPage();
  const url = pathToFileURL(file).href;
  page.on("console", (m) => { if (m.type() !== "info") faults.push(file + ": console: " + m.text()); });
  page.on("pageerror", (e) => faults.push(file + ": " + e.message));
  page.on("request", (r) => { if (r.url().split("#")[0] !== url) faults.push("asked for " + r.url()); });
  await page.goto(url);
  return page;
}

// The share of a plot's pixels that are not the emptiest colour.
const inked = (canvas) => {
  const {data} = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  let painted = 0;
  for (let i = 3; i < data.length; i += 4) if (data[i] > 0) ++painted;
  return painted / (data.length / 4);
};

async function seeAll(page) {
  await page.evaluate(async () => {
    for (let y = 0; y < document.body.scrollHeight; y += 700) {
      scrollTo({top: y, behavior: "instant"});
      await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
    }
    scrollTo({top: 0, behavior: "instant"});
  });
}

const stretch = (page) => page.locator("#time-tools .stretch").textContent();
let checks = 0;

async function check(name, work) {
  try {
    await work();
    ++checks;
  } catch (problem) {
    faults.push(name + ": " + (problem.stack || problem));
  }
}

const page = await open(samplePage);
page.setDefaultTimeout(8000);

await check("hostile names are text", async () => {
  assert.equal(await page.evaluate(() => window.hacked), undefined);
  assert.equal(await page.locator("img").count(), 0);
  assert.equal(await page.locator("script").count(), 3);
  assert.equal(await page.title(), "A page of " + scriptName);
  assert.equal(await page.locator("h1").textContent(), "A page of " + scriptName);
  const text = await page.evaluate(() => document.body.textContent);
  for (const name of [scriptName, closingName, quotingName, "<b>bold</b>"]) {
    assert.ok(text.includes(name), name);
  }
});

await check("what differs in another recording is said of each message, with a way to it", async () => {
  const text = await page.locator("#against").textContent();
  assert.ok(text.includes("A is this session, B is " + closingName + ", session 2. 3 differences, in 2 of 3 messages."), text);
  assert.ok(text.includes("1 message is alike. Noise and drift would show the least sure of these in at most 2 of a million"), text);
  const rows = await page.locator("#against tbody tr").allTextContents();
  assert.deepEqual(rows, ["bus 0the counts restarted in B at 12 s: the board was reset",
    "1A4comes every 100 ms in A, every 200 ms in B", "18FF50E5came in B alone"]);
  assert.equal(await page.locator("#against tbody a").getAttribute("href"), "#message-0-1A4");
});

await check("every plot is drawn", async () => {
  await seeAll(page);
  const drawn = await page.locator(".plot canvas").evaluateAll((all, source) =>
    all.map((canvas) => new Function("canvas", "return (" + source + ")(canvas)")(canvas)), inked.toString());
  assert.ok(drawn.length >= 12, "plots: " + drawn.length);
  assert.equal(drawn.length, await page.locator(".plot").count());
  for (const share of drawn) assert.ok(share > 0.005, "painted share " + share);
});

await check("a plot's read-out says the value that the frames had", async () => {
  const figure = page.locator("figure", {has: page.locator(".plot[aria-label^='" + scriptName + " over time']")});
  const plot = figure.locator(".u-over");
  await plot.scrollIntoViewIfNeeded();
  const box = await plot.boundingBox();
  for (const [at, value] of [[0.25, "10.5"], [0.75, "−20"]]) {
    await page.mouse.move(box.x + box.width * at, box.y + box.height / 2);
    const said = await figure.locator(".readout").textContent();
    assert.ok(said.endsWith(value + "\u202fA"), said);
  }
});

await check("dragging zooms all time plots, a double click shows everything", async () => {
  const whole = await stretch(page);
  const plot = page.locator("#bus .u-over").first();
  await plot.scrollIntoViewIfNeeded();
  const box = await plot.boundingBox();
  const y = box.y + box.height / 2;
  await page.mouse.move(box.x + box.width * 0.4, y);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width * 0.5, y, {steps: 4});
  await page.mouse.up();
  await page.waitForFunction((before) => document.querySelector("#time-tools .stretch").textContent !== before, whole);
  const zoomed = await stretch(page);
  assert.match(zoomed, /^0:(39|40)\S* – 0:(49|50)/);
  // Another plot follows: its middle is now the middle of the zoomed stretch.
  const figure = page.locator("figure", {has: page.locator(".plot[aria-label^='" + scriptName + " over time']")});
  await figure.locator(".u-over").scrollIntoViewIfNeeded();
  const other = await figure.locator(".u-over").boundingBox();
  await page.mouse.move(other.x + other.width / 2, other.y + other.height / 2);
  assert.match(await figure.locator(".readout").textContent(), /^0:4[45]\./);
  await figure.locator(".u-over").dblclick();
  await page.waitForFunction((before) => document.querySelector("#time-tools .stretch").textContent === before, whole);
});

await check("keys zoom, move and reset, and every plot can be reached by them", async () => {
  const whole = await stretch(page);
  const plot = page.locator("#stimuli .plot").first();
  await plot.focus();
  await page.keyboard.press("+");
  const near = await stretch(page);
  assert.notEqual(near, whole);
  await page.keyboard.press("ArrowRight");
  const later = await stretch(page);
  assert.notEqual(later, near);
  await page.keyboard.press("ArrowLeft");
  assert.equal(await stretch(page), near);
  await page.keyboard.press("0");
  assert.equal(await stretch(page), whole);
  assert.equal(await page.locator(".plot:not([tabindex='0'])").count(), 0);
  await page.locator("#time-tools button", {hasText: "+"}).click();
  assert.notEqual(await stretch(page), whole);
  await page.locator("#time-tools button", {hasText: "All"}).click();
  await page.evaluate(() => { document.activeElement.blur(); });
});

await check("values far from all others are left out of view, said, and shown when asked", async () => {
  const figure = page.locator("figure", {has: page.locator(".plot[aria-label^='cell: minimum and maximum']")});
  const plot = figure.locator(".plot");
  await plot.scrollIntoViewIfNeeded();
  await page.waitForFunction((box) => box.dataset.values, await plot.elementHandle());
  const values = async () => (await plot.getAttribute("data-values")).split(",").map(Number);
  const note = figure.locator(".outside");
  assert.match(await note.textContent(), /values far from the others, up to 65\.5\d*\u202fV: out of view, marked at the edge/);
  assert.ok((await values())[1] < 4, String(await values()));
  await note.locator("button").focus();
  await page.keyboard.press("Enter");
  assert.ok((await values())[1] > 65, String(await values()));
  assert.equal(await note.locator("button").textContent(), "Fit the usual values");
  await note.locator("button").click();
  assert.ok((await values())[1] < 4, String(await values()));
  // Where nothing else is in view they are.
  const spread = page.locator(".plot[aria-label^='cell: spread']");
  await spread.focus();
  for (let i = 0; i < 7; ++i) await page.keyboard.press("+");
  for (let i = 0; i < 1000; ++i) await page.keyboard.press("ArrowLeft");
  assert.ok(Number((await spread.getAttribute("data-values")).split(",")[1]) > 60);
  await page.keyboard.press("0");
  assert.ok(Number((await spread.getAttribute("data-values")).split(",")[1]) < 1);
  assert.equal(await page.locator("#signals .plot[aria-label^='cell_01 over time'] ~ .outside").count(), 0);
});

await check("a scatter plot zooms by itself", async () => {
  const plot = page.locator(".pair .plot").first();
  await plot.scrollIntoViewIfNeeded();
  const picture = () => plot.locator("canvas").evaluate((canvas) => canvas.toDataURL());
  const before = await picture();
  const time = await stretch(page);
  await plot.focus();
  await page.keyboard.press("+");
  await page.waitForTimeout(50);
  assert.notEqual(await picture(), before);
  assert.equal(await stretch(page), time);
  await page.keyboard.press("0");
});

await check("text keeps the contrast of WCAG 2.1 AA, by day and by night", async () => {
  for (const theme of ["light", "dark"]) {
    if (await page.evaluate(() => document.documentElement.dataset.theme) !== theme) {
      await page.locator(".theme-switch").click();
    }
    const found = await page.evaluate(contrastFaults);
    assert.deepEqual(found.faults, [], theme);
    assert.ok(found.read > 100, "texts read: " + found.read);
  }
  const dark = await open(samplePage, {colorScheme: "dark"});
  assert.equal(await dark.evaluate(() => document.documentElement.dataset.theme), "dark");
  await dark.context().close();
});

await check("paper is light and has every plot, whatever the screen was", async () => {
  const dark = await open(samplePage, {colorScheme: "dark"});
  await dark.emulateMedia({media: "print", colorScheme: "dark"});
  await dark.waitForFunction(() => document.documentElement.dataset.theme === "light");
  assert.equal(await dark.locator(".plot:not(.cells):not([data-drawn])").count(), 0);
  assert.equal(await dark.locator("#time-tools").isVisible(), false);
  const paper = await dark.pdf({format: "A4"});
  assert.ok(paper.length > 20000);
  await dark.context().close();
});

await check("on paper whoever owns a bit is named in a line or two, on every page of a message", async () => {
  const paper = await open(demoPage);
  await paper.setViewportSize({width: 700, height: 1000});
  await paper.emulateMedia({media: "print"});
  assert.ok(await paper.locator(".many .owner").count() > 20);
  const lines = await paper.locator(".owner").evaluateAll((owners) => owners.map((owner) =>
    owner.getBoundingClientRect().height / parseFloat(getComputedStyle(owner).lineHeight)));
  assert.ok(Math.max(...lines) < 2.5, "lines: " + Math.max(...lines));
  await paper.context().close();
});

await check("nothing is wider than the window, on a phone or a large screen", async () => {
  for (const file of [samplePage, demoPage]) {
    const other = await open(file);
    for (const width of [360, 768, 1280, 1920]) {
      await other.setViewportSize({width, height: 800});
      const over = await other.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(over <= 0, path.basename(file) + " at " + width + ": " + over + " px too wide");
    }
    if (file === demoPage) {
      assert.equal(await other.locator("#cells canvas").first().getAttribute("height"), "28");
      assert.ok(await other.locator("#signals h3").count() >= 10);
    }
    await other.context().close();
  }
});

await check("what was found, how sure and what to do next stand within the first two screens", async () => {
  for (const [width, height] of [[1280, 900], [390, 844]]) {
    const other = await open(samplePage);
    await other.setViewportSize({width, height});
    const headings = await other.locator(".answer h2").evaluateAll((all) =>
      all.map((h) => [h.textContent, h.getBoundingClientRect().bottom + scrollY]));
    assert.deepEqual(headings.map(([text]) => text), ["What was found", "How sure", "What to do next"]);
    for (const [text, bottom] of headings) assert.ok(bottom < 2 * height, text + " ends at " + bottom + " of " + 2 * height);
    await other.context().close();
  }
});

await check("the table of signals says its verdict first and needs no scrolling on a desktop", async () => {
  const other = await open(samplePage);
  await other.setViewportSize({width: 1480, height: 900});
  const frame = other.locator("#found .scroll");
  assert.equal(await frame.locator("thead th").first().textContent(), "Verdict");
  assert.ok(await frame.evaluate((box) => box.clientWidth <= 1200 && box.scrollWidth <= box.clientWidth),
    await frame.evaluate((box) => box.scrollWidth + " in " + box.clientWidth));
  assert.match(await frame.textContent(), / ± \S+\u202f%/);
  await other.context().close();
});

await check("the tools of time lie over nothing", async () => {
  for (const width of [390, 1280]) {
    const other = await open(samplePage);
    await other.setViewportSize({width, height: 800});
    const over = await other.evaluate(() => {
      const tools = document.getElementById("time-tools").getBoundingClientRect();
      return [...document.querySelectorAll("#page > *, #contents")].filter((e) => {
        const box = e.getBoundingClientRect();
        return box.left < tools.right && tools.left < box.right && box.top < tools.bottom && tools.top < box.bottom;
      }).map((e) => e.id || e.className);
    });
    assert.deepEqual(over, []);
    await other.context().close();
  }
});

await check("a message is a ribbon of its bits in the order of the wire, broken between bytes alone", async () => {
  const other = await open(demoPage);
  for (const width of [390, 1280]) {
    await other.setViewportSize({width, height: 800});
    const found = await other.locator(".ribbon").evaluateAll((all) => all.map((ribbon) => {
      const bytes = [...ribbon.children].map((b) => b.getBoundingClientRect());
      return {inOrder: bytes.every((b, i) => i === 0 || b.top > bytes[i - 1].top || Math.abs(b.left - bytes[i - 1].right) < 1),
        inside: bytes.every((b) => b.right <= ribbon.getBoundingClientRect().right + 1),
        bits: ribbon.querySelectorAll(".bit").length, bytes: bytes.length};
    }));
    assert.ok(found.length > 10, String(found.length));
    for (const ribbon of found) assert.ok(ribbon.inOrder && ribbon.inside && ribbon.bits === 8 * ribbon.bytes, JSON.stringify(ribbon));
  }
  assert.match(await other.locator(".ribbon").first().getAttribute("aria-label"), /bits move/);
  const names = await other.locator(".ribbon .name").allTextContents();
  assert.ok(names.some((text) => /cell_01/.test(text)), names.slice(0, 20).join());
  await other.context().close();
});

await check("the bits that the table calls untested are those that the ribbon's list calls so", async () => {
  const other = await open(samplePage);
  const [table, list] = await other.evaluate(() => {
    const at = [...document.querySelectorAll("#found thead th")].findIndex((th) => th.textContent === "Untested bits");
    const table = {};
    for (const row of document.querySelectorAll("#found tbody tr")) table[row.querySelector("a").textContent] = Number(row.children[at].textContent || 0);
    const list = {};
    for (const owner of document.querySelectorAll(".owner")) {
      const said = owner.textContent.match(/ (\d+) of \d+ untested/);
      if (said) list[owner.querySelector("a").textContent] = Number(said[1]);
    }
    return [table, list];
  });
  for (const [name, bits] of Object.entries(list)) assert.equal(bits, table[name], name);
  await other.context().close();
});

await check("no printed table is smaller than 8 pt", async () => {
  const paper = await open(samplePage);
  await paper.setViewportSize({width: 703, height: 1000});
  await paper.emulateMedia({media: "print"});
  const smallest = await paper.locator("table *").evaluateAll((all) => Math.min(...all.map((e) => parseFloat(getComputedStyle(e).fontSize))));
  assert.ok(smallest >= 8 * 96 / 72 - 0.01, smallest + " px");
  const wide = await paper.locator(".scroll").evaluateAll((all) => all.filter((e) => e.scrollWidth > e.clientWidth + 1).map((e) => e.getAttribute("aria-label")));
  assert.deepEqual(wide, []);
  await paper.context().close();
});

await browser.close();
fs.rmSync(folder, {recursive: true});
for (const fault of faults) console.log("FAILED: " + fault);
console.log(checks + " checks passed, " + faults.length + " faults");
process.exit(faults.length ? 1 : 0);
