// Opens every page of a report in a real browser and says what is wrong with it; ends with 1 if anything is.
//
//   node check.mjs REPORT [--pages N]
//
// REPORT is the folder with report.html, which is opened from the file. Of the pages of sites the first N (3) are
// looked at as closely as the others; of the rest only the links.

import { execFileSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join, relative, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const WIDTHS = [1280, 800, 400];
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];
const MOST_BYTES_OF_FRONT = 300_000;
const PAGES_OF_FRONT = 2;
const IN_SIGHT = 12;
const EXECUTABLE = process.env.CHROMIUM ?? "/usr/bin/chromium";

const folder = resolve(process.argv[2] ?? "");
if (!existsSync(join(folder, "report.html"))) {
  console.error(`${folder}: there is no report.html`);
  process.exit(2);
}
const closely = Number(process.argv[process.argv.indexOf("--pages") + 1]) || 3;
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

const wrong = [];
let checks = 0;
function check(holds, page, words) {
  checks += 1;
  if (!holds) {
    wrong.push(`${page}: ${words}`);
  }
}

/** Every page, and those that are looked at closely. */
function pages() {
  const beside = join(folder, "pages");
  const names = existsSync(beside) ? readdirSync(beside).filter((name) => name.endsWith(".html")).sort() : [];
  const all = ["report.html", ...names.map((name) => `pages/${name}`)];
  let sites = 0;
  const close = all.filter((name) => !name.startsWith("pages/site-") || (sites += 1) <= closely);
  return { all, close };
}

/** A page, and what it said and asked for while it was opened. */
async function open(browser, name, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  const page = await context.newPage();
  const said = [];
  const asked = [];
  page.on("console", (message) => ["error", "warning"].includes(message.type()) && said.push(message.text()));
  page.on("pageerror", (error) => said.push(String(error)));
  page.on("request", (request) => asked.push(request.url()));
  await page.goto(pathToFileURL(join(folder, name)).href);
  return { context, page, said, asked };
}

async function isQuiet(name, { said, asked }) {
  check(said.length === 0, name, `the console says ${said.join(" | ")}`);
  const out = asked.filter((url) => !url.startsWith("file:") && !url.startsWith("data:"));
  check(out.length === 0, name, `asks for ${out.join(", ")}`);
  check(asked.length === 1, name, `needs other files: ${asked.slice(1).join(", ")}`);
}

/** Links of a page lead to files that are there, and to parts that are in them. */
async function linksLead(name, page, ids) {
  const hrefs = await page.$$eval("a[href]", (links) => links.map((link) => link.getAttribute("href")));
  for (const href of new Set(hrefs)) {
    const target = new URL(href, pathToFileURL(join(folder, name)));
    check(target.protocol === "file:", name, `links out of the report: ${href}`);
    if (target.protocol !== "file:") continue;
    const part = target.hash.slice(1);
    target.hash = "";
    const path = fileURLToPath(target);
    check(!relative(folder, path).startsWith(".."), name, `links above its folder: ${href}`);
    check(existsSync(path) && statSync(path).isFile(), name, `leads nowhere: ${href}`);
    if (part && existsSync(path) && path.endsWith(".html")) {
      check(ids(path).has(part), name, `leads to no part: ${href}`);
    }
  }
}

