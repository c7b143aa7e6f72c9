// Opens every page of a folder in Chromium and says what is wrong with it.
//
//   node check.mjs FOLDER
//
// FOLDER/expected.json names the circuits that each drawing must show. PDFs are
// left beside the pages, and with SHOTS=1 screenshots, to be looked at. Exits
// with 1 and one line for each fault.
import { execFileSync } from "node:child_process";
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const folder = resolve(process.argv[2]);
const expected = JSON.parse(readFileSync(join(folder, "expected.json"), "utf8"));
const faults = [];

const FLAGS = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync",
];
// A4 less the margins of the style sheet, in CSS pixels.
const A4 = { width: Math.floor((210 - 24) / 25.4 * 96), height: Math.floor((297 - 24) / 25.4 * 96) };

// The driver gives the browser a new, empty profile and removes it at the end.
const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", headless: true, args: FLAGS });

async function visit(context, name, tell) {
  const url = pathToFileURL(join(folder, name)).href;
  const page = await context.newPage();
  page.on("console", (m) => { if (["error", "warning"].includes(m.type())) tell(`console: ${m.text()}`); });
  page.on("pageerror", (e) => tell(`script: ${e.message}`));
  page.on("dialog", (d) => { tell(`dialog: ${d.message()}`); d.dismiss(); });
  page.on("request", (r) => {
    if (r.url().split("#")[0] !== url && r.url() !== "data:,") tell(`asks for ${r.url()}`);
  });
  await page.goto(url);
  return page;
}

// Nothing wider than the window but what scrolls by itself.
const overflow = () => document.documentElement.scrollWidth - document.documentElement.clientWidth;

async function accessible(page, tell) {
  await page.evaluate(axe);
  const found = await page.evaluate(() => globalThis.axe.run(document, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
  }));
  for (const fault of found.violations) {
    tell(`accessibility (${fault.impact}): ${fault.id}: ${fault.help}: ${fault.nodes[0].html.slice(0, 160)}`);
  }
  const headings = await page.evaluate(() =>
    [...document.querySelectorAll("h1,h2,h3,h4")].map((h) => Number(h.tagName[1])));
  headings.forEach((level, i) => {
    if (level > (i === 0 ? 1 : headings[i - 1] + 1)) tell(`a heading of level ${level} after ${headings[i - 1]}`);
  });
}

// Every table with more than a row sorts by every column, up, down and back.
async function sorts(page, tell) {
  for (const table of await page.$$("table.data")) {
    if (await table.evaluate((t) => t.tBodies[0].rows.length) < 2) continue;
    const texts = () => table.evaluate((t) => [...t.tBodies[0].rows].map((r) => [...r.cells].map((c) => c.textContent.trim())));
    const before = JSON.stringify(await texts());
    const heads = await table.$$("thead button");
    if (heads.length === 0) { tell("a table does not sort"); continue; }
    for (const [column, head] of heads.entries()) {
      await head.focus();
      for (const way of [1, -1]) {
        await page.keyboard.press("Enter");
        const said = await head.evaluate((b) => b.parentElement.getAttribute("aria-sort"));
        if (said !== (way === 1 ? "ascending" : "descending")) tell(`aria-sort says ${said}`);
        const isNumber = await head.evaluate((b) => b.parentElement.classList.contains("number"));
        const cells = (await texts()).map((row) => row[column]);
        const order = new Intl.Collator("en", { numeric: true, sensitivity: "base" });
        for (let i = 1; i < cells.length; i += 1) {
          const [a, b] = [cells[i - 1], cells[i]];
          const apart = isNumber ? (a === "" ? -Infinity : Number(a)) - (b === "" ? -Infinity : Number(b)) : order.compare(a, b);
          if (apart * way > 0) { tell(`column ${column} is not sorted: ${a} before ${b}`); break; }
        }
      }
      await page.keyboard.press("Enter");
      if (JSON.stringify(await texts()) !== before) tell(`column ${column} does not go back to the first order`);
    }
  }
}

// A filter by the text of a row shows that row and only rows that have the text.
async function filters(page, tell) {
  for (const table of await page.$$("table.data")) {
    const rows = await table.evaluate((t) => [...t.tBodies[0].rows].map((r) => [...r.cells].map((c) => c.textContent).join("\n")));
    if (rows.length < 5) continue;
    const input = await table.evaluateHandle((t) => t.previousElementSibling?.querySelector("input"));
    if (!input.asElement()) { tell("a table does not filter"); continue; }
    const word = rows[1].split(/\s+/).find(Boolean).slice(0, 40);
    await input.asElement().fill(word);
    const shown = await table.evaluate((t) => [...t.tBodies[0].rows].map((r) => r.checkVisibility()));
    rows.forEach((text, i) => {
      if (text.toLowerCase().includes(word.toLowerCase()) !== shown[i]) tell(`filter ${word}: row ${i} is wrong`);
    });
    await input.asElement().fill("no row has this text");
    const left = await table.evaluate((t) => [...t.tBodies[0].rows].filter((r) => r.checkVisibility()).length);
    if (left !== 0) tell("a filter without a match leaves rows");
    await input.asElement().fill("");
    const back = await table.evaluate((t) => [...t.tBodies[0].rows].filter((r) => r.checkVisibility()).length);
    if (back !== rows.length) tell("an empty filter hides rows");
  }
}

