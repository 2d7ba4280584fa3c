// Follows the journal: when there is a new page, what differs is put in place of the old, and all else stays as it is:
// where one has scrolled to, what is unfolded, where the focus is.
"use strict";

const root = document.documentElement;
let shown = root.dataset.edition;
let wanted = shown;
let busy = false;

const news = new EventSource("/events");
news.onopen = () => root.classList.remove("lost");
news.onerror = () => root.classList.add("lost");
news.onmessage = (event) => {
  wanted = event.data;
  take();
};

async function take() {
  if (busy) return;
  busy = true;
  try {
    while (wanted !== shown) {
      const asked = wanted;
      const answer = await fetch("/", { cache: "no-store" });
      if (!answer.ok) break;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      keepingPlace(() => become(document.body, page.body));
      document.title = page.title;
      shown = page.documentElement.dataset.edition;
      root.dataset.edition = shown;
      // It may be newer than what was asked for.
      if (wanted === asked) wanted = shown;
    }
  } catch {
    // The next news, or a new connection, asks again.
  } finally {
    busy = false;
  }
}

// What stands at the top of the window stays there, and the focus where it was.
function keepingPlace(change) {
  const focus = document.activeElement;
  const top = scrollY > 0 ? [...document.querySelectorAll("main > .entry")].find((entry) => entry.getBoundingClientRect().bottom > 0) : undefined;
  const before = top?.getBoundingClientRect().top;
  change();
  if (top?.isConnected) scrollBy({ top: top.getBoundingClientRect().top - before, behavior: "instant" });
  if (focus?.id && !focus.isConnected) document.getElementById(focus.id)?.focus({ preventScroll: true });
}

// Makes of one node what another is.
function become(old, fresh) {
  if (old.nodeType !== Node.ELEMENT_NODE) {
    old.data = fresh.data;
    return;
  }
  for (const { name } of [...old.attributes]) {
    if (!fresh.hasAttribute(name) && !isFold(old, name)) old.removeAttribute(name);
  }
  for (const { name, value } of fresh.attributes) {
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
  childrenBecome(old, [...old.childNodes], [...fresh.childNodes]);
}

// Whether something is unfolded is the reader's.
function isFold(element, name) {
  return name === "open" && element.localName === "details";
}

function childrenBecome(parent, old, fresh) {
  while (old.length && fresh.length && alike(old[0], fresh[0])) {
    old.shift();
    fresh.shift();
  }
  let after = null;
  while (old.length && fresh.length && alike(old.at(-1), fresh.at(-1))) {
    after = old.pop();
    fresh.pop();
  }
  for (const [at, node] of fresh.entries()) {
    const later = fresh.slice(at + 1);
    let found = old.findIndex((one) => isSame(one, node));
    if (found < 0 && old.length && fits(old[0], node) && !later.some((other) => isSame(old[0], other))) found = 0;
    // What has gone from before it goes, so that it need not move.
    while (found > 0 && !later.some((other) => isSame(old[0], other))) {
      old.shift().remove();
      found -= 1;
    }
    if (found < 0) {
      parent.insertBefore(document.importNode(node, true), old[0] ?? after);
      continue;
    }
    const [one] = old.splice(found, 1);
    if (found > 0) parent.insertBefore(one, old[0]);
    if (!alike(one, node)) become(one, node);
  }
  for (const node of old) node.remove();
}

// Whether it is the same thing, by its name if it has one.
function isSame(old, fresh) {
  return old.id || fresh.id ? old.id === fresh.id && fits(old, fresh) : alike(old, fresh);
}

// Whether one can become the other: neither is named otherwise, and they are of one sort.
function fits(old, fresh) {
  return old.nodeName === fresh.nodeName && (old.id ?? "") === (fresh.id ?? "");
}

// Whether they are the same but for what the reader has unfolded.
function alike(old, fresh) {
  if (old.isEqualNode(fresh)) return true;
  if (old.nodeType !== Node.ELEMENT_NODE || (old.localName !== "details" && !old.querySelector("details[open]"))) return false;
  const bare = old.cloneNode(true);
  for (const fold of [bare, ...bare.querySelectorAll("details[open]")]) if (isFold(fold, "open")) fold.removeAttribute("open");
  return bare.isEqualNode(fresh);
}
