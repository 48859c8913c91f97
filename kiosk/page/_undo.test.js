import assert from "node:assert/strict";
import test from "node:test";
import { isOwn, spokenBy, undoScan } from "./moments.js";

const ada = { person: "P1" };
const ben = { person: "P2" };
const entry = (operator) => ({
  id: "x1",
  scan: { station: "L1", card: "B1", action: "count", good: 7, ...(operator && { operator }) },
});

test("who made it takes it back, in that one’s own name", () => {
  assert.deepEqual(undoScan(entry("P1"), ada, "en"), {
    station: "L1",
    card: "B1",
    action: "undo",
    for: "x1",
    language: "en",
    operator: "P1",
  });
  assert.deepEqual(undoScan(entry(), null, "en"), {
    station: "L1",
    card: "B1",
    action: "undo",
    for: "x1",
    language: "en",
  });
});

test("a change of badge ends it, in every direction", () => {
  for (const [said, now] of [
    ["P1", ben],
    ["P1", null],
    [undefined, ada],
  ]) {
    assert.equal(isOwn(entry(said), now), false);
    assert.equal(undoScan(entry(said), now, "en"), null);
  }
  assert.equal(isOwn(null, ada), false);
});

test("what is said anyway is said by the one who is there now", () => {
  assert.equal(spokenBy(entry("P1").scan, ben).operator, "P2");
  assert.equal("operator" in spokenBy(entry("P1").scan, null), false);
});