// Every cable is drawn inside the picture with both its marks; no text covers
// another, and no box another box.
async function draws(page, circuits, tell) {
  const drawn = await page.evaluate(() => [...document.querySelectorAll("svg.machine:not(.sheet)")].map((svg) => {
    const [, , width, height] = svg.getAttribute("viewBox").split(" ").map(Number);
    const rect = (e) => { const b = e.getBBox(); return [b.x, b.y, b.x + b.width, b.y + b.height]; };
    const out = (e) => { const [x, y, r, b] = rect(e); return x < 0 || y < 0 || r > width || b > height; };
    const apart = (a, b) => a[2] <= b[0] + 1 || b[2] <= a[0] + 1 || a[3] <= b[1] + 3 || b[3] <= a[1] + 3;
    const over = (parts) => {
      const all = parts.map((p) => [p.textContent, rect(p)]);
      const found = [];
      all.forEach(([name, a], i) => all.slice(i + 1).forEach(([other, b]) => { if (!apart(a, b)) found.push(`${name} on ${other}`); }));
      return found;
    };
    const cables = [...svg.querySelectorAll("g.cable")];
    return {
      names: cables.map((c) => [c.dataset.circuit, c.dataset.net]),
      short: cables.filter((c) => c.querySelector("path.line").getTotalLength() < 40).length,
      marks: cables.filter((c) => c.querySelectorAll("text.mating").length !== 2 || c.querySelectorAll("text.tag").length !== 2).length,
      outside: [...svg.querySelectorAll("text, path, rect")].filter(out).map((e) => e.outerHTML.slice(0, 120)),
      texts: over([...svg.querySelectorAll("text")]),
      boxes: over([...svg.querySelectorAll(".place rect")]),
    };
  }));
  if (!drawn.length) { tell("no drawing"); return; }
  // In a purchase each machine has a drawing.
  const names = drawn.flatMap((one) => one.names);
  if (JSON.stringify(names) !== JSON.stringify(circuits)) tell(`the drawing shows ${names.length} of ${circuits.length} cables`);
  for (const one of drawn) {
    if (one.short) tell(`${one.short} lines are too short to see`);
    if (one.marks) tell(`${one.marks} lines are not marked at both ends`);
    one.outside.forEach((part) => tell(`outside the drawing: ${part}`));
    one.texts.slice(0, 5).forEach((pair) => tell(`texts overlap: ${pair}`));
    one.boxes.forEach(() => tell("boxes overlap"));
  }
}

function count(text) {
  const counts = new Map();
  // A style may set a capital.
  for (const c of text.normalize("NFKC").toLowerCase().replace(/[\s\p{C}\p{M}]/gu, "")) counts.set(c, (counts.get(c) ?? 0) + 1);
  return counts;
}

// Tables are as wide as the paper at most, and all they say is on it.
async function prints(page, name, tell) {
  await page.setViewportSize(A4);
  await page.emulateMedia({ media: "print" });
  const wide = await page.evaluate((width) => [...document.querySelectorAll("table, .labels, .card")]
    .filter((t) => t.getBoundingClientRect().right > width + 1 || t.scrollWidth > t.clientWidth + 1)
    .map((t) => t.textContent.trim().slice(0, 60)), A4.width);
  wide.forEach((table) => tell(`wider than A4: ${table}`));
  const said = await page.evaluate(() => [...document.querySelectorAll("table, .labels, .card")]
    .filter((t) => !t.parentElement.closest(".card")).map((t) => t.textContent).join(" "));
  const file = join(folder, name.replace(".html", ".pdf"));
  await page.pdf({ path: file, preferCSSPageSize: true, printBackground: true });
  const text = execFileSync("pdftotext", ["-bbox", file, "-"], { encoding: "utf8", maxBuffer: 1 << 28 });
  let page_width = 0;
  let page_height = 0;
  let words = "";
  for (const line of text.split("\n")) {
    const size = line.match(/<page width="([\d.]+)" height="([\d.]+)"/);
    if (size) [page_width, page_height] = [Number(size[1]), Number(size[2])];
    const word = line.match(/<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*)<\/word>/);
    if (!word) continue;
    const [x, y, right, low] = word.slice(1, 5).map(Number);
    if (x < -1 || y < -1 || right > page_width + 1 || low > page_height + 1) tell(`off the paper: ${word[5].slice(0, 40)}`);
    words += word[5];
  }
  words = words.replace(/&lt;/g, "<").replace(/&gt;/g, ">").replace(/&quot;/g, '"').replace(/&#39;|&apos;/g, "'").replace(/&amp;/g, "&");
  const printed = count(words);
  for (const [c, n] of count(said)) {
    // Signs that the fonts at hand lack, and emoji, come out of a PDF otherwise or not at all.
    if (!/[\p{Script=Latin}\p{N}\p{P}]/u.test(c)) continue;
    if ((printed.get(c) ?? 0) < n) tell(`on paper ${c} stands ${printed.get(c) ?? 0} times, in the tables ${n}`);
  }
  if (expected[name]) {
    const laid = execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8", maxBuffer: 1 << 28 });
    heads(laid, tell);
    await together(page, laid, tell);
  }
  await page.emulateMedia({ media: "screen" });
}

