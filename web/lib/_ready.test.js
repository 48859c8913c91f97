import assert from "node:assert/strict";
import test from "node:test";
import { ticksOf } from "./ready.js";

test("only what changed is said, each thing for itself", () => {
  const things = [
    { thing: "tools", text: "Tools", state: "there" },
    { thing: "gauge", text: "Gauge", state: "open" },
    { thing: "fixture", text: "Fixture", state: "missing" },
  ];
  const draft = { tools: "there", gauge: "missing", fixture: "open" };
  assert.deepEqual(ticksOf(things, draft, 20, "on order"), [
    { operation: 20, for: "gauge", reason: "missing", note: "on order" },
    { operation: 20, for: "fixture", reason: "open", note: "on order" },
  ]);
  assert.deepEqual(ticksOf(things, { tools: "there", gauge: "open", fixture: "missing" }, 20, ""), []);
});
