// Asks axe-core, a checker of accessible pages, about printed pages at three widths in a light and a dark theme.
//
//   node tests/tools/axe.mjs PAGE.html…
//
// One line a page, width and theme; exit status 0 if nothing is found, 1 if something is, 2 if the browser could not be
// driven. AXE names its script, CHROMIUM the browser.

import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

import { startBrowser } from "./driver.mjs";

const WIDTHS = [320, 820, 1400];
const THEMES = ["light", "dark"];

// Tens of thousands of elements are looked at one by one.
const PATIENCE = 600_000;

const pages = process.argv.slice(2);
if (pages.length === 0 || !process.env.AXE) {
  console.error("usage: AXE=axe.min.js node tests/tools/axe.mjs PAGE.html…");
  process.exit(2);
}

const axe = readFileSync(process.env.AXE, "utf8");
let failed = 0;
const profile = mkdtempSync(join(tmpdir(), "voltwright-axe-"));
const browser = startBrowser(profile, PATIENCE);
try {
  for (const page of pages) await checkPage(page);
} catch (error) {
  console.error(`the browser could not be driven: ${error.message}`);
  process.exitCode = 2;
} finally {
  await browser.close();
  rmSync(profile, { recursive: true, force: true, maxRetries: 5 });
}
if (process.exitCode === undefined) process.exitCode = failed > 0 ? 1 : 0;

async function checkPage(page) {
  const tab = await browser.open();
  await tab.send("Page.enable");
  // The pages allow no script; this one comes from the tests.
  await tab.send("Page.setBypassCSP", { enabled: true });
  for (const theme of THEMES) {
    await tab.send("Emulation.setEmulatedMedia", { features: [{ name: "prefers-color-scheme", value: theme }] });
    for (const width of WIDTHS) {
      const mobile = width < 500;
      await tab.send("Emulation.setDeviceMetricsOverride", { width, height: 900, deviceScaleFactor: 1, mobile });
      await tab.load(pathToFileURL(resolve(page)).href);
      const loaded = await tab.send("Runtime.evaluate", { expression: `${axe}; typeof axe.run` });
      if (loaded.result.value !== "function") throw new Error("axe does not run");
      const { checked, found } = await tab.evaluate(ask);
      const claim = `${basename(page)}: ${width} px, ${theme}, ${checked} rules hold`;
      if (found.length === 0) {
        console.log(`ok    ${claim}`);
        continue;
      }
      failed += 1;
      console.log(`FAIL  ${claim}`);
      for (const { rule, help, count, first } of found) console.log(`      ${rule}, ${count} times: ${help}: ${first}`);
    }
  }
  await tab.close();
}

// Runs in the page.
async function ask() {
  const told = await window.axe.run(document, { resultTypes: ["violations"] });
  const found = told.violations.map(({ id, help, nodes }) => ({
    rule: id,
    help,
    count: nodes.length,
    first: `${nodes[0].target.join(" ")} ${nodes[0].html.slice(0, 120)}`,
  }));
  return { checked: told.passes.length, found };
}
