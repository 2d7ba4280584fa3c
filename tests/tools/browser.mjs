// Opens a printed page in Chromium and checks what only a browser can tell.
//
//   node tests/tools/browser.mjs PAGE.html… [--pictures FOLDER] [--paper FOLDER]
//
// One line a check; exit status 0 if all hold, 1 if one does not, 2 if the browser could not be driven.
// CHROMIUM names the browser (default `chromium`). Needs Node 18 and nothing else: the browser is driven
// through the pipe of its DevTools protocol. `--pictures` keeps a PNG of each width, `--paper` a PDF.

import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

import { startBrowser } from "./driver.mjs";

const WIDTHS = [360, 768, 1400];
const PAPER = 725;

const options = readArguments(process.argv.slice(2));
if (options.pages.length === 0) {
  console.error("usage: node tests/tools/browser.mjs PAGE.html… [--pictures FOLDER] [--paper FOLDER]");
  process.exit(2);
}

let failed = 0;
const profile = mkdtempSync(join(tmpdir(), "voltwright-browser-"));
const browser = startBrowser(profile);
try {
  for (const page of options.pages) await checkPage(browser, page);
} catch (error) {
  console.error(`the browser could not be driven: ${error.message}`);
  process.exitCode = 2;
} finally {
  await browser.close();
  rmSync(profile, { recursive: true, force: true, maxRetries: 5 });
}
if (process.exitCode === undefined) process.exitCode = failed > 0 ? 1 : 0;

function readArguments(words) {
  const found = { pages: [], pictures: null, paper: null };
  for (let at = 0; at < words.length; at += 1) {
    if (words[at] === "--pictures") found.pictures = words[(at += 1)];
    else if (words[at] === "--paper") found.paper = words[(at += 1)];
    else found.pages.push(words[at]);
  }
  return found;
}

function report(page, claim, faults) {
  const name = basename(page);
  if (faults.length === 0) {
    console.log(`ok    ${name}: ${claim}`);
    return;
  }
  failed += 1;
  console.log(`FAIL  ${name}: ${claim}`);
  for (const fault of faults.slice(0, 10)) console.log(`      ${fault}`);
  if (faults.length > 10) console.log(`      and ${faults.length - 10} more`);
}

async function checkPage(browser, page) {
  const address = pathToFileURL(resolve(page)).href;
  const tab = await browser.open();
  const messages = [];
  const requests = [];
  tab.on("Runtime.consoleAPICalled", (event) => messages.push(`console.${event.type}`));
  tab.on("Runtime.exceptionThrown", (event) => messages.push(event.exceptionDetails.text));
  tab.on("Log.entryAdded", (event) => messages.push(`${event.entry.level}: ${event.entry.text}`));
  tab.on("Network.requestWillBeSent", (event) => requests.push(event.request.url));
  tab.on("Page.javascriptDialogOpening", () => messages.push("a dialog opened"));
  for (const domain of ["Page", "Runtime", "Log", "Network"]) await tab.send(`${domain}.enable`);

  await tab.load(address);
  for (const width of WIDTHS) {
    await tab.send("Emulation.setDeviceMetricsOverride", {
      width,
      height: 900,
      deviceScaleFactor: 1,
      mobile: width < 500,
    });
    report(page, `no sideways scroll at ${width} px`, await tab.evaluate(sidewaysScroll));
    if (options.pictures) await keepPicture(tab, options.pictures, page, width);
  }
  // A browser makes all of a print smaller where one thing is wider than the paper: A4 without its margins.
  await tab.send("Emulation.setEmulatedMedia", { media: "print" });
  const paper = { width: PAPER, height: 1000, deviceScaleFactor: 1, mobile: false };
  await tab.send("Emulation.setDeviceMetricsOverride", paper);
  report(page, "nothing is wider than the paper", await tab.evaluate(sidewaysScroll));
  report(page, "no text on paper is under 7.5 pt", await tab.evaluate(smallPrint));
  report(page, "every working is on paper, folded or not", await tab.evaluate(unprintedWorkings));
  await tab.send("Emulation.setEmulatedMedia", { media: "" });
  const desk = { width: WIDTHS.at(-1), height: 900, deviceScaleFactor: 1, mobile: false };
  await tab.send("Emulation.setDeviceMetricsOverride", desk);
  report(page, "every inner link lands on an element", await tab.evaluate(lostLinks));
  report(page, "no id stands twice", await tab.evaluate(doubleIds));
  report(page, "the style sheet applies", await tab.evaluate(missingStyle));
  report(page, "no element has a style or an event attribute", await tab.evaluate(liveAttributes));
  report(page, "pictures, tables, headings and landmarks have what readers of speech need", await tab.evaluate(deafSpots));
  report(page, "text contrasts with its paper by 4.5 to 1", await tab.evaluate(faintText));
  report(page, "no script ran but the page's own", await tab.evaluate(scriptTraces));
  report(page, "each name is found by what is typed for it", await tab.evaluate(unfoundNames));
  report(page, "what fails or is open is shown alone, under its heads", await tab.evaluate(unfiltered));
  if (options.paper) await keepPaper(tab, options.paper, page);
  // Pictures in data addresses are part of the file.
  const outside = requests.filter((url) => url !== address && !url.startsWith("data:"));
  report(page, "no request but the file itself", outside);
  report(page, "nothing in the console", messages);
  await tab.close();
}

