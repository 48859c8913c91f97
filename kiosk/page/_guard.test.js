import assert from "node:assert/strict";
import test from "node:test";
import { GUARD_MS, newGuard } from "./guard.js";

const BIG = { x: 100, y: 200, page: 200, width: 600, height: 100 };
const big = (sense, box = BIG) => ({ id: "big", sense, box, fill: false });
const pad = (id, x, y) => ({ id, sense: id, box: { x, y, page: y, width: 80, height: 60 }, fill: true });

// Muddle 27: the big button is hit twice.
test("a second tap on the big button, which has become the next step, does nothing", () => {
  const g = newGuard();
  g.saw([big("setup")], 0);
  assert.ok(g.may("big", 5000, 300, 250));
  g.saw([big("run")], 5040);
  assert.equal(g.may("big", 5150, 300, 250), false);
  assert.equal(g.may("big", 5040 + GUARD_MS - 1, 300, 250), false);
  assert.deepEqual(g.fresh(5040 + GUARD_MS - 1), ["big"], "it is drawn so");
  assert.deepEqual(g.fresh(5040 + GUARD_MS), []);
  assert.ok(g.may("big", 5040 + GUARD_MS, 300, 250));
});

test("the time counts from the change, not from the tap: an answer after four seconds", () => {
  const g = newGuard();
  g.saw([big("setup")], 0);
  assert.ok(g.may("big", 5000));
  g.saw([big("setup|busy")], 5010);
  g.saw([big("run")], 9000);
  assert.equal(g.may("big", 9100), false, "a finger that came again at last");
});

test("nor does a tap while someone else changed the step", () => {
  const g = newGuard();
  g.saw([big("run")], 0);
  g.saw([big("count")], 8000);
  assert.equal(g.may("big", 8200), false);
});

test("a button that comes under the finger because another went is guarded too", () => {
  const g = newGuard();
  const low = { ...BIG, y: 320, page: 320 };
  g.saw([big("count"), { ...big("stop", low), id: "stop" }], 0);
  g.saw([{ ...big("stop", BIG), id: "stop" }], 3000);
  assert.equal(g.may("stop", 3300), false);
});

test("what has no place yet may not be pressed", () => {
  assert.equal(newGuard().may("new", 100), false);
});

test("scrolling is no change, for what scrolls and for what sticks to the edge", () => {
  const g = newGuard();
  const at = (y, page) => ({ ...BIG, y, page });
  g.saw([big("run", at(500, 500)), { ...big("undo", at(700, 700)), id: "undo" }], 0);
  g.saw([big("run", at(100, 500)), { ...big("undo", at(700, 1100)), id: "undo" }], 5000);
  assert.ok(g.may("big", 5100) && g.may("undo", 5100));
});

test("digits of a pad may be pressed once they were seen, but not by the same tap", () => {
  const g = newGuard();
  g.saw([big("count")], 0);
  assert.ok(g.may("big", 5000, 300, 250));
  g.saw([pad("5", 280, 230), pad("9", 500, 600)], 5020);
  assert.equal(g.may("5", 5300, 300, 250), false, "the place of the tap before");
  assert.ok(g.may("9", 5400, 540, 630), "elsewhere");
  g.saw([pad("7", 0, 0)], 5500);
  assert.equal(g.may("7", 5600, 40, 30), false, "nobody has seen it");
});

test("a digit that was hit a moment too soon may be hit again at once", () => {
  const g = newGuard();
  g.saw([big("count")], 0);
  assert.ok(g.may("big", 5000, 300, 250));
  g.saw([pad("9", 500, 600)], 5020);
  assert.equal(g.may("9", 5240, 540, 630), false, "nobody has seen it");
  assert.ok(g.may("9", 5420, 540, 630), "it was meant the first time as well");
});

test("a key that stands for a button waits as a finger does", () => {
  const g = newGuard();
  g.saw([big("setup")], 0);
  assert.ok(g.mayKey(5000));
  g.saw([big("run")], 5020);
  assert.equal(g.mayKey(5500), false);
  assert.ok(g.mayKey(5020 + GUARD_MS));
});
