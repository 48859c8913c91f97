// A step that is read of an action sheet before its card, and what is taken back by a code.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import { english } from "../../web/lib/_english.js";
import { browser } from "./_browser.js";

english("shared", "station");

const { machines, walks } = JSON.parse(
  readFileSync(new URL("../testdata/cases.json", import.meta.url), "utf8"),
);
const sent = { ...walks[0].known, seq: 7 };
const known = [..."0123456789"].map((n) => ({ ...sent, card: "C" + n, works_order: "W-" + n }));
let away = true;
browser((path, body) => {
  if (path.includes("/known?tag=")) return { tag: "one", known, texts: {} };
  if (away) throw new TypeError("nothing answers");
  return { results: (body?.scans || []).map(({ id }) => ({ id, outcome: "kept", seq: 8 })) };
});
/** @type {(() => void)[]} */
let due = []; // what waits for a minute
const later = globalThis.setTimeout;
globalThis.setTimeout = /** @type {any} */ (
  (/** @type {() => void} */ f, /** @type {number} */ ms) => (ms === 60000 ? due.push(f) : later(f, ms))
);

const { CODES } = await import("./codes.js");
const flow = await import("./flow.js");
const floor = await import("./floor.js");
const front = await import("./front.js");
const outbox = await import("./outbox.js");
const own = await import("./ownscans.js");
const state = await import("./state.js");

const code = (name) => Object.keys(CODES).find((c) => CODES[c] === name);
const settled = () => new Promise((done) => later(done, 20));
async function read(...texts) {
  for (const text of texts) {
    flow.onRead(text, { tokens: [...text], gaps: [], end: "Enter" });
    await settled();
  }
}
const said = (n) => own.saidSince(["C" + n], 0).map((e) => e.scan.action);

test.before(async () => {
  await outbox.startOutbox();
  await outbox.setDevice("D1");
  state.me.value = { how: "station" };
  state.shop.value = { machines, reasons: [] };
  state.current.value = "L1";
  await floor.refreshFloor("L1");
  outbox.heard(false);
});
test.beforeEach(() => {
  front.close();
  state.operator.value = null;
  due = [];
});

test("a step that was read before its card is said of it", async () => {
  await read(code("arrive"), "W-1");
  assert.deepEqual(said(1), ["arrive"]);
});

test("it is not said of what is opened after another batch was", async () => {
  await read(code("setup"));
  await front.openCard("W-0"); // a line was tapped
  front.close();
  await read("W-2");
  assert.deepEqual([...said(0), ...said(2)], []);
});

test("it is not said in another person's name", async () => {
  state.operator.value = { person: "P1" };
  await read(code("setup"));
  state.operator.value = { person: "P2" };
  await read("W-3");
  assert.deepEqual(said(3), []);
});

test("it is said by whoever shows a badge in between", async () => {
  await read(code("setup"));
  state.operator.value = { person: "P1" };
  await read("W-4");
  assert.deepEqual(said(4), ["setup"]);
});

test("undo and back take it back, and nothing that was said before", async () => {
  await read(code("setup"), "W-5");
  front.close();
  await read(code("setup"), code("undo"), "W-6");
  front.close();
  await read(code("setup"), code("key.back"), "W-7");
  assert.deepEqual([said(5), said(6), said(7)], [["setup"], [], []]);
});

test("undo closes what asks, and takes back nothing that is not in view", async () => {
  await read(code("setup"), "W-8", code("count"));
  assert.equal(state.asked.value.needs, "counts");
  await read(code("undo"));
  assert.equal(state.asked.value, null);
  assert.deepEqual(said(8), ["setup"]);
});

test("a step whose card does not come is refused, and not said later", async () => {
  await read(code("setup"));
  assert.equal(due.length, 1);
  due[0]();
  assert.equal(state.answer.value.kind, "refuse");
  await read("W-9");
  assert.deepEqual(said(9), []);
});

// What waits is sent in the end, so that nothing is tried again for ever.
test.after(() => {
  away = false;
  outbox.kick(true);
});
