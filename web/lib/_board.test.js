import assert from "node:assert/strict";
import test from "node:test";
import { inOrder, totals } from "./board.js";

// By hand. The same as the shop's own totals: a batch counts once, late and held
// are of those that wait, and what is sent out is no work here.
test("a batch that is outside is not at work", () => {
  const row = (kind, card, state = "running", late = false) => ({ kind, card, state, late });
  const list = [
    row("wait", "A", "waiting", true),
    row("wait", "A", "rework", true),
    row("wait", "B", "held"),
    row("work", "A"),
    row("work", "C", "stopped", true),
    row("work", "D", "outside"),
    row("work", "D", "outside"),
    row("now", "E"),
  ];
  assert.deepEqual(totals(list), { waits: 2, late: 1, held: 1, works: 2, away: 1 });
  assert.deepEqual(totals([]), { waits: 0, late: 0, held: 0, works: 0, away: 0 });
});

test("what lacks something waits last, hot or not", () => {
  const row = (key, more) => ({ key, priority: 0, since: "2026-11-25T10:00:00Z", ...more });
  const list = [
    row("lacks", { hot: true, due: "2026-11-20", not_ready: ["fixture"] }),
    row("none"),
    row("due", { due: "2026-12-01" }),
    row("hot", { hot: true }),
  ];
  assert.deepEqual(
    inOrder(/** @type {any} */ (list)).map((r) => r.key),
    ["hot", "due", "none", "lacks"],
  );
});
