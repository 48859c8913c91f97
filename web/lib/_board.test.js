import assert from "node:assert/strict";
import test from "node:test";
import { totals } from "./board.js";

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
