import assert from "node:assert/strict";
import test from "node:test";
import { plainView, predicted } from "./predict.js";

const view = { card: "B1", operation: 10, left: 50, good: 0, first_off: { wanted: true, state: "" } };
const likely = (v) => v.steps.find((s) => s.likely)?.key;
const keys = (v) => v.steps.map((s) => s.key);
const scrap = [{ reason: "size", n: 1 }];

test("a station alone leads through set-up, first-off, run, count", () => {
  let v = predicted(view, { action: "setup" });
  assert.equal(likely(v), "firstoff");
  v = predicted(v, { action: "firstoff" });
  assert.equal(likely(v), undefined, "it is with inspection");
  assert.equal(v.first_off.state, "waiting");
  const passed = predicted(v, { action: "firstoff", good: 1 });
  assert.equal(likely(passed), "run");
  assert.equal(likely(predicted(passed, { action: "run" })), "count");
});

test("after a refused first-off nobody is led to the run, alone or not", () => {
  const v = predicted(predicted(view, { action: "firstoff" }), { action: "firstoff", scrap });
  assert.equal(likely(v), "firstoff");
  assert.ok(!keys(v).includes("run"));
  assert.ok(!keys(predicted(v, { action: "stop" })).includes("run"));
});

test("counts are carried on", () => {
  const v = predicted({ ...view, first_off: {} }, { action: "count", good: 7, scrap });
  assert.deepEqual([v.good, v.left, v.visit_state], [7, 42, "running"]);
  assert.equal(likely(plainView("B1")), "setup");
});