async function keepPicture(tab, folder, page, width) {
  mkdirSync(folder, { recursive: true });
  const { data } = await tab.send("Page.captureScreenshot", { format: "png", captureBeyondViewport: true });
  const name = `${basename(page, ".html")}-${width}.png`;
  writeFileSync(join(folder, name), Buffer.from(data, "base64"));
}

async function keepPaper(tab, folder, page) {
  mkdirSync(folder, { recursive: true });
  const { data } = await tab.send("Page.printToPDF", { preferCSSPageSize: true, printBackground: true });
  writeFileSync(join(folder, `${basename(page, ".html")}.pdf`), Buffer.from(data, "base64"));
}

// What follows runs in the page; each gives a list of faults. ----------------------------------------------

function sidewaysScroll() {
  const room = document.documentElement.clientWidth;
  const needed = Math.max(document.documentElement.scrollWidth, document.body.scrollWidth);
  const faults = needed > room ? [`${needed} px in ${room} px`] : [];
  // A container may hide its overflow from the page's width, so each element is looked at too; what stands in a
  // box that scrolls by itself can be reached.
  const scrolls = (element) => element !== null && (getComputedStyle(element).overflowX !== "visible" || scrolls(element.parentElement));
  for (const element of document.querySelectorAll("body *")) {
    const { right, width, height } = element.getBoundingClientRect();
    if (right > room + 1 && width > 0 && height > 0 && !scrolls(element.parentElement)) {
      faults.push(`reaches ${Math.round(right)} px: ${element.outerHTML.slice(0, 100)}`);
    }
  }
  return faults;
}

function smallPrint() {
  const faults = new Set();
  for (const element of document.body.querySelectorAll("*")) {
    const own = [...element.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim() !== "");
    // Raised and lowered letters belong to a word; drawings are made smaller as a whole.
    if (!own || element.closest("sub, sup, svg, .unseen") || !element.checkVisibility({ visibilityProperty: true })) continue;
    const points = parseFloat(getComputedStyle(element).fontSize) * 0.75;
    if (points < 7.49) faults.add(`${points.toFixed(2)} pt: <${element.localName} class="${element.className}"> in ${element.closest("[class]").className}`);
  }
  return [...faults];
}

function unprintedWorkings() {
  const faults = [];
  for (const working of document.querySelectorAll("th details > span")) {
    if (working.getClientRects().length === 0 || !working.checkVisibility({ contentVisibilityAuto: true })) faults.push(working.textContent);
  }
  if (document.querySelector("details.working:not(:has(+ .run-on))")) faults.push("values of other tables without a line");
  return faults;
}

function lostLinks() {
  const links = [...document.querySelectorAll('a[href^="#"]')].map((link) => link.getAttribute("href"));
  return links.filter((to) => document.getElementById(decodeURIComponent(to.slice(1))) === null);
}

function doubleIds() {
  const seen = new Set();
  const ids = [...document.querySelectorAll("[id]")].map((element) => element.id);
  return ids.filter((id) => seen.has(id) || !seen.add(id));
}

function missingStyle() {
  const faults = [];
  if (document.styleSheets.length !== 1) faults.push(`${document.styleSheets.length} style sheets apply`);
  if (document.querySelectorAll("style").length !== 1) faults.push("not one `style` element");
  return faults;
}

function liveAttributes() {
  const live = (element) => element.getAttributeNames().some((name) => name === "style" || name.startsWith("on"));
  return [...document.querySelectorAll("*")].filter(live).map((element) => element.outerHTML.slice(0, 100));
}

