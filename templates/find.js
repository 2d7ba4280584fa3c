// Finds a place of the page by its name, shows what fails or is open alone, and unfolds all workings. Asks nobody for
// anything.
"use strict";
{
  const bar = document.querySelector(".bar");
  const made = (tag, attributes, ...inside) => {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    element.append(...inside);
    return element;
  };

  // A block or a value, as it is typed or as people say it.
  const plain = (text) => text.toLowerCase().replace(/^block\./, "").replace(/[\s._:]+/g, " ").trim();
  const places = [...document.querySelectorAll("main [id]")]
    .map((element) => element.id)
    .filter((id) => !id.startsWith("vw:"));
  const said = made("span", { role: "status" });
  const field = made("input", { type: "search", id: "vw:name", list: "vw:names", autocomplete: "off", spellcheck: "false" });
  const names = made("datalist", { id: "vw:names" });
  for (const id of places) names.append(made("option", { value: id.replace(/^block\./, "") }));
  let asked = "";
  let turn = 0;
  const go = (event) => {
    event.preventDefault();
    const wanted = plain(field.value);
    if (!wanted) return;
    turn = wanted === asked ? turn + 1 : 0;
    asked = wanted;
    // What begins so stands before what only holds it.
    const holds = places.filter((id) => plain(id).includes(wanted));
    const found = [...holds.filter((id) => plain(id).startsWith(wanted)), ...holds.filter((id) => !plain(id).startsWith(wanted))];
    said.textContent = found.length ? `${(turn % found.length) + 1} of ${found.length}` : "no such name";
    if (!found.length) return;
    const place = document.getElementById(found[turn % found.length]);
    for (let around = place; around; around = around.parentElement) if (around.localName === "details") around.open = true;
    show(false);
    location.hash = `#${place.id}`;
  };
  const form = made("search", {}, made("label", { for: "vw:name" }, "Find a name"), field, names);
  field.addEventListener("keydown", (event) => event.key === "Enter" && go(event));
  field.addEventListener("change", go);

  // A row or an entry with a verdict that is not met, with the heads that it stands under.
  const wanting = /^(fails|open|not in this journal|calibration ended)/;
  const isWanting = (row) =>
    row.querySelector('use[href="#vw:fails"], use[href="#vw:open"]') ||
    [...row.querySelectorAll("td strong")].some((strong) => wanting.test(strong.textContent));
  const button = made("button", { type: "button", "aria-pressed": "false" }, "Only what fails or is open");
  const entries = [...document.querySelectorAll("main > .entry")];
  let marked = 0;
  const mark = () => {
    const heads = [];
    for (const entry of entries) {
      const level = Number(entry.querySelector(":scope > h1, :scope > h2, :scope > h3, :scope > h4, :scope > .piece > :is(h1, h2, h3, h4)")?.localName.slice(1));
      if (level) heads.length = Math.min(heads.length, level);
      if (level) heads[level] = entry;
      if (entry.classList.contains("has-opening")) heads[9] = entry;
      const rows = [...entry.querySelectorAll("tbody tr")].filter(isWanting);
      if (!rows.length) continue;
      marked += rows.length;
      for (const kept of [...rows, entry, ...heads.filter(Boolean)]) kept.classList.add("kept");
    }
  };
  const show = (only) => {
    if (only && !marked) mark();
    button.setAttribute("aria-pressed", String(only));
    document.documentElement.classList.toggle("wanting", only);
    if (only) said.textContent = `${marked} line${marked === 1 ? "" : "s"}`;
    if (only) scrollTo(0, 0);
  };
  button.addEventListener("click", () => show(button.getAttribute("aria-pressed") === "false"));

  // What each result was worked from, folded behind its name.
  const folds = document.querySelectorAll("main details");
  const all = made("button", { type: "button", "aria-pressed": "false" }, "All workings");
  all.addEventListener("click", () => {
    const open = all.getAttribute("aria-pressed") === "false";
    all.setAttribute("aria-pressed", String(open));
    for (const fold of folds) fold.open = open;
  });
  bar.append(form, button, ...(folds.length ? [all] : []), said);
}
