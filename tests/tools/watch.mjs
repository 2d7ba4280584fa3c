// Opens the page of `voltwright watch` in Chromium, saves the journal, and checks what only a browser can tell.
//
//   node tests/tools/watch.mjs ADDRESS JOURNAL.md
//
// The journal holds `m: 100 kg` in a block `w` far down the page, and a block `later` behind it. One line a check; exit
// status 0 if all hold, 1 if one does not, 2 if the browser could not be driven.

import { mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

import { startBrowser } from "./driver.mjs";

const [address, journal] = process.argv.slice(2);
/** So often is looked whether the page shows something yet, with a pause between. */
const LOOKS = 600;
const PAUSE = 50;

let failed = 0;
const profile = mkdtempSync(join(tmpdir(), "voltwright-watch-"));
const browser = startBrowser(profile);
try {
  await check(await browser.open());
} catch (error) {
  console.error(`the browser could not be driven: ${error.message}`);
  process.exitCode = 2;
} finally {
  await browser.close();
  rmSync(profile, { recursive: true, force: true, maxRetries: 5 });
}
if (process.exitCode === undefined) process.exitCode = failed > 0 ? 1 : 0;

function claim(what, holds, found) {
  console.log(holds ? `ok    ${what}` : `FAIL  ${what}: ${JSON.stringify(found)}`);
  if (!holds) failed += 1;
}

function pause(time) {
  return new Promise((done) => setTimeout(done, time));
}

async function check(tab) {
  const messages = [];
  const requests = [];
  let loads = 0;
  tab.on("Runtime.consoleAPICalled", (event) => messages.push(`console.${event.type}`));
  tab.on("Runtime.exceptionThrown", (event) => messages.push(event.exceptionDetails.text));
  tab.on("Log.entryAdded", (event) => messages.push(`${event.entry.level}: ${event.entry.text}`));
  tab.on("Network.requestWillBeSent", (event) => requests.push(event.request.url));
  tab.on("Page.frameNavigated", () => (loads += 1));
  for (const domain of ["Page", "Runtime", "Log", "Network"]) await tab.send(`${domain}.enable`);
  await tab.send("Emulation.setDeviceMetricsOverride", { width: 1000, height: 700, deviceScaleFactor: 1, mobile: false });
  await tab.load(address);
  loads = 0;

  const original = readFileSync(journal, "utf8");
  const save = (text) => writeFileSync(journal, text);
  const mass = (kilograms) => readFileSync(journal, "utf8").replace(/m: [0-9]+ kgs?/, `m: ${kilograms} kg`);
  const shows = async (words) => {
    for (let look = 0; look < LOOKS; look += 1) {
      if (await tab.evaluate((words) => document.querySelector("main").textContent.includes(words), words)) return true;
      await pause(PAUSE);
    }
    return false;
  };

  // What a reader does: unfold the workings, walk to a link, scroll on.
  await tab.evaluate(() => {
    const fold = document.getElementById("block.later").parentElement.querySelector("#block\\.later ~ .entry details");
    fold.open = true;
    const link = document.querySelector(".contents a, main a[href]");
    link.focus({ preventScroll: true });
    window.kept = { fold, link, entry: document.getElementById("block.later") };
    window.kept.entry.scrollIntoView();
    window.kept.top = window.kept.entry.getBoundingClientRect().top;
  });
  save(mass(111));
  claim("a save is shown", await shows("1 110 N"));
  claim("what moved since the watch began is shown", await shows("What moved since the watch began"));
  claim("and how much", await shows("+110 N"));
  await pause(500);
  const now = await tab.evaluate(() => ({
    same: window.kept !== undefined,
    open: window.kept?.fold.isConnected && window.kept.fold.open,
    focus: window.kept?.link === document.activeElement,
    moved: Math.round(window.kept?.entry.getBoundingClientRect().top - window.kept?.top),
    scrolled: scrollY,
    lost: document.documentElement.classList.contains("lost"),
  }));
  claim("the page was not loaded again", now.same && loads === 0, { now, loads });
  claim("what was unfolded still is", now.open, now);
  claim("the focus is where it was", now.focus, now);
  claim("what was at the top of the window still is", now.scrolled > 0 && Math.abs(now.moved) <= 1, now);
  claim("the page is connected", !now.lost, now);

  const before = requests.length;
  await pause(1500);
  claim("nothing is asked for while nothing is saved", requests.length === before, requests.slice(before));

  for (let saved = 1; saved <= 100; saved += 1) {
    save(mass(saved));
    await pause(5);
  }
  save(mass(77));
  claim("a hundred saves in a second end with the last", await shows("770 N"));
  await pause(1000);
  const pages = requests.slice(before).filter((url) => url === address).length;
  claim("and are few pages", pages >= 1 && pages <= 20, pages);

  save(readFileSync(journal, "utf8").replace("m: 77 kg", "m: 77 kgs"));
  claim("a finding is shown", await shows("kgs is no unit"));
  const beside = await tab.evaluate(() => {
    const texts = [...document.querySelectorAll("main > .entry")];
    const at = (test) => texts.findIndex(test);
    const found = at((entry) => entry.classList.contains("has-caution") && entry.textContent.includes("kgs is no unit"));
    return { block: at((entry) => entry.id === "block.w"), found, later: at((entry) => entry.id === "block.later") };
  });
  claim("beside its block", beside.block < beside.found && beside.found < beside.later, beside);

  // As editors save: beside, then renamed.
  writeFileSync(`${journal}.tmp`, original);
  renameSync(`${journal}.tmp`, journal);
  claim("a file that is replaced is followed", await shows("Nothing moved."));
  const rest = await tab.evaluate(() => document.querySelector("main").textContent.includes("kgs"));
  claim("the finding is gone", !rest);

  // The page that has changed step by step is the one that is served.
  await pause(500);
  const same = await tab.evaluate(async () => {
    const page = new DOMParser().parseFromString(await (await fetch("/")).text(), "text/html");
    const here = document.body.cloneNode(true);
    for (const fold of here.querySelectorAll("details[open]")) fold.removeAttribute("open");
    return here.isEqualNode(page.body);
  });
  claim("the page is the one that is served", same);
  claim("nothing from elsewhere is asked for", requests.every((url) => url.startsWith(address) || url.startsWith("data:")), requests);
  claim("nothing in the console", messages.length === 0, messages);
  await tab.close();
}
