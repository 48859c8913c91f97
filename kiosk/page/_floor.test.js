// What a station knows by itself, against a server that gave it one batch and went.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import { english } from "../../web/lib/_english.js";
import { browser } from "./_browser.js";

english("shared", "station");

const { machines, walks } = JSON.parse(
  readFileSync(new URL("../testdata/cases.json", import.meta.url), "utf8"),
);
const sent = { ...walks[0].known, seq: 7 }; // nothing was said of it yet
const texts = { "count.started": "{0} pieces were started; operation {2} would have {1}." };
let asked = 0;
let away = false;
browser((path, body) => {
  if (away) throw new TypeError("nothing answers");
  const kept = ({ id }) => ({ id, outcome: "kept", seq: 8 });
  if (body) return { epoch: "two", results: body.scans.map(kept) };
  if (path.endsWith("/known?tag=")) return { tag: "one", known: [sent], texts };
  if (path.includes("/card?ref=")) return { card: sent.card, known: sent };
  if (path.includes("/known?tag=one")) return (asked++, { status: 204 });
  return { epoch: "one", results: [] };
});

const floor = await import("./floor.js");
const { look } = await import("./look.js");
const outbox = await import("./outbox.js");
const state = await import("./state.js");

const likely = (v) => v.steps.find((s) => s.likely)?.key;
const say = (scan) =>
  new Promise((kept) =>
    outbox.sayScan({ station: "L1", card: sent.card, ...scan }, () => setImmediate(kept)),
  );

let looked;

test.before(async () => {
  await outbox.startOutbox();
  await outbox.setEpoch("one");
  await outbox.setDevice("D1");
  state.me.value = { how: "station" };
  state.shop.value = { machines, reasons: [] };
  await floor.refreshFloor("L1");
  await floor.refreshFloor("L1");
  state.current.value = "L1";
  looked = await look(sent.card, true);
  away = true;
});

// What waits is sent in the end, so that nothing is tried again for ever.
test.after(() => {
  away = false;
  outbox.kick(true);
});

test("the same floor is asked for by its tag", () => assert.equal(asked, 1));

// The server leaves out numbers that are 0.
test("of a batch as the server shows it no more is delivered than is good", () => {
  const scan = { station: "L1", card: sent.card, action: "deliver", pieces: 10 };
  assert.deepEqual(floor.refusal(looked, scan), { text: "deliver.over", offer: true });
});

test("what is said alone is seen at once, at every machine of the tablet", async () => {
  assert.equal(likely(floor.ownView(sent.works_order, "L1")), "setup");
  await say({ action: "setup", operation: 10 });
  const v = floor.ownView(sent.card, "L1");
  assert.deepEqual([v.visit_state, v.left, likely(v)], ["setting", 50, "firstoff"]);
  await say({ action: "run", operation: 10, anyway: true, reason: "told" });
  await say({ action: "count", operation: 10, good: 20 });
  assert.deepEqual(
    [floor.ownView(sent.card, "L1").good, floor.ownView(sent.card, "M1").before.good],
    [20, 20],
  );
  assert.deepEqual(
    floor.ownBoard("L1").here.map((x) => [x.card, x.good]),
    [[sent.card, 20]],
  );
});

test("a count that does not fit is refused in the server's words, and offered", () => {
  const view = floor.ownView(sent.card, "L1");
  const scan = { station: "L1", card: sent.card, action: "count", operation: 10, good: 31 };
  const want = { text: "50 pieces were started; operation 10 would have 51.", offer: true };
  assert.deepEqual(floor.refusal(view, scan), want);
  assert.equal(floor.refusal(view, { ...scan, good: 30 }), null);
  assert.equal(floor.refusal(view, { ...scan, anyway: true }), null);
});

test("what was taken back while it waited never was", async () => {
  const id = "018f3b6e-7c1a-7b3e-9c4d-000000000002";
  await say({ id, action: "count", operation: 10, good: 9 });
  assert.equal(floor.ownView(sent.card, "L1").good, 29);
  await say({ action: "undo", for: id });
  assert.equal(floor.ownView(sent.card, "L1").good, 20);
});

test("of a card that is not known the plain steps follow each other", async () => {
  assert.equal(likely(floor.ownView("B-new", "L1")), "setup");
  await say({ card: "B-new", action: "setup" });
  await say({ card: "B-new", action: "run" });
  const v = floor.ownView("B-new", "L1");
  assert.deepEqual([v.stranger, v.left, likely(v)], [true, undefined, "count"]);
  assert.equal(floor.refusal(v, { station: "L1", card: "B-new", action: "count", good: 9999 }), null);
  await say({ card: "B-new", action: "finish" });
  assert.equal(likely(floor.ownView("B-new", "L1")), "setup");
});

test("what was known of another record is let go", async () => {
  await outbox.setEpoch("two");
  assert.equal(floor.ownView(sent.card, "L1").stranger, true);
});