function deafSpots() {
  const faults = [];
  const need = (selector, holds, claim) => {
    for (const element of document.querySelectorAll(selector)) {
      if (!holds(element)) faults.push(`${claim}: ${element.outerHTML.slice(0, 80)}`);
    }
  };
  if (!document.documentElement.lang) faults.push("no language");
  if (document.title === "") faults.push("no title");
  if (document.querySelectorAll("main").length !== 1) faults.push("not one `main`");
  need("img", (image) => image.hasAttribute("alt"), "a picture without alternative text");
  need("svg", (image) => image.ariaHidden === "true" || (image.getAttribute("role") === "img" && image.ariaLabel !== null), "a drawing without a name");
  need("th", (head) => head.scope !== "", "a head without scope");
  need("a", (link) => link.textContent.trim() !== "" || link.ariaLabel, "a link without a name");
  let last = 0;
  for (const heading of document.querySelectorAll("h1, h2, h3, h4, h5, h6")) {
    const level = Number(heading.tagName[1]);
    if (level > last + 1) faults.push(`a heading of level ${level} after ${last}`);
    last = level;
  }
  return faults;
}

function faintText() {
  // Colours are read through a canvas, which knows every notation.
  const pen = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const known = new Map();
  const read = (colour) => {
    if (!known.has(colour)) {
      pen.clearRect(0, 0, 1, 1);
      pen.fillStyle = colour;
      pen.fillRect(0, 0, 1, 1);
      known.set(colour, [...pen.getImageData(0, 0, 1, 1).data]);
    }
    return known.get(colour);
  };
  const light = ([red, green, blue]) => {
    const linear = [red, green, blue].map((part) => {
      const share = part / 255;
      return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
  };
  const ground = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const colour = read(getComputedStyle(at).backgroundColor);
      if (colour[3] === 255) return colour;
    }
    return [255, 255, 255, 255];
  };
  const faults = new Set();
  for (const element of document.body.querySelectorAll("*")) {
    const own = [...element.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim() !== "");
    if (!own || element.tagName === "SCRIPT" || element.closest(".paper")) continue;
    const style = getComputedStyle(element);
    const colour = read(element instanceof SVGElement ? style.fill : style.color);
    const [lighter, darker] = [light(colour), light(ground(element))].sort((a, b) => b - a);
    const contrast = (lighter + 0.05) / (darker + 0.05);
    if (contrast < 4.5) faults.add(`${contrast.toFixed(2)}: <${element.tagName.toLowerCase()} class="${element.getAttribute("class") ?? ""}">`);
  }
  return [...faults];
}

function scriptTraces() {
  const faults = [];
  // A page of the tests tries to set this by every way it knows.
  if (window.__hit !== undefined) faults.push(`window.__hit is ${window.__hit}`);
  // The page's own, which its policy knows by its hash.
  const strange = [...document.scripts].filter((script) => script.src || script.parentElement !== document.body || !script.previousElementSibling?.matches("nav.bar"));
  if (strange.length > 0) faults.push(`${strange.length} strange script elements`);
  return faults;
}

function unfoundNames() {
  const field = document.querySelector(".bar input");
  const ids = [...document.querySelectorAll("main [id]")].map((element) => element.id).filter((id) => !id.startsWith("vw:"));
  const faults = [];
  // One of each sort is enough: a block, and a value by words as people say them.
  for (const id of [ids.find((id) => id.startsWith("block.")), ids.findLast((id) => /^\w+\.\w+_\w+$/.test(id))].filter(Boolean)) {
    field.value = id.replace(/^block\./, "").replace(/[._]/g, " ");
    field.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter", cancelable: true }));
    const found = decodeURIComponent(location.hash.slice(1));
    const same = (one) => one.replace(/^block\./, "").replace(/[._]/g, " ").toLowerCase();
    if (same(found) !== same(id)) faults.push(`${id}: at ${found}`);
    if (document.getElementById(found)?.closest("details:not([open])")) faults.push(`${id} is folded`);
  }
  return faults;
}

function unfiltered() {
  const button = document.querySelector(".bar button");
  const seen = (element) => element.getClientRects().length > 0;
  const verdicts = (word) => [...document.querySelectorAll(`main tbody use[href="#vw:${word}"]`)].filter(seen).length;
  const all = ["fails", "open", "meets"].map(verdicts);
  button.click();
  const [fails, open, meets] = ["fails", "open", "meets"].map(verdicts);
  const faults = [];
  if (fails !== all[0] || open !== all[1]) faults.push(`${fails} of ${all[0]} that fail, ${open} of ${all[1]} that are open`);
  if (meets > 0) faults.push(`${meets} that are met`);
  button.click();
  if (verdicts("meets") !== all[2]) faults.push("not all came back");
  return faults;
}

// The browser. -----------------------------------------------------------------------------------------------
