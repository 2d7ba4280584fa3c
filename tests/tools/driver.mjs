// Drives Chromium through the pipe of its DevTools protocol. CHROMIUM names the browser (default `chromium`). An answer
// that takes longer than `patience`, in milliseconds, is none.

import { spawn } from "node:child_process";

export function startBrowser(profile, patience = 60_000) {
  const program = process.env.CHROMIUM || "chromium";
  const child = spawn(
    program,
    [
      "--headless",
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--disable-sync",
      "--disable-component-update",
      "--disable-background-networking",
      "--no-first-run",
      "--hide-scrollbars",
      "--remote-debugging-pipe",
      `--user-data-dir=${profile}`,
      "about:blank",
    ],
    { stdio: ["ignore", "ignore", "ignore", "pipe", "pipe"] },
  );
  const ended = new Promise((done) => child.once("close", done));
  const waiting = new Map();
  const listeners = new Map();
  let number = 0;
  let broken = null;

  const breakAll = (error) => {
    broken ??= error;
    for (const { fail } of waiting.values()) fail(broken);
    waiting.clear();
  };
  child.once("error", (error) => breakAll(new Error(`${program}: ${error.message}`)));
  child.once("close", () => breakAll(new Error(`${program} ended`)));
  child.stdio[3].on("error", breakAll);

  // Messages are JSON, each ended by a zero byte.
  let pending = Buffer.alloc(0);
  child.stdio[4].on("data", (piece) => {
    pending = Buffer.concat([pending, piece]);
    for (let end = pending.indexOf(0); end >= 0; end = pending.indexOf(0)) {
      receive(JSON.parse(pending.subarray(0, end).toString("utf8")));
      pending = pending.subarray(end + 1);
    }
  });

  function receive(message) {
    if (message.id !== undefined) {
      const { keep, fail, method } = waiting.get(message.id) ?? {};
      waiting.delete(message.id);
      if (message.error) fail?.(new Error(`${method}: ${message.error.message}`));
      else keep?.(message.result);
      return;
    }
    for (const hear of listeners.get(`${message.sessionId} ${message.method}`) ?? []) hear(message.params);
  }

  function send(method, params = {}, sessionId = undefined) {
    if (broken) return Promise.reject(broken);
    number += 1;
    const id = number;
    return new Promise((keep, fail) => {
      const timer = setTimeout(() => fail(new Error(`${method}: no answer`)), patience);
      const stop = (pass) => (value) => (clearTimeout(timer), pass(value));
      waiting.set(id, { keep: stop(keep), fail: stop(fail), method });
      child.stdio[3].write(`${JSON.stringify({ id, method, params, sessionId })}\0`);
    });
  }

  async function open() {
    const { targetId } = await send("Target.createTarget", { url: "about:blank" });
    const { sessionId } = await send("Target.attachToTarget", { targetId, flatten: true });
    const on = (method, hear) => {
      const key = `${sessionId} ${method}`;
      listeners.set(key, [...(listeners.get(key) ?? []), hear]);
    };
    const tab = {
      on,
      send: (method, params) => send(method, params, sessionId),
      close: () => send("Target.closeTarget", { targetId }),
      async load(url) {
        const loaded = new Promise((done) => on("Page.loadEventFired", done));
        const { errorText } = await tab.send("Page.navigate", { url });
        if (errorText) throw new Error(`${url}: ${errorText}`);
        const late = new Promise((_, fail) => setTimeout(() => fail(new Error(`${url}: not loaded`)), patience).unref());
        await Promise.race([loaded, late]);
      },
      async evaluate(check, ...given) {
        const expression = `(${check})(${given.map((one) => JSON.stringify(one)).join(", ")})`;
        const answer = await tab.send("Runtime.evaluate", { expression, returnByValue: true, awaitPromise: true });
        if (answer.exceptionDetails) throw new Error(answer.exceptionDetails.exception?.description ?? "a check failed to run");
        return answer.result.value;
      },
    };
    return tab;
  }

  async function close() {
    await send("Browser.close").catch(() => child.kill());
    await ended;
  }

  return { open, close };
}