let joined = 0;

// The heading of a drawing stands above it on the same sheet.
async function together(page, text, tell) {
  const drawings = await page.evaluate(() => [...document.querySelectorAll("#machine > .scroll")].map((drawing) => {
    let heading = drawing.previousElementSibling;
    while (!/^H[23]$/.test(heading.tagName)) heading = heading.previousElementSibling;
    return [heading.textContent.replace(/\s/g, " ").trim(), [...drawing.querySelectorAll(".place title")].map((title) => title.textContent)];
  }));
  for (const [heading, places] of drawings) {
    const plain = places.filter((place) => /^[\w -]+$/.test(place));
    if (!/^[\w ,×]+$/.test(heading) || plain.length === 0) continue;
    const sheet = text.replace(/\u00a0/g, " ").split("\f").map((p) => p.split("\n")).find((p) => p.some((line) => line.trim() === heading));
    const below = sheet?.slice(sheet.findIndex((line) => line.trim() === heading)).join(" ");
    if (!plain.some((place) => below?.includes(place))) tell(`${heading} stands on another sheet than its drawing`);
    else joined += 1;
  }
}

// The table of circuits has its header on each of its pages.
function heads(text, tell) {
  const pages = text.split("\f");
  const first = pages.findIndex((p) => p.includes("Each end with its pair"));
  const next = pages.findIndex((p) => p.includes("Keying map"));
  const own = pages.slice(first, pages[next].trimStart().startsWith("Keying map") ? next : next + 1);
  const without = own.filter((p) => !/receptacle +plug/.test(p)).length;
  if (first < 0 || without) tell(`${without} of ${own.length} pages of circuits have no header`);
}

// All that the page says with scripts is there without.
async function plain(name, tell) {
  const context = await browser.newContext({ javaScriptEnabled: false, viewport: { width: 390, height: 844 } });
  const page = await visit(context, name, tell);
  const hidden = await page.evaluate(() => [...document.querySelectorAll("tbody td, tbody th, section, li")]
    .filter((e) => e.textContent.trim() && !e.checkVisibility()).length);
  if (hidden) tell(`${hidden} parts are hidden where scripts are off`);
  if (await page.evaluate(() => document.querySelectorAll("button, input").length)) tell("a control without a script behind it");
  await context.close();
}

for (const name of readdirSync(folder).filter((n) => n.endsWith(".html")).sort()) {
  const tell = (fault) => faults.push(`${name}: ${fault}`);
  for (const width of [390, 1280]) {
    const context = await browser.newContext({ viewport: { width, height: 900 } });
    const page = await visit(context, name, tell);
    const beyond = await page.evaluate(overflow);
    if (beyond > 0) tell(`${beyond} px wider than a window of ${width}`);
    await accessible(page, tell);
    if (width === 1280) {
      const isSmall = await page.evaluate(() => document.querySelectorAll("tbody tr").length < 120);
      if (isSmall) await sorts(page, tell);
      await filters(page, tell);
      if (expected[name]) await draws(page, expected[name], tell);
    }
    if (process.env.SHOTS) {
      const shot = join(folder, `${name}-${width}.png`);
      await page.screenshot({ path: shot, fullPage: true }).catch(() => page.screenshot({ path: shot }));
    }
    if (width === 1280) await prints(page, name, tell);
    await context.close();
  }
  await plain(name, tell);
}
if (Object.keys(expected).length > 0 && joined === 0) faults.push("no drawing was looked for under its heading");
await browser.close();
writeFileSync(join(folder, "faults.txt"), faults.join("\n"));
faults.forEach((fault) => console.error(fault));
process.exitCode = faults.length ? 1 : 0;