function idsOfFiles() {
  const known = new Map();
  return (path) => {
    if (!known.has(path)) {
      const text = readFileSync(path, "utf8");
      known.set(path, new Set([...text.matchAll(/\bid="([^"]+)"/g)].map((found) => found[1])));
    }
    return known.get(path);
  };
}

/** Headings name question and answer, go down a level at a time, and every row of every table has its name. */
async function isOrdered(name, page) {
  const levels = await page.$$eval("h1,h2,h3,h4,h5,h6", (all) => all.map((one) => Number(one.tagName[1])));
  check(levels.filter((level) => level === 1).length === 1, name, "has not one h1");
  check(levels[0] === 1, name, "does not begin with its h1");
  const skipped = levels.some((level, at) => at > 0 && level > levels[at - 1] + 1);
  check(!skipped, name, `skips a level of headings: ${levels.join(" ")}`);
  const nameless = await page.$$eval("tbody tr", (rows) => rows.filter((row) => !row.querySelector("th[scope=row]")).length);
  check(nameless === 0, name, `${nameless} rows of tables have no heading`);
  const parts = await page.$$eval("body.asked h1", (all) => all.map((one) => [".asked", ".answer"].every((part) => one.querySelector(part)?.textContent.trim())));
  check(parts.every(Boolean), name, "its heading does not name question and answer");
  await page.keyboard.press("Tab");
  const first = await page.evaluate(() => document.activeElement.getAttribute("href"));
  check(first === "#content", name, "the first stop of the tab key is no skip link");
}

/** Sorting by a number goes up, then down, then back; filtering leaves the rows that have the words. */
async function sortsAndFilters(name, page) {
  const tables = await page.$$("table.data");
  let tried = 0;
  for (const table of tables) {
    await table.evaluate((one) => {
      for (let at = one; at; at = at.parentElement) if (at.tagName === "DETAILS") at.open = true;
    });
    const before = await rowsOf(table);
    if (before.all.length < 3) continue;
    tried += 1;
    if (before.all.length > IN_SIGHT) {
      check(before.seen.length === IN_SIGHT, name, `${before.seen.length} rows are in sight`);
    }
    const number = await table.$("thead th.number button");
    if (number) {
      const at = await number.evaluate((button) => button.parentElement.cellIndex);
      await number.click();
      const up = (await rowsOf(table)).numbers(at);
      check(up.every((value, i) => i === 0 || up[i - 1] <= value), name, `is not sorted upwards: ${up.slice(0, 6)}`);
      await number.click();
      const down = (await rowsOf(table)).numbers(at);
      check(down.every((value, i) => i === 0 || down[i - 1] >= value), name, `is not sorted downwards: ${down.slice(0, 6)}`);
      await number.click();
      check(String((await rowsOf(table)).all) === String(before.all), name, "does not go back to its own order");
    }
    const bar = await table.evaluateHandle((one) => one.parentElement.previousElementSibling);
    const field = await bar.asElement()?.$(":scope > label > input[type=search]");
    if (!field) continue;
    const word = before.all.at(-1).split("\t")[0].trim().slice(0, 12);
    await field.fill(word);
    const left = await rowsOf(table);
    const fit = before.all.filter((row) => row.replace(/\s+/g, " ").toLowerCase().includes(word.replace(/\s+/g, " ").toLowerCase()));
    check(left.seen.length === Math.min(fit.length, left.seen.length > IN_SIGHT ? fit.length : IN_SIGHT), name, `the words "${word}" leave ${left.seen.length} of ${fit.length} rows`);
    await field.fill("no row has these words");
    check((await rowsOf(table)).seen.length === 0, name, "words that no row has leave rows");
    await field.fill("");
    const choice = await bar.asElement().$("select");
    if (choice) {
      const values = await choice.$$eval("option", (options) => options.map((option) => option.value));
      await choice.selectOption(values[1]);
      const chosen = await rowsOf(table);
      check(chosen.seen.length > 0 && chosen.seen.every((row) => row.includes(values[1])), name, `choosing ${values[1]} leaves other rows`);
      await choice.selectOption("");
    }
    const more = await bar.asElement().$("button");
    if (more && (await more.isVisible())) {
      await more.click();
      check((await rowsOf(table)).seen.length === before.all.length, name, "does not show all rows when asked");
      await more.click();
    }
  }
  return tried;
}

/** Texts of a table's rows, all and those in sight, and the numbers of a column. */
async function rowsOf(table) {
  const rows = await table.$$eval("tbody tr", (rows) => rows.map((row) => ({ hidden: row.hidden, cells: [...row.cells].map((cell) => cell.textContent) })));
  const number = (text) => {
    const found = text.replace(/[\s\u2007\u2008\u202f\u00a0]/g, "").replace(/\u2212/g, "-").match(/(-?\d+(?:\.\d+)?(?:e-?\d+)?)(?:(k|M|bn)(?=[A-Z]{3}))?/);
    return found ? Number(found[1]) * ({ k: 1e3, M: 1e6, bn: 1e9 }[found[2]] ?? 1) : null;
  };
  return {
    all: rows.map((row) => row.cells.join("\t")),
    seen: rows.filter((row) => !row.hidden).map((row) => row.cells.join("\t")),
    numbers: (at) => rows.map((row) => number(row.cells[at] ?? "")).filter((value) => value !== null),
  };
}

/** Without script every fold opens by a click, and every row and picture is then in sight. */
async function isWholeWithoutScript(browser, name) {
  const { context, page } = await open(browser, name, { javaScriptEnabled: false });
  for (const summary of await page.$$("main details > summary")) {
    await summary.click();
  }
  const rows = await page.locator("tbody tr").all();
  let lost = 0;
  for (const row of rows) lost += (await row.isVisible()) ? 0 : 1;
  check(lost === 0, name, `without script ${lost} of ${rows.length} rows are out of sight`);
  const pictures = await page.locator("figure svg").all();
  for (const picture of pictures) check(await picture.isVisible(), name, "without script a picture is out of sight");
  await context.close();
}

async function fits(name, page, width) {
  await page.setViewportSize({ width, height: 900 });
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  check(wide <= 0, name, `scrolls sideways by ${wide} px at ${width} px`);
}

async function isAccessible(name, page, words) {
  await page.evaluate(axe);
  const found = await page.evaluate((tags) => window.axe.run(document, { runOnly: { type: "tag", values: tags }, resultTypes: ["violations"] }), RULES);
  for (const violation of found.violations) {
    const where = violation.nodes.slice(0, 3).map((node) => node.target.join(" ")).join("; ");
    check(false, name, `${words}: ${violation.id}, ${violation.nodes.length} nodes (${where})`);
  }
  check(found.passes !== undefined, name, "axe-core gave no answer");
}

/** The contents stay in sight on a wide screen. */
async function contentsStay(name, page) {
  await page.setViewportSize({ width: 1280, height: 900 });
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
  await page.evaluate(() => window.scrollTo(0, document.body.scrollHeight / 2));
  // Of a page that is hardly longer than its list of contents the first lines may scroll away, never all.
  const seen = await page.$$eval("nav.contents a", (links) => links.filter((link) => {
    const box = link.getBoundingClientRect();
    return box.height > 0 && box.top >= 0 && box.bottom <= window.innerHeight;
  }).length);
  check(seen >= 3, name, `${seen} lines of the contents are in sight of a wide screen`);
}

/** In print: how many pages, no heading parted from what it heads, no picture on two pages. */
async function prints(browser, name, scratch) {
  const { context, page } = await open(browser, name);
  const marks = await page.evaluate(() => {
    // A mark is a tiny word that the text of the printed page gives back.
    const svg = "http://www.w3.org/2000/svg";
    let pictures = 0;
    for (const picture of document.querySelectorAll("figure svg")) {
      const [x, y, wide, high] = picture.getAttribute("viewBox").split(" ").map(Number);
      for (const [side, at] of [["a", y + 30], ["b", y + high - 10]]) {
        const mark = document.createElementNS(svg, "text");
        mark.setAttribute("x", x + wide / 2);
        mark.setAttribute("y", at);
        mark.setAttribute("font-size", 20);
        mark.textContent = `PIC${pictures}${side}PIC`;
        picture.append(mark);
      }
      pictures += 1;
    }
    const tiny = (text) => {
      const mark = document.createElement("span");
      mark.style.cssText = "font-size:2px;line-height:0";
      mark.textContent = text;
      return mark;
    };
    let headings = 0;
    const walker = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
    const texts = [];
    while (walker.nextNode()) if (walker.currentNode.textContent.trim() && !walker.currentNode.parentElement.closest("nav, .tools, .files, title, desc, metadata, .unseen")) texts.push(walker.currentNode);
    for (const heading of document.querySelectorAll("main h1, main h2, main h3, main h4")) {
      const next = texts.find((text) => !heading.contains(text) && heading.compareDocumentPosition(text) & Node.DOCUMENT_POSITION_FOLLOWING);
      if (!next || next.parentElement.namespaceURI === svg) continue;
      heading.append(tiny(`HEAD${headings}aHEAD`));
      next.parentElement.insertBefore(tiny(`HEAD${headings}bHEAD`), next);
      headings += 1;
    }
    return { pictures, headings };
  });
  for (const format of ["A4", "Letter"]) {
    const file = join(scratch, "page.pdf");
    // A printing dialogue fires this event; printing by a program does not.
    writeFileSync(file, await page.pdf({ format, preferCSSPageSize: format === "A4" }));
    const sheets = execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8", maxBuffer: 1 << 28 }).split("\f").slice(0, -1);
    const at = (mark) => sheets.findIndex((sheet) => sheet.replace(/\s/g, "").includes(mark));
    if (name === "report.html" && all.length > 1) {
      check(sheets.length <= PAGES_OF_FRONT, name, `prints on ${sheets.length} pages of ${format}`);
    }
    check(sheets.length > 0 && sheets.every((sheet) => sheet.trim()), name, `prints an empty page of ${format}`);
    for (let i = 0; i < marks.pictures; i += 1) {
      const [a, b] = [at(`PIC${i}aPIC`), at(`PIC${i}bPIC`)];
      check(a >= 0 && a === b, name, `picture ${i} is cut or lost in print on ${format}: sheets ${a + 1} and ${b + 1}`);
    }
    for (let i = 0; i < marks.headings; i += 1) {
      const [a, b] = [at(`HEAD${i}aHEAD`), at(`HEAD${i}bHEAD`)];
      check(a >= 0 && a === b, name, `heading ${i} is parted from its text in print on ${format}: sheets ${a + 1} and ${b + 1}`);
    }
    console.log(`${name}: ${sheets.length} pages of ${format}`);
  }
  await context.close();
}

const { all, close } = pages();
const scratch = mkdtempSync(join(tmpdir(), "report-"));
const browser = await chromium.launch({ executablePath: EXECUTABLE, args: ["--no-sandbox"] });
try {
  check(statSync(join(folder, "report.html")).size < MOST_BYTES_OF_FRONT || all.length === 1, "report.html", "is too large to be mailed");
  const ids = idsOfFiles();
  let tables = 0;
  for (const name of all) {
    const opened = await open(browser, name);
    await isQuiet(name, opened);
    await linksLead(name, opened.page, ids);
    if (close.includes(name)) {
      await isOrdered(name, opened.page);
      for (const width of WIDTHS) {
        await fits(name, opened.page, width);
        await isAccessible(name, opened.page, `at ${width} px`);
      }
      await opened.page.emulateMedia({ colorScheme: "dark" });
      await isAccessible(name, opened.page, "in the dark");
      await opened.page.emulateMedia({ colorScheme: "light" });
      if (all.length > 1) await contentsStay(name, opened.page);
      tables += await sortsAndFilters(name, opened.page);
      check(opened.said.length === 0, name, `the console says after use: ${opened.said.join(" | ")}`);
      await isWholeWithoutScript(browser, name);
      await prints(browser, name, scratch);
    }
    await opened.context.close();
  }
  check(tables > 0, "report", "has no table to sort");
} finally {
  await browser.close();
  rmSync(scratch, { recursive: true });
}
for (const line of wrong) console.error(line);
console.log(`${close.length} of ${all.length} pages looked at closely, ${checks} checks, ${wrong.length} failed`);
process.exit(wrong.length ? 1 : 0);
